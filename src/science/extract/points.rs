//! Extract in the recipe books' units: gravity points.
//!
//! A *point* is a thousandth of specific gravity above 1. L°/kg is how many
//! points a kilogram lends to a litre; ppg how many a pound lends to a US
//! gallon. Both are straight-line rules, a little high (within 0.4 points to
//! 1.075); the account of a brew day is kept in kilograms.

use crate::science::units::{Mass, SpecificGravity, Volume};

/// Points that a pound of sucrose lends to a US gallon, 46.21. The sucrose
/// tables give 46.2 apparent [NBS-C440, Emmerich-1994].
pub const SUCROSE_PPG: f64 = 46.21;

/// L°/kg in one ppg: litres in a US gallon over kilograms in a pound, exact [NIST-SP811].
pub const LITRE_DEGREES_PER_PPG: f64 = 3.785_411_784 / 0.453_592_37;

/// Points of a gravity: `1000 (S − 1)`.
///
/// ```
/// use gylebook::science::{extract::points, units::SpecificGravity};
/// assert!((points::of(SpecificGravity::from_ratio(1.048)) - 48.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn of(gravity: SpecificGravity) -> f64 {
    1000.0 * (gravity.ratio() - 1.0)
}

/// Gravity points that goods of a yield lend to a volume: `385.6 m y/V`.
///
/// `m` kg, `y` as-is yield 0 to 1, `V` litres at 20 °C; 385.6 L°/kg is sucrose
/// ([`SUCROSE_PPG`]).
///
/// ```
/// use gylebook::science::{extract::points, units::{Mass, Volume}};
/// let (malt, gallons) = (Mass::from_pounds(10.0), Volume::from_us_gallons(5.0));
/// assert!((points::expected(malt, 0.80, gallons) - 73.94).abs() < 0.005);
/// ```
#[must_use]
pub fn expected(goods: Mass, as_is_yield: f64, volume: Volume) -> f64 {
    SUCROSE_PPG * LITRE_DEGREES_PER_PPG * goods.kilograms() * as_is_yield / volume.litres()
}

/// L°/kg that a brew got out of its goods: `points × V/m`.
///
/// ```
/// use gylebook::science::{extract::points, units::{Mass, SpecificGravity, Volume}};
/// let got = points::litre_degrees_per_kg(
///     SpecificGravity::from_ratio(1.048),
///     Volume::from_litres(20.0),
///     Mass::from_kilograms(4.0),
/// );
/// assert!((got - 240.0).abs() < 1e-9);
/// assert!((points::ppg(got) - 28.76).abs() < 0.005);
/// ```
#[must_use]
pub fn litre_degrees_per_kg(gravity: SpecificGravity, volume: Volume, goods: Mass) -> f64 {
    of(gravity) * volume.litres() / goods.kilograms()
}

/// The same in points per pound per US gallon.
#[must_use]
pub fn ppg(litre_degrees_per_kg: f64) -> f64 {
    litre_degrees_per_kg / LITRE_DEGREES_PER_PPG
}
