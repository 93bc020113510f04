//! Colour of a wort from its malts.

use super::range::OutOfRange;
use super::units::{Colour, Mass, Volume};

/// Malt colour units in one kg·°L per litre: pounds in a kilogram times litres
/// in a US gallon, exact [NIST-SP811].
const MCU_PER_KG_L: f64 = 3.785_411_784 / 0.453_592_37;

/// Malt colour from EBC to degrees Lovibond: `L = (EBC + 1.2)/2.65`, not below 0.
///
/// The line maltsters convert by; common practice, from memory, not checked. Dark
/// malts differ from the 1.97 that holds for beer by a quarter.
///
/// ```
/// use gylebook::science::{colour, units::Colour};
/// assert!((colour::lovibond(Colour::from_ebc(1300.0)) - 491.0).abs() < 0.5);
/// ```
#[must_use]
pub fn lovibond(malt: Colour) -> f64 {
    ((malt.ebc() + 1.2) / 2.65).max(0.0)
}

/// Malt colour units of a grist in a volume: `MCU = 8.3454 Σ m L/V`.
///
/// `m` kg, `L` °Lovibond ([`lovibond`]), `V` litres of wort at 20 °C. By
/// definition (pounds and US gallons) [Morey-1995].
///
/// # Errors
/// A volume outside 0.01–100,000 L.
///
/// ```
/// use gylebook::science::{colour, units::{Colour, Mass, Volume}};
/// let malt = (Mass::from_kilograms(4.0), Colour::from_ebc(6.75));
/// let mcu = colour::malt_colour_units([malt], Volume::from_litres(20.0)).unwrap();
/// assert!((mcu - 5.007).abs() < 0.001);
/// ```
pub fn malt_colour_units(malts: impl IntoIterator<Item = (Mass, Colour)>, volume: Volume) -> Result<f64, OutOfRange> {
    let litres = OutOfRange::check("volume", volume.litres(), (0.01, 1e5), "L")?;
    let kg_l: f64 = malts.into_iter().map(|(mass, malt)| mass.kilograms() * lovibond(malt)).sum();
    Ok(MCU_PER_KG_L * kg_l / litres)
}

/// Colour of the wort by Morey: the lesser of `SRM = 1.4922 MCU^0.6859` and
/// `SRM = MCU`.
///
/// Made for less than 50 SRM; honest within 20 %, an estimate. Below 3.58 MCU
/// the curve alone would give more colour than the malts have, against Morey's
/// own assumption that pale worts follow the line [Morey-1995]. Checked: curve and
/// line cross there; a misprinted exponent that circulates would move it.
///
/// # Errors
/// A negative figure, or more than 1,000 MCU.
///
/// ```
/// use gylebook::science::colour;
/// let amber = colour::morey(10.0).unwrap();
/// assert!((amber.srm() - 7.240).abs() < 0.0005);
/// assert_eq!(colour::morey(1.0).unwrap().srm(), 1.0);
/// ```
pub fn morey(mcu: f64) -> Result<Colour, OutOfRange> {
    let mcu = OutOfRange::check("malt colour", mcu, (0.0, 1000.0), "MCU")?;
    Ok(Colour::from_srm(mcu.min(1.4922 * mcu.powf(0.6859))))
}
