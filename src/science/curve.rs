//! A temperature over time, and walking along it.
//!
//! Isomerisation, the DMS precursor and pasteurisation all follow the same
//! logged curve; each asks it for short pieces that can be taken as isothermal.
//!
//! It takes the points as they are, up and down, over any part of the day. Minutes
//! to a level and cooling rates are asked of
//! [`chilling::curve`](super::chilling::curve), which may first clean a chill of
//! noise because a chill only falls: a step that would be wrong for a mash or a
//! flush, and that the reactions do not need.

use std::fmt;

use super::units::{Temperature, TimeSpan};

/// The greatest change within a piece, in kelvins. With the rate taken at the
/// middle, a rate that doubles every 2 K is still met within 0.1 %.
const STEP_K: f64 = 0.25;

/// Points of (time, temperature) joined by straight lines, time never going back.
///
/// ```
/// use gylebook::science::{curve::Curve, units::{Temperature, TimeSpan}};
/// let at = |min, c| (TimeSpan::from_minutes(min), Temperature::from_celsius(c));
/// let chill = Curve::new([at(0.0, 100.0), at(20.0, 80.0)]).unwrap();
/// assert_eq!(chill.duration().minutes(), 20.0);
/// assert!(Curve::new([at(5.0, 60.0), at(4.0, 61.0)]).is_err());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    points: Vec<(TimeSpan, Temperature)>,
}

/// A stretch of a curve short enough to be taken as isothermal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// How long it lasts.
    pub lasts: TimeSpan,
    /// The temperature in its middle.
    pub at: Temperature,
}

/// Why a list of points is not a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurveError {
    /// The point with this index (from 0) lies before the one ahead of it.
    GoesBack(usize),
    /// The point with this index holds a time or temperature that is no number.
    NotANumber(usize),
}

impl fmt::Display for CurveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::GoesBack(i) => {
                write!(f, "temperature reading {} is earlier than the one before it", i + 1)
            }
            Self::NotANumber(i) => {
                write!(f, "temperature reading {} has no time or no temperature", i + 1)
            }
        }
    }
}

impl std::error::Error for CurveError {}

impl Curve {
    /// A curve through points in the order of time. No point or one point is a
    /// curve along which nothing happens.
    ///
    /// # Errors
    /// A point earlier than the one before it, or one that is not a number.
    pub fn new(points: impl IntoIterator<Item = (TimeSpan, Temperature)>) -> Result<Self, CurveError> {
        let points: Vec<_> = points.into_iter().collect();
        for (i, (time, temperature)) in points.iter().enumerate() {
            if !time.seconds().is_finite() || !temperature.celsius().is_finite() {
                return Err(CurveError::NotANumber(i));
            }
            if i > 0 && *time < points[i - 1].0 {
                return Err(CurveError::GoesBack(i));
            }
        }
        Ok(Self { points })
    }

    /// A temperature held for a time.
    #[must_use]
    pub fn held(at: Temperature, lasts: TimeSpan) -> Self {
        Self { points: vec![(TimeSpan::ZERO, at), (lasts.max(TimeSpan::ZERO), at)] }
    }

    /// From the first point to the last.
    #[must_use]
    pub fn duration(&self) -> TimeSpan {
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) => last.0 - first.0,
            _ => TimeSpan::ZERO,
        }
    }

    /// The straight lines it is made of: how long each lasts, from what
    /// temperature to what.
    pub fn lines(&self) -> impl Iterator<Item = (TimeSpan, Temperature, Temperature)> {
        self.points.windows(2).map(|ends| (ends[1].0 - ends[0].0, ends[0].1, ends[1].1))
    }

    /// The curve in pieces that change by no more than a quarter of a kelvin.
    /// A line that stays level is one piece, however long.
    pub fn pieces(&self) -> impl Iterator<Item = Piece> {
        self.lines().flat_map(|(lasts, from, to)| {
            let rise = to - from;
            let count = (rise.kelvins().abs() / STEP_K).ceil().max(1.0);
            (0..count as u32)
                .map(move |i| Piece { lasts: lasts / count, at: from + rise * ((f64::from(i) + 0.5) / count) })
        })
    }

    /// Time spent at or above a temperature.
    ///
    /// ```
    /// use gylebook::science::{curve::Curve, units::{Temperature, TimeSpan}};
    /// let at = |min, c| (TimeSpan::from_minutes(min), Temperature::from_celsius(c));
    /// let flush = Curve::new([at(0.0, 70.0), at(1.0, 90.0), at(2.0, 90.0)]).unwrap();
    /// let hot = flush.time_at_or_above(Temperature::from_celsius(80.0));
    /// assert_eq!(hot.seconds(), 90.0);
    /// ```
    #[must_use]
    pub fn time_at_or_above(&self, limit: Temperature) -> TimeSpan {
        self.lines()
            .map(|(lasts, from, to)| {
                let (low, high) = (from.min(to), from.max(to));
                if low >= limit {
                    lasts
                } else if high < limit {
                    TimeSpan::ZERO
                } else {
                    lasts * ((high - limit) / (high - low))
                }
            })
            .sum()
    }
}
