//! Heat that makes clean equipment safe: how hot, how long.
//!
//! A hot flush counts at its coldest place, the coil's outlet, and only on
//! equipment that is clean: heat does not go through soil. This page judges the
//! heat; whether the coil was clean is for the record to say. Water still boils
//! at 90 °C at 3,000 m, so the limits can be met anywhere.

use super::curve::Curve;
use super::units::{Temperature, TimeSpan};

/// The least temperature, 77 °C: hot-water sanitising by immersion [FDA-FoodCode].
pub const HOT_ENOUGH: Temperature = Temperature::from_celsius(77.0);

/// The food code's time at 77 °C, by immersion: 30 s [FDA-FoodCode].
pub const FOOD_CODE: TimeSpan = TimeSpan::from_seconds(30.0);

/// The least time, 45 s: half as long again as the 30 s of [FDA-FoodCode], to
/// allow for the hoses to come up (common practice, no source).
pub const LONG_ENOUGH: TimeSpan = TimeSpan::from_seconds(45.0);

/// The dairy rule's time at the same 77 °C, measured at the outlet: 5 min
/// [NY-1NYCRR].
pub const DAIRY: TimeSpan = TimeSpan::from_minutes(5.0);

/// What a hot flush was worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Hot enough for long enough.
    LongEnough,
    /// Hot enough, but not for long enough.
    TooShort,
    /// Never hot enough.
    TooCool,
}

/// Judges a hot flush by the coldest temperature it kept and how long.
///
/// [`LONG_ENOUGH`] at or above [`HOT_ENOUGH`].
///
/// ```
/// use gylebook::science::sanitation::{self, Verdict};
/// use gylebook::science::units::{Temperature, TimeSpan};
/// let flush = |c, s| {
///     sanitation::verdict(Temperature::from_celsius(c), TimeSpan::from_seconds(s))
/// };
/// assert_eq!(flush(92.0, 60.0), Verdict::LongEnough);
/// assert_eq!(flush(92.0, 44.0), Verdict::TooShort);
/// assert_eq!(flush(76.9, 600.0), Verdict::TooCool);
/// ```
#[must_use]
pub fn verdict(coldest: Temperature, lasts: TimeSpan) -> Verdict {
    match (coldest >= HOT_ENOUGH, lasts >= LONG_ENOUGH) {
        (true, true) => Verdict::LongEnough,
        (true, false) => Verdict::TooShort,
        (false, _) => Verdict::TooCool,
    }
}

/// Judges a flush whose outlet temperature was logged: only time at or above
/// [`HOT_ENOUGH`] counts.
///
/// ```
/// use gylebook::science::{curve::Curve, sanitation::{self, Verdict}};
/// use gylebook::science::units::{Temperature, TimeSpan};
/// let at = |s, c| (TimeSpan::from_seconds(s), Temperature::from_celsius(c));
/// let outlet = Curve::new([at(0.0, 40.0), at(30.0, 85.0), at(90.0, 90.0)]).unwrap();
/// assert_eq!(sanitation::verdict_of(&outlet), Verdict::LongEnough);
/// ```
#[must_use]
pub fn verdict_of(outlet: &Curve) -> Verdict {
    let hot = outlet.time_at_or_above(HOT_ENOUGH);
    verdict(if hot > TimeSpan::ZERO { HOT_ENOUGH } else { Temperature::ICE_POINT }, hot)
}

/// Whether a flush also meets the stricter dairy rule: 5 min at 77 °C [NY-1NYCRR].
///
/// ```
/// use gylebook::science::{sanitation, units::{Temperature, TimeSpan}};
/// let hot = Temperature::from_celsius(85.0);
/// assert!(!sanitation::meets_dairy_rule(hot, TimeSpan::from_minutes(1.0)));
/// assert!(sanitation::meets_dairy_rule(hot, TimeSpan::from_minutes(5.0)));
/// ```
#[must_use]
pub fn meets_dairy_rule(coldest: Temperature, lasts: TimeSpan) -> bool {
    coldest >= HOT_ENOUGH && lasts >= DAIRY
}

/// How much faster heat kills one degree higher: 1.393, a z of 6.946 °C
/// [DelVecchio-1951].
const PER_KELVIN: f64 = 1.393;

/// Pasteurisation units of a temperature curve: `PU = ∫ 1.393^(T − 60) dt`,
/// minutes.
///
/// `T` °C near 60–72. A measure of exposure of organisms in beer, not a proof
/// of kill, and not a rule for dirty steel; at flash temperatures the constant
/// proved too hopeful. Each straight line of the curve is integrated exactly.
/// Source [DelVecchio-1951].
///
/// ```
/// use gylebook::science::{curve::Curve, sanitation, units::{Temperature, TimeSpan}};
/// let at = |min, c| (TimeSpan::from_minutes(min), Temperature::from_celsius(c));
/// let warming = Curve::new([at(0.0, 60.0), at(10.0, 70.0)]).unwrap();
/// assert!((sanitation::pasteurisation_units(&warming) - 79.98).abs() < 0.01);
/// ```
#[must_use]
pub fn pasteurisation_units(curve: &Curve) -> f64 {
    let log = PER_KELVIN.ln();
    let per_minute = |t: Temperature| (log * (t.celsius() - 60.0)).exp();
    curve
        .lines()
        .map(|(lasts, from, to)| {
            let rise = log * (to - from).kelvins();
            // The mean of an exponential; `exp_m1` keeps it exact on a line that hardly rises.
            let mean = if rise == 0.0 { 1.0 } else { rise.exp_m1() / rise };
            lasts.minutes() * per_minute(from) * mean
        })
        .sum()
}
