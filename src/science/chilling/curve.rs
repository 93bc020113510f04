//! The measured curve: straight from reading to reading, cleaned of noise.
//!
//! # What for
//! Minutes to below 80 °C, from 60 to 30 °C, mean and greatest rate, and the
//! temperatures that the reactions after flame-out are integrated over.
//!
//! # How
//! A single misread value is removed by a running median of three [Tukey-1977].
//! Then, because wort in a chill only cools, the falling curve nearest to the
//! readings is taken: neighbours that rise are averaged until none does
//! (isotonic regression by pooling adjacent violators [Barlow-1972]). On it every
//! temperature is passed once, and a passing dip moves nothing but its own
//! neighbours. What happens after the coldest reading (a wort that warms
//! overnight) stays as it was read.
//!
//! # Not the other curve
//! [`science::curve`](crate::science::curve) joins any readings as they are and
//! hands out short pieces to integrate over. This one answers when a level was
//! passed, which noise would answer twice, so it makes the readings fall first.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::curve::Curve;
//! use gylebook::science::chilling::series::Reading;
//! use gylebook::science::units::{Temperature, TimeSpan};
//!
//! let readings: Vec<Reading> = [(0.0, 98.0), (5.0, 72.0), (10.0, 52.0), (15.0, 37.0), (20.0, 27.0)]
//!     .map(|(min, c)| Reading { at: TimeSpan::from_minutes(min), wort: Temperature::from_celsius(c) })
//!     .into();
//! let curve = Curve::through(&readings);
//! let t80 = curve.falls_to(Temperature::from_celsius(80.0)).unwrap();
//! assert!((t80.minutes() - 18.0 / 26.0 * 5.0).abs() < 1e-9);
//! ```

use super::series::Reading;
use crate::science::units::{Temperature, TemperatureDifference, TimeSpan};

/// Shortest stretch a rate is taken over: two readings 10 s apart would turn a
/// tenth of a degree into 0.6 K/min.
const RATE_OVER: TimeSpan = TimeSpan::from_seconds(120.0);

/// A wort temperature over time, piecewise straight.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

/// How fast a wort cooled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rates {
    /// From the first to the coldest reading, K/min.
    pub mean_k_per_min: f64,
    /// Greatest over any two minutes, K/min.
    pub max_k_per_min: f64,
}

impl Curve {
    /// The curve through readings in order of time.
    #[must_use]
    pub fn through(readings: &[Reading]) -> Self {
        let mut points: Vec<(f64, f64)> = Vec::with_capacity(readings.len());
        for reading in readings {
            let (at, wort) = (reading.at.seconds(), reading.wort.celsius());
            match points.last_mut() {
                // Two readings of one second: one point, their mean.
                Some(last) if last.0 == at => last.1 = f64::midpoint(last.1, wort),
                _ => points.push((at, wort)),
            }
        }
        let medians: Vec<f64> = (0..points.len())
            .map(|i| match (i.checked_sub(1).map(|h| points[h].1), points.get(i + 1)) {
                (Some(before), Some(after)) => {
                    let own = points[i].1;
                    own.max(before.min(after.1)).min(before.max(after.1))
                }
                _ => points[i].1,
            })
            .collect();
        let coldest = (0..medians.len()).min_by(|&a, &b| medians[a].total_cmp(&medians[b]));
        let falling = falling(&medians[..coldest.map_or(0, |c| c + 1)]);
        for (i, point) in points.iter_mut().enumerate() {
            point.1 = falling.get(i).copied().unwrap_or(medians[i]);
        }
        Self { points }
    }

    /// A curve that is already clean, such as a computed one.
    #[must_use]
    pub fn exactly(points: impl IntoIterator<Item = (TimeSpan, Temperature)>) -> Self {
        Self { points: points.into_iter().map(|(t, c)| (t.seconds(), c.celsius())).collect() }
    }

    /// The straight stretches, each from one point (s, °C) to the next.
    pub(super) fn stretches(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
        self.points.windows(2).map(|pair| (pair[0], pair[1]))
    }

    /// First and last time of the curve.
    #[must_use]
    pub fn span(&self) -> Option<(TimeSpan, TimeSpan)> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        Some((TimeSpan::from_seconds(first.0), TimeSpan::from_seconds(last.0)))
    }

    /// Temperature at a time; `None` outside the readings, where nothing is known.
    #[must_use]
    pub fn at(&self, at: TimeSpan) -> Option<Temperature> {
        let t = at.seconds();
        let after = self.points.partition_point(|p| p.0 < t);
        let right = self.points.get(after)?;
        if right.0 == t {
            return Some(Temperature::from_celsius(right.1));
        }
        let left = self.points.get(after.checked_sub(1)?)?;
        let share = (t - left.0) / (right.0 - left.0);
        Some(Temperature::from_celsius(left.1 + share * (right.1 - left.1)))
    }

    /// When the wort first fell to `level`; `None` where it never did, or was
    /// below it before the first reading.
    #[must_use]
    pub fn falls_to(&self, level: Temperature) -> Option<TimeSpan> {
        let level = level.celsius();
        if self.points.first()?.1 < level {
            return None;
        }
        let right = self.points.iter().position(|p| p.1 <= level)?;
        let (t, c) = self.points[right];
        let Some(&(before, above)) = right.checked_sub(1).and_then(|i| self.points.get(i)) else {
            return Some(TimeSpan::from_seconds(t));
        };
        let share = (above - level) / (above - c);
        Some(TimeSpan::from_seconds(before + share * (t - before)))
    }

    /// Time from one level down to another, both passed within the readings.
    #[must_use]
    pub fn between(&self, from: Temperature, to: Temperature) -> Option<TimeSpan> {
        Some(self.falls_to(to)? - self.falls_to(from)?)
    }

    /// Mean and greatest cooling rate; `None` from fewer than two readings or
    /// where the wort never cooled.
    #[must_use]
    pub fn rates(&self) -> Option<Rates> {
        let first = *self.points.first()?;
        let by_temperature = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let coldest = *self.points.iter().min_by(by_temperature)?;
        if coldest.0 <= first.0 || coldest.1 >= first.1 {
            return None;
        }
        let mean = (first.1 - coldest.1) / (coldest.0 - first.0) * 60.0;
        let mut greatest = mean;
        for &(t, c) in &self.points {
            let end = TimeSpan::from_seconds(t) + RATE_OVER;
            if let Some(later) = self.at(end) {
                let fall: TemperatureDifference = Temperature::from_celsius(c) - later;
                greatest = f64::max(greatest, fall.kelvins() / RATE_OVER.minutes());
            }
        }
        Some(Rates { mean_k_per_min: mean, max_k_per_min: greatest })
    }
}

/// The falling row nearest to `values` in least squares.
fn falling(values: &[f64]) -> Vec<f64> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for &value in values {
        let mut pool = (value, 1);
        while let Some(&(before, count)) = pools.last()
            && before < pool.0
        {
            let total = count + pool.1;
            pool = ((before * count as f64 + pool.0 * pool.1 as f64) / total as f64, total);
            pools.pop();
        }
        pools.push(pool);
    }
    pools.into_iter().flat_map(|(mean, count)| std::iter::repeat_n(mean, count)).collect()
}
