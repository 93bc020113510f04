//! A batch to be carried from one book to another: everything that is known of
//! it, and nothing that only means something in the book it comes from.
//!
//! The whole book at once is in [`book`]; it keeps its numbers, as it goes into
//! an empty one.
//!
//! Equipment is numbered by its place in this document, from 1, and care
//! entries speak of it by that number. Computed figures go along for whoever
//! reads the document; coming in, they are passed over and computed anew.

mod book;

use serde::Serialize;
use serde_json::{Map, Value};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339};

use super::care::CareState;
use super::chill_plan::KeptPlan;
use super::fields::{Fault, Reader, Why};
use super::kettle_loss::KettleLoss;
use super::plausible::{ALTITUDE, NAME_CHARS, TEMPERATURE, VOLUME};
use super::{Body, CheckLists, Entry, Equipment, Recipe, Summary};

pub use book::{BookBatch, BookEntry, BookEquipment, BookPlan, BookRecipe, BookRevision, CarriedBook};

/// The form of the document; another form will have another number.
const FORM: i64 = 1;

/// A batch with all that belongs to it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Carried {
    /// The form of the document.
    pub gylebook: i64,
    /// The batch.
    pub batch: CarriedBatch,
    /// The recipe, at the revision the batch was brewed from.
    pub recipe: Recipe,
    /// The batch's equipment, and any other piece its log speaks of.
    pub equipment: Vec<CarriedEquipment>,
    /// The log, in the order it was received.
    pub entries: Vec<CarriedEntry>,
    /// The computed figures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub summary: Option<Summary>,
}

/// What was fixed when the batch was started.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CarriedBatch {
    /// What the brewer calls it.
    pub name: String,
    /// Wort meant to go into the fermenter, at 20 °C.
    pub volume_l: f64,
    /// What the tap ran at.
    pub tap_c: Option<f64>,
    /// Height above the sea.
    pub altitude_m: Option<f64>,
    /// When it was started in the book.
    #[serde(with = "time::serde::rfc3339")]
    pub created_at: OffsetDateTime,
    /// The check lists as they stood.
    pub lists: CheckLists,
    /// The chill plan that was kept with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chill_plan: Option<KeptPlan>,
    /// What earlier batches said its kettle loses by itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kettle_loss: Option<KettleLoss>,
}

/// A piece of equipment as it was described when the batch was started.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CarriedEquipment {
    /// What it is.
    #[serde(flatten)]
    pub equipment: Equipment,
    /// The state it was in; none for a piece the batch was not started with.
    pub care: Option<CareState>,
}

/// An entry with who sent it and when it came.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CarriedEntry {
    /// When the server got it.
    #[serde(with = "time::serde::rfc3339")]
    pub received_at: OffsetDateTime,
    /// Who wrote it.
    pub device: Option<String>,
    /// The entry.
    #[serde(flatten)]
    pub entry: Entry,
}

impl Carried {
    /// The document of a batch.
    #[must_use]
    pub fn new(
        batch: CarriedBatch,
        recipe: Recipe,
        equipment: Vec<CarriedEquipment>,
        entries: Vec<CarriedEntry>,
        summary: Summary,
    ) -> Self {
        Self { gylebook: FORM, batch, recipe, equipment, entries, summary: Some(summary) }
    }

    /// Reads a batch from such a document.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value, now: OffsetDateTime) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        read_form(&mut read);
        let batch = read.group("batch", read_batch);
        let recipe = part(&mut read, "recipe", Recipe::from_body);
        let equipment = rows(&mut read, "equipment", read_equipment);
        // Those that were refused count as well: an entry about one isn't at fault.
        let pieces = read.value("equipment").and_then(Value::as_array).map_or(0, Vec::len);
        let known = |number: i64| usize::try_from(number).is_ok_and(|number| (1..=pieces).contains(&number));
        let entries = rows(&mut read, "entries", |row| read_entry(row, known, now));
        // Computed, so never taken over.
        let _ = read.value("summary");
        let (Some(batch), Some(recipe)) = (batch, recipe) else {
            return Err(read.finish(()).err().unwrap_or_default());
        };
        read.finish(Self { gylebook: FORM, batch, recipe, equipment, entries, summary: None })
    }
}

/// Gives the equipment an entry speaks of another number.
pub fn renumber(body: &mut Body, number: impl Fn(i64) -> i64) {
    match body {
        Body::Care(care) => care.equipment = number(care.equipment),
        Body::Amendment(amendment) => {
            if let Some(replacement) = &mut amendment.replacement {
                renumber(&mut replacement.body, number);
            }
        }
        _ => {}
    }
}

/// The equipment an entry speaks of.
#[must_use]
pub fn equipment_of(body: &Body) -> Option<i64> {
    match body {
        Body::Care(care) => Some(care.equipment),
        Body::Amendment(amendment) => equipment_of(&amendment.replacement.as_ref()?.body),
        _ => None,
    }
}

