//! At what temperature water boils up here.
//!
//! Height lowers the boil by about 1 °C every 300 m, and with it what an hour
//! of boiling does to hops and to the DMS precursor.

use super::range::OutOfRange;
use super::units::{Length, Pressure, Temperature};

/// Heights the formulas hold for, in metres.
const HEIGHT_M: (f64, f64) = (-500.0, 5000.0);

/// Air pressure at a height in the standard atmosphere.
///
/// `p = 101325 (1 − 2.25577e−5 h)^5.25588`, Pa, `h` m, −500 to 5000 m
/// [ISO-2533]. Rate and exponent are from memory; they follow from the standard's
/// defining constants (checked). The weather moves it by ± 30 hPa, which is ± 0.8 °C at the boil.
///
/// # Errors
/// A height outside that range.
///
/// ```
/// use gylebook::science::{boiling_point, units::Length};
/// let there = boiling_point::pressure(Length::from_metres(1000.0)).unwrap();
/// assert!((there.kilopascals() - 89.875).abs() < 0.002);
/// ```
pub fn pressure(height: Length) -> Result<Pressure, OutOfRange> {
    let h = OutOfRange::check("altitude", height.metres(), HEIGHT_M, "m")?;
    Ok(Pressure::from_pascals(101_325.0 * (1.0 - 2.255_77e-5 * h).powf(5.255_88)))
}

/// `n₁` to `n₁₀` of the saturation line [IAPWS-IF97, eq. 31].
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Temperature at which water boils under a pressure.
///
/// The saturation line solved for temperature [IAPWS-IF97, eq. 31]:
/// ```text
/// β = (p/1 MPa)^¼,  E = β² + n₃β + n₆,  F = n₁β² + n₄β + n₇,  G = n₂β² + n₅β + n₈
/// D = 2G/(−F − √(F² − 4EG)),  T = (n₁₀ + D − √((n₁₀ + D)² − 4(n₉ + n₁₀ D)))/2
/// ```
/// `T` K. Valid 0.611 kPa to 22 MPa; within 0.01 °C of [IAPWS-95]. Checked: the
/// release's own three points, to nine figures.
///
/// # Errors
/// A pressure outside that range.
///
/// ```
/// use gylebook::science::{boiling_point, units::Pressure};
/// let sea_level = boiling_point::at_pressure(Pressure::from_kilopascals(101.325)).unwrap();
/// assert!((sea_level.celsius() - 99.974).abs() < 0.001);
/// ```
pub fn at_pressure(pressure: Pressure) -> Result<Temperature, OutOfRange> {
    let kpa = OutOfRange::check("pressure", pressure.kilopascals(), (0.6113, 22_064.0), "kPa")?;
    let beta = (kpa / 1000.0).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let root = ((N[9] + d).powi(2) - 4.0 * (N[8] + N[9] * d)).sqrt();
    Ok(Temperature::from_celsius((N[9] + d - root) / 2.0 - 273.15))
}

/// Temperature at which water boils at a height: [`pressure`], then [`at_pressure`].
///
/// °C from metres, −500 to 5000 m. Right within 0.3 °C on most days
/// [ISO-2533, IAPWS-IF97]; wort boils a little higher, see
/// [`super::wort::boiling_rise`].
///
/// # Errors
/// A height outside that range.
///
/// ```
/// use gylebook::science::{boiling_point, units::Length};
/// let boil = boiling_point::at_altitude(Length::from_metres(2000.0)).unwrap();
/// assert!((boil.celsius() - 93.32).abs() < 0.01);
/// ```
pub fn at_altitude(height: Length) -> Result<Temperature, OutOfRange> {
    at_pressure(pressure(height)?)
}
