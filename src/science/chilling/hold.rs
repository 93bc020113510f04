//! The full-pass hold: may this reading be believed?
//!
//! # What for
//! After a bath change or a stir the thermometer dips, then climbs back a couple
//! of degrees: one part of the wort has been cooled and the rest has not come by
//! yet. A reading counts once the whole volume has made one full pass through
//! the coil and the readings have stayed put (common practice, no source).
//!
//! # Rule
//! The wort is *settled* when the latest readings
//! 1. span at least one pass time,
//! 2. stay within ± tolerance of their own mean, and
//! 3. leave no gap longer than half a pass between two of them.
//!
//! While they do not yet span a pass it is *holding*. It is *moving* when there
//! is no such run of two readings, or when the run falls (or rises) at a pace
//! that will carry it out of its own band before the pass is over.
//!
//! A reading that climbs by more than the tolerance, after a fall of more than
//! the tolerance, both within one pass, ends a *passing dip*; the hold starts
//! again at that reading. Two readings taken together that differ are two
//! thermometers, and no dip.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::hold::{Rule, Verdict, verdict};
//! use gylebook::science::chilling::series::Reading;
//! use gylebook::science::units::{Temperature, TimeSpan};
//!
//! let read = |min: f64, c: f64| Reading {
//!     at: TimeSpan::from_minutes(min),
//!     wort: Temperature::from_celsius(c),
//! };
//! let rule = Rule::with_pass(TimeSpan::from_minutes(10.0));
//! let mut readings = vec![read(20.0, 19.6), read(25.0, 19.4)];
//! let Verdict::Holding { held, .. } = verdict(&readings, &rule).verdict else { panic!() };
//! assert_eq!(held.minutes(), 5.0);
//! readings.push(read(30.0, 19.4));
//! assert!(matches!(verdict(&readings, &rule).verdict, Verdict::Settled { .. }));
//! ```

use super::series::Reading;
use crate::science::units::{Temperature, TemperatureDifference, TimeSpan};

/// Pass time by which a gap is judged where none is known (common practice, no
/// source). It never makes a wort settled.
const USUAL_PASS: TimeSpan = TimeSpan::from_seconds(600.0);
/// Wort does not climb in so short a time: two thermometers read together differ.
const TOGETHER: TimeSpan = TimeSpan::from_seconds(15.0);
/// Rounding of a tenth of a degree, said in binary.
const HAIR: f64 = 1e-9;

/// What a hold is judged by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Time in which the whole volume passes the coil once, where it is known.
    pub pass: Option<TimeSpan>,
    /// How far readings may be from their mean.
    pub tolerance: TemperatureDifference,
}

impl Rule {
    /// ± 0.5 K over one pass.
    #[must_use]
    pub const fn with_pass(pass: TimeSpan) -> Self {
        Self { pass: Some(pass), tolerance: TemperatureDifference::from_kelvins(0.5) }
    }

    /// ± 0.5 K, pass time unknown: such a wort is never called settled.
    #[must_use]
    pub const fn without_pass() -> Self {
        Self { pass: None, tolerance: TemperatureDifference::from_kelvins(0.5) }
    }
}

/// How far the hold has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// No reading yet.
    NotStarted,
    /// The wort still cools, or the readings are too far apart in time.
    Moving,
    /// It has stayed put, but not yet for a full pass.
    Holding {
        /// Time the latest readings have stayed put.
        held: TimeSpan,
        /// Time they have to; `None` where the pass time is not known.
        pass: Option<TimeSpan>,
    },
    /// It has stayed put for a full pass: this temperature counts.
    Settled {
        /// Time the latest readings have stayed put.
        held: TimeSpan,
        /// Mean of those readings.
        wort: Temperature,
    },
}

/// A dip that passed: the thermometer saw colder wort than there was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassingDip {
    /// When the lowest reading was taken.
    pub lowest_at: TimeSpan,
    /// What it showed.
    pub lowest: Temperature,
    /// When a reading had climbed away from it.
    pub climbed_at: TimeSpan,
    /// By how much.
    pub climb: TemperatureDifference,
}

/// The verdict at the latest reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// How far the hold has come.
    pub verdict: Verdict,
    /// The last passing dip, if there was one.
    pub dip: Option<PassingDip>,
}

impl Hold {
    /// Before the first reading.
    pub const NOT_STARTED: Self = Self { verdict: Verdict::NotStarted, dip: None };
}

/// Judges the readings as they stand at the latest of them.
///
/// `readings` are in order of time, as [`Series`](super::series::Series) keeps them.
#[must_use]
pub fn verdict(readings: &[Reading], rule: &Rule) -> Hold {
    verdicts(readings, rule).last().copied().unwrap_or(Hold::NOT_STARTED)
}

/// The verdict at each reading in turn.
#[must_use]
pub fn verdicts(readings: &[Reading], rule: &Rule) -> Vec<Hold> {
    let tolerance = rule.tolerance.kelvins().abs() + HAIR;
    let pass = rule.pass.unwrap_or(USUAL_PASS).seconds();
    let mut dip: Option<PassingDip> = None;
    let judge = |n: usize| {
        dip = dip_at(&readings[..=n], pass, tolerance, dip);
        let since = dip.map_or(f64::NEG_INFINITY, |d| d.climbed_at.seconds());
        let still = longest_still(&readings[..=n], since, pass, tolerance);
        Hold { verdict: judged(still, pass, tolerance, rule.pass), dip }
    };
    (0..readings.len()).map(judge).collect()
}

