//! The fold: from a batch and its log to the day as it stands.

use time::OffsetDateTime;

use super::choices::{Choice, Stage};
use super::{Batch, Body, Entry, LoggedEntry};

/// A batch with its log read through: amendments applied, order of events
/// restored, odd entries marked.
#[derive(Clone, Debug)]
pub struct BrewDay {
    /// The batch.
    pub batch: Batch,
    /// Every entry ever made, in the order they were received, each with what became of it.
    pub lines: Vec<LogLine>,
    /// What stands, in the order it happened.
    pub standing: Vec<Standing>,
}

/// An entry and what became of it.
#[derive(Clone, Debug)]
pub struct LogLine {
    /// The entry as it was received.
    pub logged: LoggedEntry,
    /// What became of it.
    pub fate: Fate,
    /// What is odd about it, in sentences.
    pub odd: Vec<String>,
}

/// What became of an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// It stands as it was written.
    Stands,
    /// It was replaced by the amendment with this id.
    Replaced(uuid::Uuid),
    /// It was struck out by the amendment with this id.
    Voided(uuid::Uuid),
    /// It is an amendment that a later one overrules.
    Overruled(uuid::Uuid),
}

/// An entry that counts: as written, or as amended.
#[derive(Clone, Debug)]
pub struct Standing {
    /// The id of the entry as first written.
    pub id: uuid::Uuid,
    /// The id of the amendment it now stands as, where it was amended.
    pub amended_by: Option<uuid::Uuid>,
    /// When it happened.
    pub at: OffsetDateTime,
    /// What happened.
    pub body: Body,
    /// A remark.
    pub note: Option<String>,
    /// Its place in the book.
    pub seq: i64,
}

/// How far a stage has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageState {
    /// Nothing of it has happened.
    Ahead,
    /// It is under way.
    Underway,
    /// It was finished.
    Finished,
}

impl BrewDay {
    /// Reads the log through.
    #[must_use]
    pub fn fold(batch: Batch, log: Vec<LoggedEntry>) -> Self {
        let _ = (log, Stage::ALL);
        Self { batch, lines: Vec::new(), standing: Vec::new() }
    }

    /// How far a stage has come: started or finished by its own entries, else by what was logged on it.
    #[must_use]
    pub fn stage(&self, _stage: Stage) -> StageState {
        StageState::Ahead
    }

    /// Why an entry can't be taken into this day's log, where it can't.
    ///
    /// # Errors
    /// A refractometer reading of a pitched wort; an amendment of an entry that isn't here.
    pub fn refuses(&self, _entry: &Entry) -> Result<(), super::Fault> {
        Ok(())
    }

    /// Entries that follow from an entry by themselves: the care event of a check item tied to equipment.
    #[must_use]
    pub fn follow_ups(&self, _entry: &Entry) -> Vec<Entry> {
        Vec::new()
    }
}
