//! A conductance and how sure it is.

use crate::science::units::Conductance;

/// A conductance and its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The best value.
    pub conductance: Conductance,
    /// One standard deviation.
    pub se: Conductance,
}

impl Estimate {
    /// `value ± se` in W/K.
    #[must_use]
    pub const fn from_watts_per_kelvin(value: f64, se: f64) -> Self {
        Self {
            conductance: Conductance::from_watts_per_kelvin(value),
            se: Conductance::from_watts_per_kelvin(se.abs()),
        }
    }

    /// The standard error as a share of the value.
    #[must_use]
    pub fn relative_se(self) -> f64 {
        self.se / self.conductance
    }

    /// The same value, less sure by a relative `spread` that has nothing to do
    /// with its own error.
    #[must_use]
    pub fn widened(self, spread: f64) -> Self {
        let extra = self.conductance.watts_per_kelvin() * spread;
        let se = self.se.watts_per_kelvin().hypot(extra);
        Self::from_watts_per_kelvin(self.conductance.watts_per_kelvin(), se)
    }

    /// Two independent estimates of one conductance, weighed by their errors.
    #[must_use]
    pub fn combined(self, other: Self) -> Self {
        let (a, b) = (self.se.watts_per_kelvin().powi(-2), other.se.watts_per_kelvin().powi(-2));
        if !a.is_finite() {
            return self;
        }
        if !b.is_finite() {
            return other;
        }
        let (x, y) = (self.conductance.watts_per_kelvin(), other.conductance.watts_per_kelvin());
        Self::from_watts_per_kelvin((a * x + b * y) / (a + b), (a + b).sqrt().recip())
    }
}
