//! Extract: what the malt holds, and how much of it got how far.
//!
//! Extract can be moved, diluted and lost, never made. Potential is what the
//! laboratory finds in the goods; [`efficiency`] says what share reached a
//! point of the day; [`account`] asks whether two readings of the same extract
//! agree; [`points`] tells the same in the units of the recipe books.

pub mod account;
pub mod efficiency;
pub mod points;

use super::range::OutOfRange;
use super::units::{Mass, Plato};

/// Something that gives extract: malt, adjunct or sugar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fermentable {
    /// As weighed from the sack.
    pub mass: Mass,
    /// Laboratory yield (fine grind) of its dry matter, 0 to 1. Base malt has
    /// 0.80–0.82 (from memory), sugar 1.
    pub dry_yield: f64,
    /// Water in it, 0 to 1: malt 0.04–0.05 (from memory).
    pub moisture: f64,
}

impl Fermentable {
    /// Extract it holds: `E = m y (1 − M)`.
    ///
    /// Kilograms; `m` mass, `y` dry-basis yield and `M` moisture as fractions.
    /// By definition [EBC-451]. Rules that subtract the moisture instead are a
    /// percent low.
    ///
    /// ```
    /// use gylebook::science::{extract::Fermentable, units::Mass};
    /// let malt = Fermentable {
    ///     mass: Mass::from_kilograms(5.0),
    ///     dry_yield: 0.8078,
    ///     moisture: 0.045,
    /// };
    /// assert!((malt.potential().kilograms() - 3.857).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn potential(self) -> Mass {
        self.mass * (self.dry_yield * (1.0 - self.moisture))
    }

    /// Water that comes into the mash with it: `m M`, kilograms.
    #[must_use]
    pub fn water(self) -> Mass {
        self.mass * self.moisture
    }
}

/// Extract that a list of goods holds: the sum of [`Fermentable::potential`].
///
/// ```
/// use gylebook::science::{extract::{self, Fermentable}, units::Mass};
/// let kg = Mass::from_kilograms;
/// let goods = [
///     Fermentable { mass: kg(4.0), dry_yield: 0.81, moisture: 0.05 },
///     Fermentable { mass: kg(0.5), dry_yield: 1.0, moisture: 0.0 },
/// ];
/// assert!((extract::potential(&goods).kilograms() - 3.578).abs() < 1e-9);
/// ```
#[must_use]
pub fn potential(goods: &[Fermentable]) -> Mass {
    goods.iter().map(|each| each.potential()).sum()
}

/// Laboratory yield of a malt from its Congress wort: as it is, and of its dry
/// matter, both 0 to 1.
///
/// ```text
/// E = P (800 + M)/(100 − P),   E_dry = 100 E/(100 − M)
/// ```
/// `E` % of the malt as it is, `P` °P of the wort of 50 g malt made up to
/// 450 g, `M` moisture in %. Printed form from memory [EBC-451], derived again
/// by mass balance: 450 g of mash hold 400 + M/2 g of water.
///
/// # Errors
/// A wort outside 0–30 °P or a moisture outside 0–0.3.
///
/// ```
/// use gylebook::science::{extract, units::Plato};
/// let (as_is, dry) = extract::laboratory_yield(Plato::from_degrees(8.75), 0.045).unwrap();
/// assert!((as_is - 0.7714).abs() < 5e-5 && (dry - 0.8078).abs() < 5e-5);
/// ```
pub fn laboratory_yield(congress_wort: Plato, moisture: f64) -> Result<(f64, f64), OutOfRange> {
    let p = OutOfRange::check("Congress wort", congress_wort.degrees(), (0.0, 30.0), "°P")?;
    let m = OutOfRange::check("moisture", moisture, (0.0, 0.3), "")?;
    let as_is = p * (8.0 + m) / (100.0 - p);
    Ok((as_is, as_is / (1.0 - m)))
}
