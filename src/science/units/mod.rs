//! Quantities: a number that knows its unit.
//!
//! A formula takes a [`Temperature`] or a [`Volume`], never a bare `f64`, so a
//! Fahrenheit reading cannot slip in where Celsius is meant and a *temperature*
//! cannot be added to another one. Each quantity is one `f64` in the base unit
//! its page names; the unit is spoken when a value enters (`from_litres`) and
//! when it leaves (`.litres()`).
//!
//! ```
//! use gylebook::science::units::{Temperature, TemperatureDifference, Volume};
//!
//! let wort = Temperature::from_celsius(97.0);
//! let fall: TemperatureDifference = wort - Temperature::from_fahrenheit(68.0);
//! assert_eq!(fall.kelvins(), 77.0);
//! assert!((Volume::from_us_gallons(5.0).litres() - 18.927).abs() < 0.001);
//! ```
//!
//! Two temperatures do not add up:
//!
//! ```compile_fail
//! # use gylebook::science::units::Temperature;
//! let nonsense = Temperature::from_celsius(20.0) + Temperature::from_celsius(20.0);
//! ```
//!
//! Factors are exact by definition [SI-2019, NIST-SP811] unless a line says
//! otherwise. `f64` is not hidden behind a checked range here: what is
//! *plausible* is decided once, where a reading enters the record.

mod amount;
mod gravity;
mod heat;
mod measured;
mod temperature;

pub use amount::{CellCount, FlowRate, Length, Mass, TimeSpan, Volume};
pub use gravity::{Brix, Colour, Density, Plato, SpecificGravity};
pub use heat::{Conductance, Energy, HeatCapacity, Power, Pressure, SpecificEnergy, SpecificHeat};
pub use measured::Measured;
pub use temperature::{Temperature, TemperatureDifference};

/// Declares a quantity: a newtype over `f64` in one base unit, with a
/// constructor and a reader for each unit it is spoken in.
macro_rules! quantity {
    (
        $(#[$about:meta])*
        $name:ident {
            $( $(#[$unit:meta])* $from:ident, $read:ident = $factor:expr; )+
        }
    ) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(pub(super) f64);

        impl $name {
            $(
                $(#[$unit])*
                #[must_use]
                pub const fn $from(value: f64) -> Self {
                    Self(value * $factor)
                }

                #[doc = concat!("The value as [`", stringify!($name), "::", stringify!($from), "`] takes it.")]
                #[must_use]
                pub const fn $read(self) -> f64 {
                    self.0 / $factor
                }
            )+

            /// The smaller of the two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of the two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
        }
    };
}

/// Gives a quantity that starts at a true zero its sums, differences and scales.
macro_rules! additive {
    ($($name:ident),+) => {
        $(
            impl $name {
                /// Nothing of it.
                pub const ZERO: Self = Self(0.0);

                /// Its size without its sign.
                #[must_use]
                pub const fn abs(self) -> Self {
                    Self(self.0.abs())
                }
            }

            impl std::ops::Add for $name {
                type Output = Self;
                fn add(self, other: Self) -> Self {
                    Self(self.0 + other.0)
                }
            }

            impl std::ops::Sub for $name {
                type Output = Self;
                fn sub(self, other: Self) -> Self {
                    Self(self.0 - other.0)
                }
            }

            impl std::ops::Neg for $name {
                type Output = Self;
                fn neg(self) -> Self {
                    Self(-self.0)
                }
            }

            impl std::ops::Mul<f64> for $name {
                type Output = Self;
                fn mul(self, factor: f64) -> Self {
                    Self(self.0 * factor)
                }
            }

            impl std::ops::Div<f64> for $name {
                type Output = Self;
                fn div(self, divisor: f64) -> Self {
                    Self(self.0 / divisor)
                }
            }

            impl std::ops::Div for $name {
                type Output = f64;
                fn div(self, other: Self) -> f64 {
                    self.0 / other.0
                }
            }

            impl std::iter::Sum for $name {
                fn sum<I: Iterator<Item = Self>>(each: I) -> Self {
                    each.fold(Self::ZERO, |sum, one| sum + one)
                }
            }
        )+
    };
}

/// Ties three quantities together: `left × right = product`, and both quotients.
macro_rules! product {
    ($($left:ident * $right:ident = $product:ident, $factor:expr;)+) => {
        $(
            impl std::ops::Mul<$right> for $left {
                type Output = $product;
                fn mul(self, other: $right) -> $product {
                    $product(self.0 * other.0 * $factor)
                }
            }

            impl std::ops::Mul<$left> for $right {
                type Output = $product;
                fn mul(self, other: $left) -> $product {
                    other * self
                }
            }

            impl std::ops::Div<$left> for $product {
                type Output = $right;
                fn div(self, other: $left) -> $right {
                    $right(self.0 / other.0 / $factor)
                }
            }

            impl std::ops::Div<$right> for $product {
                type Output = $left;
                fn div(self, other: $right) -> $left {
                    $left(self.0 / other.0 / $factor)
                }
            }
        )+
    };
}

use {additive, product, quantity};
