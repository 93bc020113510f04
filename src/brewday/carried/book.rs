//! The whole book as one document: settings, check lists, recipes with all their
//! revisions, equipment, batches and the log of everything.
//!
//! Recipes, equipment and batches keep their numbers, and the log its order, so
//! the document goes into an empty book only. What is computed is left out but
//! for each batch's summary, which is for the reader and passed over coming in.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;
use time::OffsetDateTime;

use super::{CarriedEntry, FORM, read_entry, read_form, read_lists, read_time, rows, without};
use crate::brewday::chill_plan::KeptPlan;
use crate::brewday::fields::{Fault, Reader, Why};
use crate::brewday::kettle_loss::KettleLoss;
use crate::brewday::plausible::{ALTITUDE, LINE_CHARS, NAME_CHARS, TEMPERATURE, VOLUME};
use crate::brewday::{CheckLists, Entry, Equipment, EquipmentRecord, Recipe, Settings, Summary, Typed};

/// A whole book.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CarriedBook {
    /// The form of the document.
    pub gylebook: i64,
    /// The brewer's choices.
    pub settings: Settings,
    /// The check lists as they are edited; none where they never were.
    pub check_lists: Option<CheckLists>,
    /// Every recipe.
    pub recipes: Vec<BookRecipe>,
    /// Every piece of equipment as it is described now.
    pub equipment: Vec<BookEquipment>,
    /// Every batch.
    pub batches: Vec<BookBatch>,
    /// The log of all batches and of the house, in the order of the book.
    pub entries: Vec<BookEntry>,
}

/// A recipe.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookRecipe {
    /// Its number.
    pub id: i64,
    /// When it was added.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: OffsetDateTime,
    /// When it was put away.
    #[serde(with = "time::serde::rfc3339::option")]
    pub retired_at: Option<OffsetDateTime>,
    /// Its revisions from the first on.
    pub revisions: Vec<BookRevision>,
}

/// A recipe as it stood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookRevision {
    /// When it was written.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: OffsetDateTime,
    /// The recipe.
    #[serde(flatten)]
    pub recipe: Recipe,
}

/// A piece of equipment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookEquipment {
    /// Its number.
    pub id: i64,
    /// When it was added.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: OffsetDateTime,
    /// When it was described as it is now.
    #[serde(with = "time::serde::rfc3339")]
    pub changed_at: OffsetDateTime,
    /// When it was put away.
    #[serde(with = "time::serde::rfc3339::option")]
    pub retired_at: Option<OffsetDateTime>,
    /// What it is.
    #[serde(flatten)]
    pub equipment: Equipment,
}

/// A batch: what was fixed when it was started.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookBatch {
    /// Its number.
    pub id: i64,
    /// What the brewer calls it.
    pub name: String,
    /// The number of the recipe it is brewed from.
    pub recipe: i64,
    /// Which revision of it.
    pub recipe_revision: i64,
    /// Wort meant to go into the fermenter, at 20 °C.
    pub volume_l: f64,
    /// What the tap ran at.
    pub tap_c: Option<f64>,
    /// Height above the sea.
    pub altitude_m: Option<f64>,
    /// When it was started in the book.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: OffsetDateTime,
    /// The equipment as it was described then.
    pub equipment: Vec<EquipmentRecord>,
    /// The check lists as they stood.
    pub lists: CheckLists,
    /// What the kettle was known to lose when it was started.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kettle_loss: Option<KettleLoss>,
    /// What was typed to start it, where it was typed.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub typed: Typed,
    /// The chill plan that was kept with it.
    pub chill_plan: Option<BookPlan>,
    /// The computed figures.
    pub summary: Option<Summary>,
}

/// A chill plan kept with a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookPlan {
    /// When it was kept.
    #[serde(with = "time::serde::rfc3339")]
    pub kept_at: OffsetDateTime,
    /// The plan.
    #[serde(flatten)]
    pub plan: KeptPlan,
}

/// An entry and the log it is in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookEntry {
    /// The batch; none for the house's own log.
    pub batch: Option<i64>,
    /// The entry.
    #[serde(flatten)]
    pub carried: CarriedEntry,
}

impl CarriedBook {
    /// The document of a book.
    #[must_use]
    pub fn new(settings: Settings, check_lists: Option<CheckLists>) -> Self {
        let (recipes, equipment, batches, entries) = Default::default();
        Self { gylebook: FORM, settings, check_lists, recipes, equipment, batches, entries }
    }

    /// Whether a document is a whole book rather than one batch.
    #[must_use]
    pub fn is_one(body: &Value) -> bool {
        body.get("batches").is_some()
    }

    /// Reads a book from such a document.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value, now: OffsetDateTime) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        read_form(&mut read);
        let settings = read.value("settings").cloned().unwrap_or_default();
        let settings = told("settings", settings).map_err(|fault| read.fault("settings", fault.why)).ok();
        let lists = match read.value("check_lists") {
            None => Some(None),
            Some(_) => read_lists(&mut read, "check_lists").map(Some),
        };
        let recipes = rows(&mut read, "recipes", read_recipe);
        let equipment = rows(&mut read, "equipment", read_piece);
        let batches = rows(&mut read, "batches", read_batch);
        let entries = rows(&mut read, "entries", |row| read_book_entry(row, now));
        once(&mut read, "recipes", recipes.iter().map(|recipe| recipe.id));
        once(&mut read, "equipment", equipment.iter().map(|piece| piece.id));
        once(&mut read, "batches", batches.iter().map(|batch| batch.id));
        let (Some(settings), Some(check_lists)) = (settings, lists) else {
            return Err(read.finish(()).err().unwrap_or_default());
        };
        read.finish(Self { gylebook: FORM, settings, check_lists, recipes, equipment, batches, entries })
    }
}

