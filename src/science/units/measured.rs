//! A figure and how sure it is.

/// A value with its standard error, in the same unit.
///
/// The standard error is one standard deviation: about two times in three the
/// truth lies within `value ± se`, and within twice that 19 times in 20.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The best value.
    pub value: f64,
    /// One standard deviation, never negative.
    pub se: f64,
}

impl Measured {
    /// `value ± se`; the sign of `se` is dropped.
    #[must_use]
    pub const fn new(value: f64, se: f64) -> Self {
        Self { value, se: se.abs() }
    }

    /// A value taken as exact.
    #[must_use]
    pub const fn exact(value: f64) -> Self {
        Self { value, se: 0.0 }
    }

    /// Carries the error through a function of this value alone, by the slope
    /// of `f` across ± one standard error [GUM-2008, 5.1].
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        if self.se == 0.0 {
            return Self::exact(f(self.value));
        }
        let slope = (f(self.value + self.se) - f(self.value - self.se)) / (2.0 * self.se);
        Self::new(f(self.value), slope * self.se)
    }

    /// Carries both errors, taken as independent, through a function of two values.
    #[must_use]
    pub fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let by_self = self.map(|x| f(x, other.value));
        let by_other = other.map(|y| f(self.value, y));
        Self::new(by_self.value, by_self.se.hypot(by_other.se))
    }

    /// The sum, the two errors taken as independent.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self::new(self.value + other.value, self.se.hypot(other.se))
    }

    /// The difference, the two errors taken as independent.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        Self::new(self.value - other.value, self.se.hypot(other.se))
    }
}
