//! How strong a wort is: gravity and extract, and what the instruments show.
//!
//! [`plato`] and [`specific_gravity`] are the trade's one relation, read both
//! ways. A hydrometer ([`hydrometer`]) and a refractometer ([`refractometer`])
//! each need correcting before they may use it; [`attenuation`] says what
//! fermentation has done.

pub mod attenuation;
pub mod hydrometer;
pub mod refractometer;

use super::units::{Plato, SpecificGravity};

/// `S⁰` to `S³` of [`plato`] [ASBC-Tables].
const ASBC: [f64; 4] = [-616.868, 1111.14, -630.272, 135.997];

/// Within this many °P of nothing, [`plato`] answers 0: the cubic gives
/// −0.003 at SG 1.000.
const NOTHING: f64 = 0.005;

/// Extract by mass of a wort of a specific gravity.
///
/// `P = −616.868 + 1111.14 S − 630.272 S² + 135.997 S³`, °P, `S` apparent
/// SG 20/20. Made for 0–20 °P (SG 1.000–1.083); to 30 °P it lies within
/// 0.06 °P of the sucrose tables. Below water it goes on smoothly, which is what
/// a dry beer's apparent extract needs. Values from −0.005 to 0 are 0.
/// Source: polynomial fitted to the tables [ASBC-Tables], which were not seen
/// themselves. Checked: its printed anchor, and the pairs of [NBS-C440].
///
/// ```
/// use gylebook::science::{gravity, units::SpecificGravity};
/// let strength = gravity::plato(SpecificGravity::from_ratio(1.048));
/// assert!((strength.degrees() - 11.912).abs() < 0.001);
/// ```
#[must_use]
pub fn plato(gravity: SpecificGravity) -> Plato {
    let degrees = super::water::horner(gravity.ratio(), &ASBC);
    Plato::from_degrees(if degrees > -NOTHING && degrees < 0.0 { 0.0 } else { degrees })
}

/// Specific gravity of a wort of a strength: the root of [`plato`].
///
/// No official inverse exists; Newton's method on the cubic, whose slope never
/// vanishes, makes the round trip exact. −15 to 60 °P, table range 0–20 °P
/// [ASBC-Tables].
///
/// ```
/// use gylebook::science::{gravity, units::Plato};
/// let gravity = gravity::specific_gravity(Plato::from_degrees(12.0));
/// assert!((gravity.ratio() - 1.04837).abs() < 5e-6);
/// ```
#[must_use]
pub fn specific_gravity(strength: Plato) -> SpecificGravity {
    let slope = [ASBC[1], 2.0 * ASBC[2], 3.0 * ASBC[3]];
    let start = 1.0 + strength.degrees() / 258.0;
    let root = (0..20).fold(start, |s, _| {
        s - (super::water::horner(s, &ASBC) - strength.degrees()) / super::water::horner(s, &slope)
    });
    SpecificGravity::from_ratio(root)
}
