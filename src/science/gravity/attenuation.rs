//! What fermentation took: attenuation, and an estimate of the alcohol.

use crate::science::range::OutOfRange;
use crate::science::units::{Plato, SpecificGravity};

/// Worts Balling's relations were made for, °P.
const ORIGINAL_P: (f64, f64) = (1.0, 35.0);
/// Apparent extracts a beer can have, °P.
const FINAL_P: (f64, f64) = (-6.0, 35.0);

/// Apparent attenuation: the share of the extract that seems to be gone, 0 to 1.
///
/// `AA = (OE − AE)/OE`, `OE` original and `AE` apparent extract, °P. By
/// definition; it may pass 1 by a little in a very dry beer, whose alcohol
/// makes it lighter than water.
///
/// # Errors
/// An original extract outside 1–35 °P or a final one outside −6–35 °P.
///
/// ```
/// use gylebook::science::{gravity::attenuation, units::Plato};
/// let gone = attenuation::apparent(Plato::from_degrees(12.0), Plato::from_degrees(3.0));
/// assert_eq!(gone.unwrap(), 0.75);
/// ```
pub fn apparent(original: Plato, last: Plato) -> Result<f64, OutOfRange> {
    let oe = OutOfRange::check("original extract", original.degrees(), ORIGINAL_P, "°P")?;
    let ae = OutOfRange::check("final apparent extract", last.degrees(), FINAL_P, "°P")?;
    Ok((oe - ae) / oe)
}

/// Real extract left in the beer, its alcohol taken out of the reckoning.
///
/// `RE = 0.1808 OE + 0.8192 AE`, °P. Balling's relation as later text-books
/// print it [Balling-1865, DeClerck-1958]; coefficients from memory, checked
/// against the density of ethanol and sugar solutions (`tests/published/alcohol.rs`).
///
/// # Errors
/// As [`apparent`].
///
/// ```
/// use gylebook::science::{gravity::attenuation, units::Plato};
/// let left = attenuation::real_extract(Plato::from_degrees(12.0), Plato::from_degrees(3.0));
/// assert!((left.unwrap().degrees() - 4.627).abs() < 0.001);
/// ```
pub fn real_extract(original: Plato, last: Plato) -> Result<Plato, OutOfRange> {
    apparent(original, last)?;
    Ok(Plato::from_degrees(0.1808 * original.degrees() + 0.8192 * last.degrees()))
}

/// Alcohol by mass, as a fraction.
///
/// `A = (OE − RE)/(2.0665 − 1.0665 OE/100)/100`, °P in. Balling found that
/// 2.0665 g of extract become 1 g of alcohol, 0.9565 g of carbon dioxide and
/// 0.11 g of yeast [Balling-1865, DeClerck-1958]; from memory, and the first two
/// stand to each other as stoichiometry wants (44.01/46.07 = 0.9553). Made for
/// 1–35 °P; honest within 0.2 % of alcohol.
///
/// # Errors
/// As [`apparent`]; also a beer that is heavier than its wort was.
///
/// ```
/// use gylebook::science::{gravity::attenuation, units::Plato};
/// let a = attenuation::alcohol_by_mass(Plato::from_degrees(12.0), Plato::from_degrees(3.0));
/// assert!((a.unwrap() - 0.0380).abs() < 5e-5);
/// ```
pub fn alcohol_by_mass(original: Plato, last: Plato) -> Result<f64, OutOfRange> {
    let oe = original.degrees();
    OutOfRange::check("final apparent extract", last.degrees(), (FINAL_P.0, oe), "°P")?;
    let re = real_extract(original, last)?.degrees();
    Ok((oe - re) / (2.0665 - 1.0665 * oe / 100.0) / 100.0)
}

/// Alcohol by volume, as a fraction: an estimate from the two gravities alone.
///
/// `ABV = A S/0.7907`, `S` final specific gravity, 0.7907 the specific gravity
/// 20/20 of ethanol (789.24/998.20 kg/m³ [OIML-R22]); `A` as [`alcohol_by_mass`].
///
/// # Errors
/// As [`alcohol_by_mass`].
///
/// ```
/// use gylebook::science::{gravity::attenuation, units::SpecificGravity};
/// let (og, fg) = (SpecificGravity::from_ratio(1.048), SpecificGravity::from_ratio(1.012));
/// let abv = attenuation::alcohol_by_volume(og, fg).unwrap();
/// assert!((abv - 0.0475).abs() < 0.0005);
/// ```
pub fn alcohol_by_volume(original: SpecificGravity, last: SpecificGravity) -> Result<f64, OutOfRange> {
    let by_mass = alcohol_by_mass(super::plato(original), super::plato(last))?;
    Ok(by_mass * last.ratio() / 0.7907)
}