fn read_form(read: &mut Reader<'_>) {
    let form = read.id("gylebook");
    if form != FORM && read.value("gylebook").is_some() {
        read.fault("gylebook", Why::Said(format!("Only documents of form {FORM} can be read here.")));
    }
}

fn read_batch(read: &mut Reader<'_>) -> Option<CarriedBatch> {
    let lists = read_lists(read, "lists");
    let plan = read.value("chill_plan").map(KeptPlan::from_body).transpose();
    let chill_plan = plan.map_err(|faults| read.faults_within("chill_plan", faults)).ok();
    let kettle_loss = read.maybe_group("kettle_loss", KettleLoss::read);
    Some(CarriedBatch {
        name: read.text("name", NAME_CHARS),
        volume_l: read.number("volume_l", VOLUME),
        tap_c: read.maybe_number("tap_c", TEMPERATURE),
        altitude_m: read.maybe_number("altitude_m", ALTITUDE),
        created_at: read_time(read, "created_at").unwrap_or(OffsetDateTime::UNIX_EPOCH),
        lists: lists?,
        chill_plan: chill_plan?,
        kettle_loss,
    })
}

fn read_lists(read: &mut Reader<'_>, name: &'static str) -> Option<CheckLists> {
    let lists = read.value(name).cloned().unwrap_or_default();
    let lists = CheckLists::from_body(&Value::Object(Map::from_iter([("lists".to_owned(), lists)])));
    let here = |field: &str| format!("{name}{}", field.strip_prefix("lists").unwrap_or_default());
    lists.map_err(|faults| faults.into_iter().for_each(|fault| read.fault(&here(&fault.field), fault.why))).ok()
}

fn read_equipment(row: &Value) -> Result<CarriedEquipment, Vec<Fault>> {
    let (row, care) = without(row, "care");
    let equipment = Equipment::from_body(&row)?;
    let care = care.map(serde_json::from_value).transpose();
    let care = care.map_err(|why| vec![Fault::new("care", format!("This can't be read: {why}."))])?;
    Ok(CarriedEquipment { equipment, care: care.flatten() })
}

fn read_entry(row: &Value, known: impl Fn(i64) -> bool, now: OffsetDateTime) -> Result<CarriedEntry, Vec<Fault>> {
    let (row, received_at) = without(row, "received_at");
    let (row, device) = without(&row, "device");
    let about_it = Map::from_iter(
        [("received_at", received_at), ("device", device)]
            .into_iter()
            .filter_map(|(name, value)| Some((name.to_owned(), value?))),
    );
    let about_it = Value::Object(about_it);
    let mut read = Reader::new(&about_it);
    let received_at = read_time(&mut read, "received_at").unwrap_or(now);
    let device = read.maybe_text("device", NAME_CHARS);
    let (received_at, device) = read.finish((received_at, device))?;
    let entry = Entry::from_body(&row, now, Duration::ZERO)?;
    if equipment_of(&entry.body).is_some_and(|number| !known(number)) {
        let within = if matches!(entry.body, Body::Amendment(_)) { "replacement.equipment" } else { "equipment" };
        return Err(vec![Fault::new(within, "There is no equipment with this number in the document.")]);
    }
    Ok(CarriedEntry { received_at, device, entry })
}

/// A body within the document that has a reader of its own.
fn part<T>(
    read: &mut Reader<'_>,
    name: &'static str,
    from_body: impl Fn(&Value) -> Result<T, Vec<Fault>>,
) -> Option<T> {
    match read.value(name).map(from_body) {
        None => read.fault(name, Why::Missing),
        Some(Err(faults)) => read.faults_within(name, faults),
        Some(Ok(record)) => return Some(record),
    }
    None
}

/// A list of bodies that have a reader of their own.
fn rows<T>(read: &mut Reader<'_>, name: &'static str, from_body: impl Fn(&Value) -> Result<T, Vec<Fault>>) -> Vec<T> {
    let Some(value) = read.value(name) else {
        read.fault(name, Why::Missing);
        return Vec::new();
    };
    let Some(rows) = value.as_array() else {
        read.fault(name, Why::NotAList);
        return Vec::new();
    };
    let mut records = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        match from_body(row) {
            Ok(record) => records.push(record),
            Err(faults) => read.faults_within(&format!("{name}.{index}"), faults),
        }
    }
    records
}

fn without(row: &Value, name: &str) -> (Value, Option<Value>) {
    let mut row = row.clone();
    let taken = row.as_object_mut().and_then(|fields| fields.remove(name));
    (row, taken)
}

fn read_time(read: &mut Reader<'_>, name: &'static str) -> Option<OffsetDateTime> {
    let text = read.text(name, 64);
    let time = OffsetDateTime::parse(&text, &Rfc3339).ok();
    if time.is_none() && !text.is_empty() {
        read.fault(name, Why::Said("A time as RFC 3339 is needed here, like 2026-03-07T14:42:00Z.".into()));
    }
    time
}
