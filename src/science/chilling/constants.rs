//! The few constants of water and ice a chill needs, each with its source.

use crate::science::units::{SpecificEnergy, SpecificHeat, Temperature};

/// Specific heat of bath water: 4.186 kJ/(kg·K).
///
/// The mean from 0 to 60 °C by IAPWS-95, where a bath lives; within 0.1 % from
/// 0 to 100 °C [IAPWS-95].
pub const WATER_SPECIFIC_HEAT: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(4.186);

/// Specific heat of ice between −18 and 0 °C: 2.05 kJ/(kg·K) [IAPWS-R10-06].
pub const ICE_SPECIFIC_HEAT: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(2.05);

/// Heat that melts ice at 0 °C: 333.43 kJ/kg [IAPWS-R10-06, IAPWS-95].
pub const ICE_LATENT_HEAT: SpecificEnergy = SpecificEnergy::from_kilojoules_per_kg(333.43);

/// Ice that has stood in a bucket or a cool box is at its melting point; ice
/// straight from a freezer is near −18 °C and does a tenth more.
pub const ICE_TEMPERATURE: Temperature = Temperature::ICE_POINT;

pub(super) const WATER_SPECIFIC: f64 = WATER_SPECIFIC_HEAT.joules_per_kg_kelvin();
pub(super) const ICE_SPECIFIC: f64 = ICE_SPECIFIC_HEAT.joules_per_kg_kelvin();
pub(super) const ICE_LATENT: f64 = ICE_LATENT_HEAT.joules_per_kg();
