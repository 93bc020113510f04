//! Putting a wort right in the kettle: boil longer or shorter, add extract, add water.
//!
//! All volumes at 20 °C. Boiling takes water and leaves the extract; adding
//! mixes masses, not volumes.

use std::fmt;

use super::range::OutOfRange;
use super::units::{FlowRate, Mass, Plato, Temperature, TimeSpan, Volume};
use super::water;
use super::wort::Wort;

/// Why a correction can't be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KettleError {
    /// The wort is already as strong as wanted, or stronger.
    AlreadyStronger(Plato),
    /// The wort is already as weak as wanted, or weaker.
    AlreadyWeaker(Plato),
    /// What is to be added is no stronger than what is wanted.
    TooWeakToHelp(f64),
    /// The kettle would boil dry first.
    BoilsDry(TimeSpan),
    /// A figure lies where none of this holds.
    OutOfRange(OutOfRange),
}

impl fmt::Display for KettleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AlreadyStronger(p) => {
                write!(f, "{:.1} °P is at or above the target already", p.degrees())
            }
            Self::AlreadyWeaker(p) => {
                write!(f, "{:.1} °P is at or below the target already", p.degrees())
            }
            Self::TooWeakToHelp(share) => {
                write!(f, "an addition with {:.0} % of extract can't reach the target", share * 100.0)
            }
            Self::BoilsDry(t) => write!(f, "the kettle boils dry after {:.0} min", t.minutes()),
            Self::OutOfRange(which) => which.fmt(f),
        }
    }
}

impl std::error::Error for KettleError {}

impl From<OutOfRange> for KettleError {
    fn from(which: OutOfRange) -> Self {
        Self::OutOfRange(which)
    }
}

/// The wort after boiling on: extract stays, `q t` of the volume goes.
///
/// `V₁ = V₀ − q t`, `V₁ ρ(w₁) w₁ = V₀ ρ(w₀) w₀`; litres at 20 °C, `q` boil-off.
/// Mass balance.
///
/// # Errors
/// A boil that takes all there is.
///
/// ```
/// use gylebook::science::{kettle, units::{FlowRate, Plato, TimeSpan, Volume}, wort::Wort};
/// let before = Wort::new(Volume::from_litres(26.0), Plato::from_degrees(10.5));
/// let off = FlowRate::from_litres_per_hour(3.0);
/// let after = kettle::boiled(before, off, TimeSpan::from_minutes(60.0)).unwrap();
/// assert!((after.volume.litres() - 23.0).abs() < 1e-9);
/// assert!((after.strength.degrees() - 11.81).abs() < 0.01);
/// ```
pub fn boiled(wort: Wort, boil_off: FlowRate, lasts: TimeSpan) -> Result<Wort, KettleError> {
    let left = wort.volume - boil_off * lasts;
    if left <= Volume::ZERO {
        return Err(KettleError::BoilsDry(wort.volume / boil_off));
    }
    let after = Wort::holding(wort.extract(), left);
    OutOfRange::check("strength after the boil", after.strength.degrees(), (0.0, 80.0), "°P")?;
    Ok(after)
}

/// How long to boil until a wort is as strong as wanted.
///
/// `V₁` holds the same extract at the target, `t = (V₀ − V₁)/q`. Against the
/// time planned, the difference is what to boil longer or shorter: see
/// [`BoilAdvice`].
///
/// # Errors
/// A wort that is already strong enough; a boil-off outside 0.01–200 L/h; a
/// target outside 0.1–80 °P.
///
/// ```
/// use gylebook::science::{kettle, units::{FlowRate, Plato, Volume}, wort::Wort};
/// let before = Wort::new(Volume::from_litres(26.0), Plato::from_degrees(10.5));
/// let off = FlowRate::from_litres_per_hour(3.0);
/// let (lasts, after) = kettle::boil_until(before, off, Plato::from_degrees(12.0)).unwrap();
/// assert!((lasts.minutes() - 68.2).abs() < 0.5);
/// assert!((after.volume.litres() - 22.6).abs() < 0.05);
/// ```
pub fn boil_until(wort: Wort, boil_off: FlowRate, target: Plato) -> Result<(TimeSpan, Wort), KettleError> {
    OutOfRange::check("boil-off", boil_off.litres_per_hour(), (0.01, 200.0), "L/h")?;
    OutOfRange::check("target strength", target.degrees(), (0.1, 80.0), "°P")?;
    if wort.strength >= target {
        return Err(KettleError::AlreadyStronger(wort.strength));
    }
    let share = target.mass_fraction();
    let after = Wort::of(wort.extract(), wort.extract() * (1.0 / share - 1.0));
    Ok(((wort.volume - after.volume) / boil_off, after))
}

