//! What was ever written down about the care of a piece, line by line.

use time::OffsetDateTime;
use uuid::Uuid;

use crate::brewday::{Body, choices::Choice, plausible::Dimension};
use crate::store::CareWritten;
use crate::web::{App, AppError, Frame, when::Moment};

/// One brew day's care, told in one line; anything else stands by itself.
#[derive(Clone, Debug)]
pub(super) enum CareDay {
    /// What was done on one day of one batch, the first thing first.
    BrewDay {
        /// The batch.
        batch: i64,
        /// The day.
        date: Moment,
        /// "09:45 rinsed · 14:07 flushed"
        acts: String,
    },
    /// One line.
    Line(CareEntry),
}

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
    happened: OffsetDateTime,
}

impl CareEntry {
    /// Whether it says nothing beyond what and when.
    fn is_plain(&self) -> bool {
        self.note.is_none() && self.was.is_none() && !self.struck
    }
}

/// The history with each brew day's care drawn together, the latest first.
pub(super) fn by_day(entries: &[CareEntry], frame: &Frame) -> Vec<CareDay> {
    let day = |entry: &CareEntry| frame.clock.date(entry.happened).text;
    let together = |one: &CareEntry, other: &CareEntry| {
        one.batch.is_some() && one.batch == other.batch && one.is_plain() && other.is_plain() && day(one) == day(other)
    };
    let told = entries.chunk_by(together).map(|of| match of {
        [first, _, ..] => CareDay::BrewDay {
            batch: first.batch.unwrap_or_default(),
            date: frame.clock.date(first.happened),
            acts: of.iter().rev().map(|entry| act(entry, frame)).collect::<Vec<_>>().join(" · "),
        },
        _ => CareDay::Line(of[0].clone()),
    });
    told.collect()
}

/// "09:45 rinsed"
fn act(entry: &CareEntry, frame: &Frame) -> String {
    let time = frame.clock.time(entry.happened).text;
    let mut letters = entry.what.chars();
    let what: String = letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect();
    format!("{time}\u{a0}{what}")
}

/// What was written about the care of a piece, the latest first and at most so much
/// of it, and how much there is.
pub(super) async fn read(app: &App, frame: &Frame, id: i64, most: u32) -> Result<(Vec<CareEntry>, usize), AppError> {
    let (written, total) = app.store.care_history(id, most).await?;
    Ok((written.iter().rev().map(|care| line(care, frame, id)).collect(), total))
}

/// One entry, where it is or was about the piece.
pub(super) async fn one(app: &App, frame: &Frame, id: i64, entry: Uuid) -> Result<Option<CareEntry>, AppError> {
    Ok(app.store.care_entry(id, entry).await?.map(|care| line(&care, frame, id)))
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
        happened: at,
    }
}

fn in_words(body: &Body, frame: &Frame) -> String {
    let Body::Care(care) = body else { return String::new() };
    let mass = care.mass_kg.map(|kilograms| frame.show(kilograms, Dimension::Mass).to_string());
    [Some(care.act.label().to_owned()), mass, care.place.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ")
}
