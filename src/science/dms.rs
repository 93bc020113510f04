//! The precursor of dimethyl sulphide (DMS), and how heat turns it over.
//!
//! SMM (S-methylmethionine) from pale malt falls apart to DMS while the wort is
//! hot. In a rolling boil the DMS leaves with the steam; what is set free after
//! flame-out, under a lid, stays in the beer. Report it as a comparison between
//! chills, with its spread. An estimate.

use std::f64::consts::LN_2;

use super::curve::Curve;
use super::units::{Temperature, TimeSpan};

/// Half-life of SMM at 100 °C, minutes [WilsonBooer-1979].
pub const HALF_LIFE_MIN: f64 = 35.0;
/// The shortest and the longest half-life published for the boil, minutes: pH 5.5
/// and pH 5.2 [Dickenson-1979].
pub const HALF_LIFE_SPREAD_MIN: (f64, f64) = (32.5, 38.0);
/// Each fall of this many kelvins doubles the half-life [AnnessBamforth-1982],
/// a rule of thumb at second hand.
const DOUBLING_K: f64 = 6.0;

/// Half-life of SMM at a temperature: `t½ = 35 × 2^((100 − t)/6)`, minutes.
///
/// `t` °C, 80–105. The doubling is a rule, not a measurement, and nothing measured
/// was found to check it by: it is what 132 kJ/mol does from 94 to 100 °C, and at
/// 80 °C that law would make it a tenth slower. ± 10 % at the boil; below 85 °C trust a factor of 2
/// [WilsonBooer-1979, AnnessBamforth-1982].
///
/// ```
/// use gylebook::science::{dms, units::Temperature};
/// assert!((dms::half_life(Temperature::from_celsius(94.0)).minutes() - 70.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn half_life(at: Temperature) -> TimeSpan {
    TimeSpan::from_minutes(HALF_LIFE_MIN * 2_f64.powf((100.0 - at.celsius()) / DOUBLING_K))
}

/// A share of the precursor turned over, and between what it may lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turnover {
    /// The best value, 0 to 1.
    pub share: f64,
    /// With the longest published half-life.
    pub low: f64,
    /// With the shortest.
    pub high: f64,
}

/// The share of SMM that a temperature curve turns into DMS:
/// `1 − exp(−ln 2 ∫ dt/t½(T))`.
///
/// ```
/// use gylebook::science::{curve::Curve, dms, units::{Temperature, TimeSpan}};
/// let hour = Curve::held(Temperature::from_celsius(100.0), TimeSpan::from_minutes(60.0));
/// let turned = dms::turnover(&hour);
/// assert!((turned.share - 0.6952).abs() < 5e-5);
/// assert!(turned.low < turned.share && turned.share < turned.high);
/// ```
#[must_use]
pub fn turnover(curve: &Curve) -> Turnover {
    let half_lives: f64 = curve.pieces().map(|piece| piece.lasts / half_life(piece.at)).sum();
    let share = |at_boil: f64| 1.0 - (-LN_2 * half_lives * HALF_LIFE_MIN / at_boil).exp();
    let (shortest, longest) = HALF_LIFE_SPREAD_MIN;
    Turnover { share: share(HALF_LIFE_MIN), low: share(longest), high: share(shortest) }
}
