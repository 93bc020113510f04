//! What was ever written down about the care of a piece, line by line.

use uuid::Uuid;

use crate::brewday::{Body, choices::Choice, plausible::Dimension};
use crate::store::CareWritten;
use crate::web::{App, AppError, Frame, when::Moment};

/// One line of a piece's care history.
#[derive(Clone, Debug)]
pub(super) struct CareEntry {
    pub(super) id: Uuid,
    pub(super) at: Moment,
    /// "Weighed, 3.12 kg"
    pub(super) what: String,
    pub(super) note: Option<String>,
    /// The batch it belongs to, where it is corrected.
    pub(super) batch: Option<i64>,
    /// Whether it was struck out, or was about another piece after all.
    pub(super) struck: bool,
    /// As it was first written, where it was changed since.
    pub(super) was: Option<String>,
    /// The id the entry will have that strikes it out.
    pub(super) strike_id: Uuid,
}

/// Everything ever written about the care of a piece, the latest first.
pub(super) async fn read(app: &App, frame: &Frame, id: i64) -> Result<Vec<CareEntry>, AppError> {
    let written = app.store.care_history(id).await?;
    Ok(written.iter().rev().map(|care| line(care, frame, id)).collect())
}

fn line(care: &CareWritten, frame: &Frame, id: i64) -> CareEntry {
    let written = &care.written.entry;
    let here = care.stands.as_ref().filter(|entry| matches!(&entry.body, Body::Care(care) if care.equipment == id));
    let (at, body, note) = match here {
        Some(stands) => (stands.at, &stands.body, &stands.note),
        None => (written.at, &written.body, &written.note),
    };
    let (what, first) = (in_words(body, frame), in_words(&written.body, frame));
    let first = format!("{first}, {}", frame.clock.day_and_time(written.at));
    let changed = here.is_some_and(|entry| entry.amended_by.is_some());
    CareEntry {
        id: written.id,
        at: frame.clock.day_and_time(at),
        what,
        note: note.clone(),
        batch: care.batch,
        struck: here.is_none(),
        was: changed.then_some(first),
        strike_id: Uuid::now_v7(),
    }
}

fn in_words(body: &Body, frame: &Frame) -> String {
    let Body::Care(care) = body else { return String::new() };
    let mass = care.mass_kg.map(|kilograms| frame.show(kilograms, Dimension::Mass).to_string());
    [Some(care.act.label().to_owned()), mass, care.place.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ")
}
