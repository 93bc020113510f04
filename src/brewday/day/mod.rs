//! The fold: from a batch and its log to the day as it stands.
//!
//! The log keeps everything; what *counts* is worked out here, each time the
//! same way: [`amend`] applies corrections, the standing entries are put in
//! the order they happened, [`odd`] marks what is possible but strange.
//! Everything else about the day is a question asked of [`BrewDay`].

mod amend;
mod chill;
mod chilled;
mod consequences;
mod grow;
mod odd;
mod progress;
mod readings;
mod uses;

use time::OffsetDateTime;
use uuid::Uuid;

use super::{Batch, Body, Fault, LoggedEntry};

pub use chill::{ChillEvent, CoolingStage};
pub use chilled::Chilled;
pub use progress::{BatchState, StageState, stage_of};
pub use readings::{Check, Flush, GravityReading, Reading, VolumeReading};

/// A batch with its log read through: corrections applied, the order of events
/// restored, odd entries marked.
#[derive(Clone, Debug, PartialEq)]
pub struct BrewDay {
    /// The batch.
    pub batch: Batch,
    /// Every entry ever made, in the order of the book, with what became of it.
    pub lines: Vec<LogLine>,
    /// What stands, in the order it happened.
    pub standing: Vec<Standing>,
    /// Where in `standing` the events of the day are: all but thermometer
    /// readings. A probe leaves thousands of those, and few questions are about them.
    events: Vec<usize>,
    worked_out: chilled::WorkedOut,
}

/// An entry and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct LogLine {
    /// The entry as it was received.
    pub logged: LoggedEntry,
    /// What became of it.
    pub fate: Fate,
    /// What is odd about it, in sentences.
    pub odd: Vec<String>,
}

/// What became of an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It stands as it was written.
    Stands,
    /// It was replaced by the amendment with this id.
    Replaced(Uuid),
    /// It was struck out by the amendment with this id.
    Voided(Uuid),
    /// It is an amendment, and a later one of the same entry overrules it.
    Overruled(Uuid),
}

/// An entry that counts: as written, or as amended.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The id of the entry as first written.
    pub id: Uuid,
    /// The id of the amendment it stands as, where it was amended.
    pub amended_by: Option<Uuid>,
    /// When it happened.
    pub at: OffsetDateTime,
    /// What happened.
    pub body: Body,
    /// A remark.
    pub note: Option<String>,
    /// Its place in the book.
    pub seq: i64,
}

/// What stands of a log outside any batch, in the order it happened.
#[must_use]
pub fn standing(log: Vec<LoggedEntry>) -> Vec<Standing> {
    amend::apply(log).1
}

impl BrewDay {
    /// Reads the log through.
    #[must_use]
    pub fn fold(batch: Batch, log: Vec<LoggedEntry>) -> Self {
        let mut day =
            Self { batch, lines: Vec::new(), standing: Vec::new(), events: Vec::new(), worked_out: Default::default() };
        day.read(log);
        day
    }

    fn read(&mut self, log: Vec<LoggedEntry>) {
        (self.lines, self.standing) = amend::apply(log);
        let is_event = |index: &usize| !matches!(self.standing[*index].body, Body::Temperature { .. });
        self.events = (0..self.standing.len()).filter(is_event).collect();
        odd::mark(self);
    }

    /// What stands and is no thermometer reading, in the order it happened.
    pub fn events(&self) -> impl DoubleEndedIterator<Item = &Standing> {
        self.events.iter().map(|index| &self.standing[*index])
    }

    /// The last entry of the book this day knows.
    #[must_use]
    pub fn seq(&self) -> i64 {
        self.lines.last().map_or(0, |line| line.logged.seq)
    }

    /// The entry a correction is about in the end, itself where it is none.
    #[must_use]
    pub fn root_of(&self, id: Uuid) -> Uuid {
        let mut root = id;
        // Each is about an earlier one, so this ends.
        for line in self.lines.iter().rev() {
            if let Body::Amendment(amendment) = &line.logged.entry.body
                && line.logged.entry.id == root
            {
                root = amendment.of;
            }
        }
        root
    }

    /// The line at this place in the book.
    #[must_use]
    pub fn line(&self, seq: i64) -> Option<&LogLine> {
        self.lines.binary_search_by_key(&seq, |line| line.logged.seq).ok().map(|index| &self.lines[index])
    }

    /// Why an entry can't be taken into this day's log, where it can't.
    ///
    /// # Errors
    /// A refractometer reading of a pitched wort; an amendment of an entry that isn't here.
    pub fn refuses(&self, entry: &super::Entry) -> Result<(), Fault> {
        consequences::refuses(self, entry)
    }

    /// Entries that follow from an entry by themselves: the care events of a
    /// check item tied to equipment, and their undoing when the check is undone.
    #[must_use]
    pub fn follow_ups(&self, entry: &super::Entry) -> Vec<super::Entry> {
        consequences::follow_ups(self, entry)
    }
}

#[cfg(test)]
mod tests;
