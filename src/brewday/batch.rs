//! A batch: a recipe revision, a volume and the equipment it was started with.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

use super::chill_plan::KeptPlan;
use super::choices::EquipmentKind;
use super::fields::{Fault, Field, Reader};
use super::kettle_loss::KettleLoss;
use super::plausible::{ALTITUDE, LINE_CHARS, NAME_CHARS, ROWS, TEMPERATURE, VOLUME};
use super::recipe::Typed;
use super::{CheckLists, Equipment, EquipmentRecord, Recipe};

/// Everything about a batch that is not in its log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Batch {
    /// Its id, which is also its number in the book.
    pub id: i64,
    /// What the brewer calls it.
    pub name: String,
    /// The recipe it is brewed from.
    pub recipe_id: i64,
    /// Which revision of the recipe, counted from 1.
    pub recipe_revision: i64,
    /// The recipe as it stood, for the recipe's own volume.
    pub recipe: Recipe,
    /// Wort meant to go into the fermenter, at 20 °C.
    pub volume_l: f64,
    /// The equipment as it was described when the batch was started.
    pub equipment: Vec<EquipmentRecord>,
    /// What the tap runs at today.
    pub tap_c: Option<f64>,
    /// Height above the sea.
    pub altitude_m: Option<f64>,
    /// The check lists as they stood.
    pub lists: CheckLists,
    /// When it was started in the book, RFC 3339.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: time::OffsetDateTime,
    /// The chill plan that was kept with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chill_plan: Option<KeptPlan>,
    /// What earlier batches say its kettle loses by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kettle_loss: Option<KettleLoss>,
}

/// What a brewer gives to start a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct NewBatch {
    /// The recipe's id.
    pub recipe: i64,
    /// A name of its own; else the recipe's.
    pub name: Option<String>,
    /// A volume of its own; else the recipe's.
    pub volume_l: Option<f64>,
    /// Ids of the equipment to be used.
    pub equipment: Vec<i64>,
    /// What the tap runs at today.
    pub tap_c: Option<f64>,
    /// Height above the sea.
    pub altitude_m: Option<f64>,
    /// What was typed, where it was typed.
    pub typed: Typed,
}

impl NewBatch {
    /// Reads a new batch from a body of canonical fields.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let batch = Self::read(&mut read);
        read.finish(batch)
    }

    /// The fields of a body, for whoever writes one.
    #[must_use]
    pub fn fields() -> Vec<Field> {
        Reader::fields(&json!({}), Self::read)
    }

    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            recipe: read.id("recipe"),
            name: read.maybe_text("name", NAME_CHARS),
            volume_l: read.maybe_number("volume_l", VOLUME),
            equipment: read.ids("equipment", ROWS),
            tap_c: read.maybe_number("tap_c", TEMPERATURE),
            altitude_m: read.maybe_number("altitude_m", ALTITUDE),
            typed: read.texts("typed", LINE_CHARS),
        }
    }
}

impl Batch {
    /// The recipe scaled to this batch's volume.
    #[must_use]
    pub fn scaled_recipe(&self) -> Recipe {
        self.recipe.scaled_to(self.volume_l)
    }

    /// The first piece of equipment of a kind.
    #[must_use]
    pub fn first(&self, kind: EquipmentKind) -> Option<&Equipment> {
        self.all(kind).next().map(|record| &record.equipment)
    }

    /// Every piece of equipment of a kind.
    pub fn all(&self, kind: EquipmentKind) -> impl Iterator<Item = &EquipmentRecord> {
        self.equipment.iter().filter(move |record| record.equipment.kind == kind)
    }

    /// The coil or plate the wort is chilled with.
    #[must_use]
    pub fn chiller(&self) -> Option<&EquipmentRecord> {
        chiller(&self.equipment)
    }
}

/// The coil or plate wort is chilled with, of the equipment of a batch.
#[must_use]
pub fn chiller(equipment: &[EquipmentRecord]) -> Option<&EquipmentRecord> {
    let first = |kind| equipment.iter().find(move |record| record.equipment.kind == kind);
    first(EquipmentKind::Coil).or_else(|| first(EquipmentKind::PlateChiller))
}