impl BookEntry {
    /// The entry itself.
    #[must_use]
    pub fn entry(&self) -> &Entry {
        &self.carried.entry
    }
}

fn read_recipe(row: &Value) -> Result<BookRecipe, Vec<Fault>> {
    let mut read = Reader::new(row);
    let recipe = BookRecipe {
        id: read_number(&mut read),
        created_at: a_time(&mut read, "created_at"),
        retired_at: read.maybe_time("retired_at"),
        revisions: rows(&mut read, "revisions", read_revision),
    };
    if recipe.revisions.is_empty() && read.is_sound("revisions") {
        read.fault("revisions", Why::Missing);
    }
    read.finish(recipe)
}

fn read_revision(row: &Value) -> Result<BookRevision, Vec<Fault>> {
    let (row, created_at) = without(row, "created_at");
    Ok(BookRevision { created_at: time_of("created_at", created_at)?, recipe: Recipe::from_body(&row)? })
}

fn read_piece(row: &Value) -> Result<BookEquipment, Vec<Fault>> {
    let (row, id) = without(row, "id");
    let (row, created_at) = without(&row, "created_at");
    let (row, changed_at) = without(&row, "changed_at");
    let (row, retired_at) = without(&row, "retired_at");
    Ok(BookEquipment {
        id: number_of("id", id)?,
        created_at: time_of("created_at", created_at)?,
        changed_at: time_of("changed_at", changed_at)?,
        retired_at: retired_at.filter(|at| !at.is_null()).map(|at| time_of("retired_at", Some(at))).transpose()?,
        equipment: Equipment::from_body(&row)?,
    })
}

fn read_batch(row: &Value) -> Result<BookBatch, Vec<Fault>> {
    let mut read = Reader::new(row);
    // Computed, so never taken over.
    let _ = read.value("summary");
    let equipment = rows(&mut read, "equipment", read_record);
    let plan = read.value("chill_plan").map(read_plan).transpose();
    let chill_plan = plan.map_err(|faults| read.faults_within("chill_plan", faults)).ok();
    let lists = read_lists(&mut read, "lists");
    let kettle_loss = read.maybe_group("kettle_loss", KettleLoss::read);
    let (Some(chill_plan), Some(lists)) = (chill_plan, lists) else {
        return Err(read.into_faults());
    };
    let batch = BookBatch {
        id: read_number(&mut read),
        name: read.text("name", NAME_CHARS),
        recipe: read.id("recipe"),
        recipe_revision: read.id("recipe_revision"),
        volume_l: read.number("volume_l", VOLUME),
        tap_c: read.maybe_number("tap_c", TEMPERATURE),
        altitude_m: read.maybe_number("altitude_m", ALTITUDE),
        created_at: a_time(&mut read, "created_at"),
        typed: read.texts("typed", LINE_CHARS),
        equipment,
        lists,
        kettle_loss,
        chill_plan,
        summary: None,
    };
    read.finish(batch)
}

fn read_record(row: &Value) -> Result<EquipmentRecord, Vec<Fault>> {
    let (row, id) = without(row, "id");
    let (row, care) = without(&row, "care");
    Ok(EquipmentRecord {
        id: number_of("id", id)?,
        care: told("care", care.unwrap_or_default()).map_err(|fault| vec![fault])?,
        equipment: Equipment::from_body(&row)?,
    })
}

fn read_plan(row: &Value) -> Result<BookPlan, Vec<Fault>> {
    let (row, kept_at) = without(row, "kept_at");
    Ok(BookPlan { kept_at: time_of("kept_at", kept_at)?, plan: KeptPlan::from_body(&row)? })
}

fn read_book_entry(row: &Value, now: OffsetDateTime) -> Result<BookEntry, Vec<Fault>> {
    let (row, batch) = without(row, "batch");
    let batch = batch.filter(|batch| !batch.is_null()).map(|batch| number_of("batch", Some(batch))).transpose()?;
    // The equipment it speaks of is looked for where the book is written.
    Ok(BookEntry { batch, carried: read_entry(&row, |_| true, now)? })
}

/// A number that a record keeps: 1 or more.
fn read_number(read: &mut Reader<'_>) -> i64 {
    let id = read.id("id");
    if id < 1 && read.is_sound("id") {
        read.fault("id", Why::Said("A number of 1 or more is needed here.".into()));
    }
    id
}

fn number_of(name: &'static str, value: Option<Value>) -> Result<i64, Vec<Fault>> {
    let number = value.as_ref().and_then(Value::as_i64).filter(|number| *number >= 1);
    number.ok_or_else(|| vec![Fault::new(name, "A number of 1 or more is needed here.")])
}

fn time_of(name: &'static str, value: Option<Value>) -> Result<OffsetDateTime, Vec<Fault>> {
    let body = serde_json::json!({ name: value });
    let mut read = Reader::new(&body);
    let time = a_time(&mut read, name);
    read.finish(time)
}

fn a_time(read: &mut Reader<'_>, name: &'static str) -> OffsetDateTime {
    read_time(read, name).unwrap_or(OffsetDateTime::UNIX_EPOCH)
}

/// A record that is kept as it is told.
fn told<T: DeserializeOwned>(name: &str, value: Value) -> Result<T, Fault> {
    serde_json::from_value(value).map_err(|why| Fault::new(name, format!("This can't be read: {why}.")))
}

/// Faults a number that stands for two.
fn once(read: &mut Reader<'_>, name: &str, numbers: impl Iterator<Item = i64>) {
    let mut known = BTreeSet::new();
    for number in numbers {
        if !known.insert(number) {
            read.fault(name, Why::Said(format!("The number {number} stands here twice.")));
        }
    }
}