fn judged(still: &[Reading], pass: f64, tolerance: f64, known: Option<TimeSpan>) -> Verdict {
    let (Some(first), Some(last)) = (still.first(), still.last()) else {
        return Verdict::Moving;
    };
    let held = last.at - first.at;
    if held <= TimeSpan::ZERO {
        Verdict::Moving
    } else if known.is_some() && held.seconds() >= pass - HAIR {
        let mean = still.iter().map(|r| r.wort.celsius()).sum::<f64>() / still.len() as f64;
        Verdict::Settled { held, wort: Temperature::from_celsius(mean) }
    } else if leaves_band(still, pass, tolerance) {
        Verdict::Moving
    } else {
        Verdict::Holding { held, pass: known }
    }
}

/// When the wort was first settled at or below `target`.
#[must_use]
pub fn first_settled(readings: &[Reading], rule: &Rule, target: Temperature) -> Option<TimeSpan> {
    first_settled_by(readings, &verdicts(readings, rule), rule, target)
}

/// The same by the [`verdicts`] of these readings, where they are known already.
#[must_use]
pub fn first_settled_by(readings: &[Reading], verdicts: &[Hold], rule: &Rule, target: Temperature) -> Option<TimeSpan> {
    let reached = target + rule.tolerance;
    let is_settled = |hold: &Hold| matches!(hold.verdict, Verdict::Settled { wort, .. } if wort <= reached);
    let (reading, _) = readings.iter().zip(verdicts).find(|(_, hold)| is_settled(hold))?;
    Some(reading.at)
}

/// The longest run of latest readings that meets conditions 2 and 3.
fn longest_still(readings: &[Reading], since: f64, pass: f64, tolerance: f64) -> &[Reading] {
    let mut first = readings.len();
    let (mut sum, mut low, mut high) = (0.0, f64::INFINITY, f64::NEG_INFINITY);
    let mut later: Option<f64> = None;
    for (i, reading) in readings.iter().enumerate().rev() {
        let (at, wort) = (reading.at.seconds(), reading.wort.celsius());
        let gap = later.is_some_and(|l| l - at > pass / 2.0 + HAIR);
        if gap || at < since {
            break;
        }
        (sum, low, high) = (sum + wort, low.min(wort), high.max(wort));
        let mean = sum / (readings.len() - i) as f64;
        if high - mean <= tolerance && mean - low <= tolerance {
            first = i;
        }
        // Once two readings are two tolerances apart no longer run can be still.
        if high - low > 2.0 * tolerance {
            break;
        }
        later = Some(at);
    }
    &readings[first..]
}

/// Whether the run's own pace takes it out of its band before a pass is over.
fn leaves_band(window: &[Reading], pass: f64, tolerance: f64) -> bool {
    let (Some(first), Some(last)) = (window.first(), window.last()) else {
        return true;
    };
    let span = (last.at - first.at).seconds();
    let n = window.len() as f64;
    let mean_t = window.iter().map(|r| (r.at - first.at).seconds()).sum::<f64>() / n;
    let mean_c = window.iter().map(|r| r.wort.celsius()).sum::<f64>() / n;
    let (mut tt, mut tc) = (0.0, 0.0);
    for reading in window {
        let t = (reading.at - first.at).seconds() - mean_t;
        tt += t * t;
        tc += t * (reading.wort.celsius() - mean_c);
    }
    if tt <= 0.0 {
        return true;
    }
    let across = (tc / tt * span).abs();
    // Half a tolerance is what a thermometer's last digit can do by itself.
    across > tolerance / 2.0 && across * pass / span > 2.0 * tolerance
}

/// The last passing dip, the latest reading being the last of `readings` and
/// `known` the last dip before it.
fn dip_at(readings: &[Reading], pass: f64, tolerance: f64, known: Option<PassingDip>) -> Option<PassingDip> {
    let (latest, earlier) = readings.split_last()?;
    let first = earlier.partition_point(|r| (latest.at - r.at).seconds() > pass + HAIR);
    // The lowest reading of the last pass that there was a fall to.
    let mut highest = f64::NEG_INFINITY;
    let mut lowest: Option<&Reading> = None;
    for reading in &earlier[first..] {
        let wort = reading.wort.celsius();
        let fell = highest - wort > tolerance;
        if fell && lowest.is_none_or(|l| reading.wort <= l.wort) {
            lowest = Some(reading);
        }
        highest = highest.max(wort);
    }
    let Some(lowest) = lowest.filter(|lowest| latest.at - lowest.at > TOGETHER) else { return known };
    let climb = latest.wort - lowest.wort;
    // Once it has climbed, only another climb as large starts the hold again.
    let same = known.filter(|d| d.lowest_at == lowest.at);
    let climbed = same.map_or(0.0, |d| d.climb.kelvins());
    if climb.kelvins() - climbed <= tolerance {
        return known;
    }
    let (lowest_at, lowest) = (lowest.at, lowest.wort);
    Some(PassingDip { lowest_at, lowest, climbed_at: latest.at, climb })
}
