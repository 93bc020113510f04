//! The mash: how hot the water must be, how much of it, and what runs off.
//!
//! [`heat`] is the balance between malt, water and vessel; [`liquor`] the day's
//! water from fermenter back to strike.

pub mod heat;
pub mod liquor;

use super::range::OutOfRange;
use super::units::{Mass, Plato};

/// The strength of the first wort at a given conversion: `P = 100 c E/(c E + W)`.
///
/// °P; `E` potential of the grist (kg), `c` conversion 0 to 1, `W` all water in
/// the mash with the malt's own moisture (kg). Mass balance, the other way round
/// from [`super::extract::efficiency::dissolved`], whose leavings-out it shares.
///
/// # Errors
/// A conversion outside 0–1.2 or a mash without water.
///
/// ```
/// use gylebook::science::{mash, units::Mass};
/// let kg = Mass::from_kilograms;
/// let wort = mash::first_wort(kg(3.857), kg(15.2), 0.95).unwrap();
/// assert!((wort.degrees() - 19.42).abs() < 0.01);
/// ```
pub fn first_wort(potential: Mass, water: Mass, conversion: f64) -> Result<Plato, OutOfRange> {
    let c = OutOfRange::check("conversion", conversion, (0.0, 1.2), "")?;
    OutOfRange::check("mash water", water.kilograms(), (0.01, 1e5), "kg")?;
    let extract = potential * c;
    Ok(Plato::from_mass_fraction(extract / (extract + water)))
}
