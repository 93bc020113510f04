//! What a coil has shown over its batches.
//!
//! # What for
//! The next chill is planned with the coil's own `K`: the median of its last five
//! batches, which one odd day cannot move. And a coil that slowly fills with scale
//! or soil passes less heat from batch to batch; that should be noticed before it
//! is seen.
//!
//! # How
//! Spread is 1.4826 × the median distance from the median, which is one standard
//! deviation of a normal sample [Hampel-1974]. A fall is called one when Kendall's
//! count of falling against rising pairs would happen by chance in less than 1 of
//! 20 series without a trend, one-sided [Mann-1945, Kendall-1975]; its size is the
//! median of all pairwise slopes [Sen-1968].
//!
//! # Example
//! ```
//! use gylebook::science::chilling::learn::{slow_fall, usual};
//! use gylebook::science::units::Conductance;
//!
//! let k: Vec<_> = [152.0, 149.0, 131.0, 151.0, 150.0]
//!     .map(Conductance::from_watts_per_kelvin).into();
//! let coil = usual(&k).unwrap();
//! assert_eq!(coil.conductance.watts_per_kelvin(), 150.0);
//! assert!(slow_fall(&k).is_none());
//! ```

use super::estimate::Estimate;
use crate::science::units::{Conductance, HeatCapacity};

/// How many batches back a coil's usual conductance looks.
pub const BATCHES: usize = 5;
/// Day-to-day spread taken for a single batch, as a share of `K` (common
/// practice, no source), and the least that any spread is taken to be.
pub(super) const DAY_TO_DAY: f64 = 0.08;
const LEAST_SPREAD: f64 = 0.03;
const NO_RECORD_S: f64 = 630.0;
const NO_RECORD_SPREAD: f64 = 0.35;
/// Fewest batches in which a fall can be told from chance: with four, even a
/// falling row happens once in 24.
const FEWEST_FOR_A_FALL: usize = 4;

/// Median of the last five conductances (oldest first) with their spread.
#[must_use]
pub fn usual(batches: &[Conductance]) -> Option<Estimate> {
    let sound = batches.iter().map(|k| k.watts_per_kelvin()).filter(|k| k.is_finite() && *k > 0.0);
    let sound: Vec<f64> = sound.collect();
    let last = &sound[sound.len().saturating_sub(BATCHES)..];
    let middle = median(last.to_vec())?;
    let apart = median(last.iter().map(|k| (k - middle).abs()).collect())?;
    let spread = match last.len() {
        1 | 2 => DAY_TO_DAY * middle,
        _ => (1.4826 * apart).max(LEAST_SPREAD * middle),
    };
    Some(Estimate::from_watts_per_kelvin(middle, spread))
}

/// What to take for a coil that has no record: a time constant of the wort of
/// 10.5 min, give or take a third (common practice, no source; about 6.5 W/K per
/// litre of wort).
///
/// Good for a first plan, which says so; too unsure to base advice on.
///
/// ```
/// use gylebook::science::chilling::learn::without_record;
/// use gylebook::science::units::HeatCapacity;
///
/// let coil = without_record(HeatCapacity::from_kilojoules_per_kelvin(82.456));
/// assert!((coil.conductance.watts_per_kelvin() - 130.9).abs() < 0.1);
/// ```
#[must_use]
pub fn without_record(wort: HeatCapacity) -> Estimate {
    let value = wort.joules_per_kelvin() / NO_RECORD_S;
    Estimate::from_watts_per_kelvin(value, NO_RECORD_SPREAD * value)
}

/// A conductance that falls from batch to batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlowFall {
    /// Share of the first value lost per batch.
    pub per_batch: f64,
    /// Share lost from the first to the last.
    pub in_all: f64,
    /// Chance of a row at least as falling where nothing changes.
    pub by_chance: f64,
}

/// A slow fall over all the batches given (oldest first), if it is more than chance.
#[must_use]
pub fn slow_fall(batches: &[Conductance]) -> Option<SlowFall> {
    let k: Vec<f64> = batches.iter().map(|k| k.watts_per_kelvin()).collect();
    let n = k.len();
    if n < FEWEST_FOR_A_FALL || k.iter().any(|v| !v.is_finite() || *v <= 0.0) {
        return None;
    }
    let (mut falling, mut rising) = (0_usize, 0_usize);
    let mut slopes = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            falling += usize::from(k[j] < k[i]);
            rising += usize::from(k[j] > k[i]);
            slopes.push((k[j] - k[i]) / (j - i) as f64);
        }
    }
    let by_chance = chance_of_rising_at_most(n, rising + (n * (n - 1) / 2 - rising - falling) / 2);
    let slope = median(slopes)?;
    let first = median(k[..n.min(3)].to_vec())?;
    let per_batch = -slope / first;
    (by_chance < 0.05 && per_batch > 0.0).then(|| SlowFall { per_batch, in_all: per_batch * (n - 1) as f64, by_chance })
}

/// Chance that a random order of `n` has at most `pairs` rising pairs: the exact
/// null distribution of Kendall's count, built one element at a time [Kendall-1975].
fn chance_of_rising_at_most(n: usize, pairs: usize) -> f64 {
    let mut chance = vec![1.0];
    for m in 2..=n {
        let mut next = vec![0.0; chance.len() + m - 1];
        for (s, p) in chance.iter().enumerate() {
            for slot in &mut next[s..s + m] {
                *slot += p / m as f64;
            }
        }
        chance = next;
    }
    chance[..=pairs.min(chance.len() - 1)].iter().sum()
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let upper = *values.get(half)?;
    Some(if values.len() % 2 == 1 { upper } else { (values[half - 1] + upper) / 2.0 })
}