/// What to do about the boiling time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BoilAdvice {
    /// Boil this much longer than planned.
    Longer(TimeSpan, Wort),
    /// Boil this much shorter than planned.
    Shorter(TimeSpan, Wort),
}

/// Boil longer or shorter than `planned` to cast out at the target, and the wort
/// that gives: the difference to [`boil_until`], with its range.
///
/// # Errors
/// As [`boil_until`].
///
/// ```
/// use gylebook::science::kettle::{self, BoilAdvice};
/// use gylebook::science::{units::{FlowRate, Plato, TimeSpan, Volume}, wort::Wort};
/// let before = Wort::new(Volume::from_litres(26.0), Plato::from_degrees(10.5));
/// let off = FlowRate::from_litres_per_hour(3.0);
/// let hour = TimeSpan::from_minutes(60.0);
/// let advice = kettle::boil_advice(before, off, hour, Plato::from_degrees(12.0)).unwrap();
/// let BoilAdvice::Longer(by, _) = advice else { panic!("an hour is too short") };
/// assert!((by.minutes() - 8.2).abs() < 0.5);
/// ```
pub fn boil_advice(
    wort: Wort,
    boil_off: FlowRate,
    planned: TimeSpan,
    target: Plato,
) -> Result<BoilAdvice, KettleError> {
    let (lasts, after) = boil_until(wort, boil_off, target)?;
    Ok(if lasts >= planned {
        BoilAdvice::Longer(lasts - planned, after)
    } else {
        BoilAdvice::Shorter(planned - lasts, after)
    })
}

/// How much malt extract or sugar lifts a wort to a strength, and the wort then.
///
/// `m = (w₁ M − E)/(f − w₁)`; `M` mass and `E` extract of the wort (kg), `w₁`
/// target as a fraction, `f` extract in the addition, 0 to 1 (the rest is
/// water that comes with it). Mass balance.
///
/// # Errors
/// A wort that is strong enough; an addition no stronger than the target, or
/// with more extract than it has mass.
///
/// ```
/// use gylebook::science::{kettle, units::{Plato, Volume}, wort::Wort};
/// let weak = Wort::new(Volume::from_litres(20.0), Plato::from_degrees(11.0));
/// let (add, after) = kettle::add_extract(weak, 0.97, Plato::from_degrees(12.0)).unwrap();
/// assert!((add.kilograms() - 0.245).abs() < 0.001);
/// assert!((after.volume.litres() - 20.15).abs() < 0.01);
/// ```
pub fn add_extract(wort: Wort, extract_share: f64, target: Plato) -> Result<(Mass, Wort), KettleError> {
    if wort.strength >= target {
        return Err(KettleError::AlreadyStronger(wort.strength));
    }
    let share = OutOfRange::check("extract in the addition", extract_share, (0.0, 1.0), "")?;
    let wanted = target.mass_fraction();
    if share <= wanted {
        return Err(KettleError::TooWeakToHelp(share));
    }
    let add = (wort.mass() * wanted - wort.extract()) / (share - wanted);
    Ok((add, Wort::of(wort.extract() + add * share, wort.water() + add * (1.0 - share))))
}

/// How much water (at 20 °C) brings a wort down to a strength, and the wort then.
///
/// `W = E/w₁ − M`, kilograms, over the density of water [Kell-1975]. Mass balance.
///
/// # Errors
/// A wort that is weak enough; a target below 0.1 °P.
///
/// ```
/// use gylebook::science::{kettle, units::{Plato, Volume}, wort::Wort};
/// let strong = Wort::new(Volume::from_litres(20.0), Plato::from_degrees(13.0));
/// let (add, after) = kettle::add_water(strong, Plato::from_degrees(12.0)).unwrap();
/// assert!((add.litres() - 1.754).abs() < 0.002);
/// assert!((after.volume.litres() - 21.75).abs() < 0.01);
/// ```
pub fn add_water(wort: Wort, target: Plato) -> Result<(Volume, Wort), KettleError> {
    OutOfRange::check("target strength", target.degrees(), (0.1, 80.0), "°P")?;
    if wort.strength <= target {
        return Err(KettleError::AlreadyWeaker(wort.strength));
    }
    let add = wort.extract() / target.mass_fraction() - wort.mass();
    let after = Wort::of(wort.extract(), wort.water() + add);
    Ok((add / water::density(Temperature::REFERENCE), after))
}
