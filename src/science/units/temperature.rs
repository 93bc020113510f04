//! Temperatures and the differences between them, which are not the same thing.

use std::ops::{Add, AddAssign, Sub};

use super::{additive, quantity};

/// Degrees Fahrenheit to one kelvin of difference.
const FAHRENHEIT_DEGREE_K: f64 = 5.0 / 9.0;
/// The ice point in kelvins.
const ICE_POINT_K: f64 = 273.15;

/// How hot something is (base unit: degree Celsius).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// 20 °C, where gravities and volumes are compared.
    pub const REFERENCE: Self = Self(20.0);
    /// 0 °C, where ice melts.
    pub const ICE_POINT: Self = Self(0.0);

    /// Degrees Celsius.
    #[must_use]
    pub const fn from_celsius(celsius: f64) -> Self {
        Self(celsius)
    }

    /// Degrees Fahrenheit.
    #[must_use]
    pub const fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self((fahrenheit - 32.0) * FAHRENHEIT_DEGREE_K)
    }

    /// Kelvins above absolute zero.
    #[must_use]
    pub const fn from_kelvins(kelvins: f64) -> Self {
        Self(kelvins - ICE_POINT_K)
    }

    /// In degrees Celsius.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.0
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub const fn fahrenheit(self) -> f64 {
        self.0 / FAHRENHEIT_DEGREE_K + 32.0
    }

    /// Above absolute zero, in kelvins.
    #[must_use]
    pub const fn kelvins(self) -> f64 {
        self.0 + ICE_POINT_K
    }

    /// The colder of the two.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }

    /// The hotter of the two.
    #[must_use]
    pub const fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }
}

quantity! {
    /// How much hotter one thing is than another (base unit: kelvin).
    TemperatureDifference {
        /// Kelvins, the same as degrees Celsius of difference.
        from_kelvins, kelvins = 1.0;
        /// Degrees Fahrenheit of difference.
        from_fahrenheit_degrees, fahrenheit_degrees = FAHRENHEIT_DEGREE_K;
    }
}

additive!(TemperatureDifference);

impl Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Self) -> TemperatureDifference {
        TemperatureDifference::from_kelvins(self.0 - other.0)
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Self;
    fn add(self, rise: TemperatureDifference) -> Self {
        Self(self.0 + rise.kelvins())
    }
}

impl Sub<TemperatureDifference> for Temperature {
    type Output = Self;
    fn sub(self, fall: TemperatureDifference) -> Self {
        Self(self.0 - fall.kelvins())
    }
}

impl AddAssign<TemperatureDifference> for Temperature {
    fn add_assign(&mut self, rise: TemperatureDifference) {
        self.0 += rise.kelvins();
    }
}
