//! The brewer's choices: units, time zone, the name over the door.

use serde::{Deserialize, Serialize};

use super::choices::{Choice, ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit};

/// What the brewer chose once and every page keeps to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// The name over the door.
    pub house: String,
    /// How figures are shown and read.
    pub units: Units,
    /// IANA name of the zone the day is told in; the system's where there is none.
    pub time_zone: Option<String>,
    /// Height above the sea that a new batch starts with.
    pub altitude_m: Option<f64>,
    /// Whether the newcomer's first choices were made.
    pub welcomed: bool,
}

/// The units figures are shown in and read in. What is kept is SI.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Units {
    /// °C or °F.
    pub temperature: TemperatureUnit,
    /// Litres or US gallons.
    pub volume: VolumeUnit,
    /// Kilograms and grams, or pounds and ounces.
    pub mass: MassUnit,
    /// SG or °P.
    pub gravity: GravityUnit,
    /// EBC or SRM.
    pub colour: ColourUnit,
}

impl Default for Settings {
    fn default() -> Self {
        Self { house: "Brew house".into(), units: Units::default(), time_zone: None, altitude_m: None, welcomed: false }
    }
}

impl Default for Units {
    fn default() -> Self {
        Self {
            temperature: TemperatureUnit::ALL[0],
            volume: VolumeUnit::ALL[0],
            mass: MassUnit::ALL[0],
            gravity: GravityUnit::ALL[0],
            colour: ColourUnit::ALL[0],
        }
    }
}
