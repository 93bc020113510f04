//! Check lists: what is ticked before the brew, before the chill, and after.
//!
//! The brewer edits the lists; a batch keeps the ones it was started with. An
//! item tied to a kind of equipment writes that equipment's care event when it
//! is done.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::choices::{CareAct, EquipmentKind, Stage};
use super::fields::{Fault, Reader, Why};
use super::plausible::{LINE_CHARS, NAME_CHARS, ROWS};

/// All lists a batch is started with, in the order of the day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CheckLists(pub Vec<CheckList>);

/// One list, shown on one stage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CheckList {
    /// Its heading.
    pub name: String,
    /// The stage it is shown on.
    pub stage: Stage,
    /// What to tick, in order.
    pub items: Vec<CheckItem>,
}

/// One thing to tick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CheckItem {
    /// The word a `check` entry names it by.
    pub key: String,
    /// What to do, as a sentence.
    pub text: String,
    /// The kind of equipment it is about, where it writes a care event.
    pub equipment: Option<EquipmentKind>,
    /// The care event it writes.
    pub act: Option<CareAct>,
}

/// The items pitch clearance looks for.
pub const PITCH_ITEMS: [(&str, &str); 3] =
    [("fermenter_sanitised", "Fermenter"), ("hoses_sanitised", "Hoses"), ("airlock_sanitised", "Airlock")];

impl CheckItem {
    fn read(read: &mut Reader<'_>) -> Self {
        let item = Self {
            key: read.text("key", NAME_CHARS),
            text: read.text("text", LINE_CHARS),
            equipment: read.maybe_choice("equipment"),
            act: read.maybe_choice("act"),
        };
        // A care event says what was done, and to what.
        match (item.equipment, item.act) {
            (Some(_), None) => read.fault("act", Why::Said("Choose what the tick says was done to it.".into())),
            (None, Some(_)) => read.fault("equipment", Why::Said("Choose what this was done to.".into())),
            _ => {}
        }
        item
    }
}

impl CheckLists {
    /// The lists a new book starts with (common practice, no source).
    #[must_use]
    pub fn defaults() -> Self {
        use CareAct::{BlownDry, Cleaned, Drained, Flushed, Rinsed, Stored};
        use EquipmentKind::{Coil, Fermenter, Hose, Kettle, MashVessel, Pump};
        let item = |key: &str, text: &str| CheckItem { key: key.into(), text: text.into(), equipment: None, act: None };
        let care = |key: &str, text: &str, equipment, act| CheckItem {
            equipment: Some(equipment),
            act: Some(act),
            ..item(key, text)
        };
        let list = |name: &str, stage, items| CheckList { name: name.into(), stage, items };
        Self(vec![
            list(
                "Before the brew",
                Stage::Prepare,
                vec![
                    care("kettle_clean", "Kettle clean, valve taken apart and rinsed", Kettle, Cleaned),
                    care("mash_vessel_clean", "Mash vessel clean, false bottom seated", MashVessel, Cleaned),
                    item("coil_inspected", "Coil looked through: no green or black inside, fittings tight"),
                    care("coil_rinsed", "Coil and hoses rinsed with clean water", Coil, Rinsed),
                    item("leaks_checked", "Pump and hoses run with water: no drips"),
                    item("outlets_protected", "Pump on a residual-current protected outlet, cable clear of water"),
                    item("instruments_checked", "Thermometer and hydrometer checked in water"),
                    item("gas_outdoors", "Gas burner only outdoors; room aired"),
                ],
            ),
            list(
                "Before the chill",
                Stage::Chill,
                vec![
                    item("fermenter_sanitised", "Fermenter cleaned and sanitised"),
                    item("hoses_sanitised", "Hoses for cold wort sanitised"),
                    item("airlock_sanitised", "Airlock, bung and thermometer sanitised"),
                    item("baths_filled", "Buckets filled and in reach, their temperature taken"),
                    item("ice_ready", "Ice weighed and at hand"),
                    item("gloves_ready", "Gloves or cloth on: coil and fittings are near boiling"),
                ],
            ),
            list(
                "Clean and put away",
                Stage::Clean,
                vec![
                    care("coil_flushed", "Coil flushed with hot water until it runs clear", Coil, Flushed),
                    care(
                        "coil_cleaned",
                        "Cleaner pumped round through coil and hoses, as its maker says",
                        Coil,
                        Cleaned,
                    ),
                    care("coil_rinsed_after", "Coil rinsed until no cleaner is left", Coil, Rinsed),
                    care("coil_drained_after", "Coil drained, both ends low", Coil, Drained),
                    care("coil_blown_dry", "Coil blown dry", Coil, BlownDry),
                    care("hoses_cleaned", "Hoses cleaned, drained and hung", Hose, Cleaned),
                    care("pump_cleaned", "Pump head opened, cleaned and left open", Pump, Cleaned),
                    care("kettle_cleaned_after", "Kettle cleaned and dry", Kettle, Cleaned),
                    care("mash_vessel_cleaned_after", "Mash vessel emptied, cleaned and dry", MashVessel, Cleaned),
                    care("fermenter_put_away", "Fermenter closed, airlock on, put in its place", Fermenter, Stored),
                ],
            ),
        ])
    }

    /// The items shown on a stage, list by list.
    pub fn on(&self, stage: Stage) -> impl Iterator<Item = &CheckList> {
        self.0.iter().filter(move |list| list.stage == stage)
    }

    /// The item a `check` entry names.
    #[must_use]
    pub fn item(&self, key: &str) -> Option<&CheckItem> {
        self.0.iter().flat_map(|list| &list.items).find(|item| item.key == key)
    }

    /// Reads edited lists from a body of canonical fields.
    ///
    /// # Errors
    /// Every fault found, each with its field; two items may not share a key.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let lists = Self(read.each("lists", ROWS, |read| CheckList {
            name: read.text("name", NAME_CHARS),
            stage: read.choice("stage"),
            items: read.each("items", ROWS, CheckItem::read),
        }));
        let mut keys = std::collections::BTreeSet::new();
        if !lists.0.iter().flat_map(|list| &list.items).all(|item| keys.insert(&item.key)) {
            read.fault("lists", Why::Said("Two items on the lists have the same key.".into()));
        }
        read.finish(lists)
    }
}
