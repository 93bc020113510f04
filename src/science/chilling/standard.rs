//! The standard chill: one number that compares a January with a July batch.
//!
//! # What for
//! Twelve litres in winter and twenty-three in summer did not have the same job
//! to do; their minutes cannot be compared. The standard chill asks what the
//! *coil* would need for one job that is always the same: 20 L (measured at
//! 20 °C) of 12 °P wort from 95 °C to 20 °C, against a coolant held at 12 °C,
//! nothing lost to the room.
//!
//! # Equation
//! `t = C_w / K · ln((95 − 12) / (20 − 12))` with
//! `C_w = 20 L × 1.0464 kg/L × 3.94 kJ/(kg·K) = 82.46 kJ/K`. Density is the
//! sucrose solution's [Emmerich-1994], specific heat its mean from 20 to 100 °C
//! [Bubnik-1995, IAPWS-95]; within 1.5 % of real wort.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::standard::standard_chill;
//! use gylebook::science::units::Conductance;
//!
//! let time = standard_chill(Conductance::from_watts_per_kelvin(154.036)).unwrap();
//! assert!((time.minutes() - 20.87).abs() < 0.01);
//! ```

use super::estimate::Estimate;
use crate::science::units::{Conductance, Density, HeatCapacity, Plato, SpecificHeat, Temperature, TimeSpan, Volume};

/// Wort of the standard chill, measured at 20 °C.
pub const VOLUME: Volume = Volume::from_litres(20.0);
/// How strong it is: what [`DENSITY`] and [`SPECIFIC_HEAT`] belong to.
pub const STRENGTH: Plato = Plato::from_degrees(12.0);
/// Where it starts.
pub const FROM: Temperature = Temperature::from_celsius(95.0);
/// Where it ends.
pub const TO: Temperature = Temperature::from_celsius(20.0);
/// What it is cooled against.
pub const COOLANT: Temperature = Temperature::from_celsius(12.0);
/// Density of 12 °P wort at 20 °C [Emmerich-1994].
pub const DENSITY: Density = Density::from_kg_per_m3(1046.4);
/// Mean specific heat of 12 °P wort from 20 to 100 °C [Bubnik-1995, IAPWS-95].
pub const SPECIFIC_HEAT: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(3.94);

/// Time the standard chill takes with this conductance; `None` unless `coil` > 0.
#[must_use]
pub fn standard_chill(coil: Conductance) -> Option<TimeSpan> {
    if coil.watts_per_kelvin().is_nan() || coil <= Conductance::ZERO {
        return None;
    }
    let wort: HeatCapacity = VOLUME * DENSITY * SPECIFIC_HEAT;
    let decades = ((FROM - COOLANT) / (TO - COOLANT)).ln();
    Some(TimeSpan::from_seconds(wort.joules_per_kelvin() / coil.watts_per_kelvin() * decades))
}

/// The same with its standard error, `se(t) = t · se(K) / K`.
#[must_use]
pub fn standard_chill_of(coil: Estimate) -> Option<(TimeSpan, TimeSpan)> {
    let time = standard_chill(coil.conductance)?;
    Some((time, time * coil.relative_se()))
}
