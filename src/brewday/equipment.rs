//! Vessels, coils and instruments, with what the computation needs of each.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

use super::care::CareState;
use super::choices::{Choice, EquipmentKind};
use super::fields::{Fault, Field, Reader};
use super::plausible::{
    BOIL_OFF, BRIX_OFFSET, FLOW, GRAVITY_OFFSET, LINE_CHARS, MASS, MASS_OFFSET, NAME_CHARS, NOTE_CHARS, PASS, Range,
    TEMPERATURE, TEMPERATURE_DIFFERENCE, UNCERTAINTY, VOLUME, VOLUME_OR_NONE, WORT_FACTOR,
};
use super::recipe::Typed;

/// A piece of equipment as the brewer described it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Equipment {
    /// What the brewer calls it.
    pub name: String,
    /// What kind of thing it is.
    pub kind: EquipmentKind,
    /// What it holds when full.
    pub volume_l: Option<f64>,
    /// What cannot be drawn off.
    pub dead_space_l: Option<f64>,
    /// What stays inside when the flow stops (coils, plates, hoses).
    pub hold_up_l: Option<f64>,
    /// What it weighs clean and dry.
    pub dry_mass_kg: Option<f64>,
    /// What boils off in an hour (kettles).
    pub boil_off_l_per_h: Option<f64>,
    /// Minutes for the whole wort to come round once (coils).
    pub pass_min: Option<f64>,
    /// Flow through it (coils, pumps).
    pub flow_l_min: Option<f64>,
    /// The temperature it is marked for (hydrometers: 20, or 15.56 for 60 °F).
    pub calibration_c: Option<f64>,
    /// What it shows too much: SG for a hydrometer, °Bx for a refractometer, K for a thermometer.
    pub offset: Option<f64>,
    /// °Bx over °P of unfermented wort (refractometers).
    pub wort_factor: Option<f64>,
    /// One standard deviation of a reading, in its own unit.
    pub uncertainty: Option<f64>,
    /// Anything else worth knowing.
    pub notes: Option<String>,
    /// What was typed, where it was typed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schema(value_type = BTreeMap<String, String>)]
    pub typed: Typed,
}

/// A piece of equipment in the book, or as it was when a batch was started.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EquipmentRecord {
    /// Its id.
    pub id: i64,
    /// What it is.
    #[serde(flatten)]
    pub equipment: Equipment,
    /// The state it is in, or was in when a batch was started.
    #[serde(default)]
    pub care: CareState,
}

impl Equipment {
    /// Reads a piece of equipment from a body of canonical fields.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let equipment = Self::read(&mut read);
        read.finish(equipment)
    }

    /// The fields of a body of one kind, for whoever writes one.
    #[must_use]
    pub fn fields(kind: EquipmentKind) -> Vec<Field> {
        Reader::fields(&json!({ "kind": kind.key() }), Self::read)
    }

    fn read(read: &mut Reader<'_>) -> Self {
        let kind = read.choice("kind");
        Self {
            name: read.text("name", NAME_CHARS),
            kind,
            volume_l: read.maybe_number("volume_l", VOLUME),
            dead_space_l: read.maybe_number("dead_space_l", VOLUME_OR_NONE),
            hold_up_l: read.maybe_number("hold_up_l", VOLUME_OR_NONE),
            dry_mass_kg: read.maybe_number("dry_mass_kg", MASS),
            boil_off_l_per_h: read.maybe_number("boil_off_l_per_h", BOIL_OFF),
            pass_min: read.maybe_number("pass_min", PASS),
            flow_l_min: read.maybe_number("flow_l_min", FLOW),
            calibration_c: read.maybe_number("calibration_c", TEMPERATURE),
            offset: read.maybe_number("offset", offset_range(kind)),
            wort_factor: read.maybe_number("wort_factor", WORT_FACTOR),
            uncertainty: read.maybe_number("uncertainty", UNCERTAINTY),
            notes: read.maybe_text("notes", NOTE_CHARS),
            typed: read.texts("typed", LINE_CHARS),
        }
    }
}

impl EquipmentKind {
    /// Whether wort touches it, so that its care is worth following.
    #[must_use]
    pub fn is_cared_for(self) -> bool {
        !matches!(self, Self::Thermometer | Self::Hydrometer | Self::Refractometer | Self::Scale | Self::Bucket)
    }
}

/// How far an instrument of this kind may be off, in its own unit.
#[must_use]
pub fn offset_range(kind: EquipmentKind) -> Range {
    match kind {
        EquipmentKind::Hydrometer => GRAVITY_OFFSET,
        EquipmentKind::Refractometer => BRIX_OFFSET,
        EquipmentKind::Scale => MASS_OFFSET,
        _ => TEMPERATURE_DIFFERENCE,
    }
}
