//! The fold: from a batch and its log to the day as it stands.
//!
//! The log keeps everything; what *counts* is worked out here, each time the
//! same way: [`amend`] applies corrections, the standing entries are put in
//! the order they happened, [`odd`] marks what is possible but strange.
//! Everything else about the day is a question asked of [`BrewDay`].

mod amend;
mod chill;
mod consequences;
mod grow;
mod odd;
mod progress;
mod uses;

use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::choices::{EquipmentKind, GravityPoint, Instrument, Outcome, Place, VolumePoint};
use super::entry::Pitched;
use super::{Batch, Body, Fault, LoggedEntry};

pub use chill::{ChillEvent, CoolingStage};
pub use progress::{BatchState, StageState, stage_of};

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

/// A thermometer reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The entry it comes from.
    pub id: Uuid,
    /// When it was read.
    pub at: OffsetDateTime,
    /// How warm it was: what the thermometer showed, corrected.
    pub temperature_c: f64,
    /// What the thermometer showed.
    pub shown_c: f64,
}

/// A volume reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeReading {
    /// The entry it comes from.
    pub id: Uuid,
    /// What was read.
    pub volume_l: f64,
    /// How hot the liquid was, corrected.
    pub temperature_c: f64,
}

/// A gravity reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GravityReading {
    /// The entry it comes from.
    pub id: Uuid,
    /// When it was read.
    pub at: OffsetDateTime,
    /// What it was read with.
    pub instrument: Instrument,
    /// SG or °Bx.
    pub reading: f64,
    /// How warm the sample was, corrected.
    pub temperature_c: f64,
}

/// A hot flush of the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flush {
    /// When hot wort began to run through.
    pub started: Option<OffsetDateTime>,
    /// When it stopped; `None` while it runs.
    pub finished: Option<OffsetDateTime>,
    /// The lowest temperature noted for it, corrected.
    pub temperature_c: Option<f64>,
}

impl Flush {
    /// How long it ran, where both ends are known.
    #[must_use]
    pub fn length(&self) -> Option<Duration> {
        Some(self.finished? - self.started?)
    }
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
        let mut day = Self { batch, lines: Vec::new(), standing: Vec::new(), events: Vec::new() };
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

    /// How warm it is where the day's thermometer shows this: less its offset,
    /// where that is known.
    #[must_use]
    pub fn true_c(&self, shown_c: f64) -> f64 {
        shown_c - self.batch.offset(EquipmentKind::Thermometer)
    }

    /// Every standing reading at a place, in order of time.
    pub fn temperatures(&self, wanted: Place) -> impl DoubleEndedIterator<Item = Reading> + '_ {
        self.standing.iter().filter_map(move |entry| match entry.body {
            Body::Temperature { place, temperature_c } if place == wanted => {
                let shown_c = temperature_c;
                Some(Reading { id: entry.id, at: entry.at, temperature_c: self.true_c(shown_c), shown_c })
            }
            _ => None,
        })
    }

    /// The latest volume read at a point.
    #[must_use]
    pub fn volume(&self, wanted: VolumePoint) -> Option<VolumeReading> {
        self.latest(|entry| match entry.body {
            Body::Volume { point, volume_l, temperature_c } if point == wanted => {
                Some(VolumeReading { id: entry.id, volume_l, temperature_c: self.true_c(temperature_c) })
            }
            _ => None,
        })
    }

    /// The latest gravity read at a point. A refractometer reading of a wort
    /// that turns out to have been pitched before it is passed over.
    #[must_use]
    pub fn gravity(&self, wanted: GravityPoint) -> Option<GravityReading> {
        let pitched_at = self.pitched().map(|(at, _)| at);
        self.latest(|entry| match entry.body {
            Body::Gravity { point, instrument, reading, temperature_c } if point == wanted => {
                let fermenting = pitched_at.is_some_and(|pitched| entry.at >= pitched);
                let bent = instrument == Instrument::Refractometer && fermenting;
                let temperature_c = self.true_c(temperature_c);
                (!bent).then_some(GravityReading { id: entry.id, at: entry.at, instrument, reading, temperature_c })
            }
            _ => None,
        })
    }

    /// When the boil began.
    #[must_use]
    pub fn boil_started(&self) -> Option<OffsetDateTime> {
        self.latest(|entry| (entry.body == Body::BoilStarted).then_some(entry.at))
    }

    /// When the flame went out.
    #[must_use]
    pub fn flame_out(&self) -> Option<OffsetDateTime> {
        self.latest(|entry| (entry.body == Body::FlameOut).then_some(entry.at))
    }

    /// When the yeast went in, and what was noted of it: temperatures as shown.
    #[must_use]
    pub fn pitched(&self) -> Option<(OffsetDateTime, &Pitched)> {
        self.latest(|entry| match &entry.body {
            Body::Pitched(pitched) => Some((entry.at, pitched)),
            _ => None,
        })
    }

    /// Litres of wort pushed out of the coil, all drainings together.
    #[must_use]
    pub fn recovered_l(&self) -> Option<f64> {
        self.events().fold(None, |sum, entry| match entry.body {
            Body::CoilDrained { recovered_l } => Some(sum.unwrap_or(0.0) + recovered_l),
            _ => sum,
        })
    }

    /// The last hot flush of the coil.
    #[must_use]
    pub fn flush(&self) -> Option<Flush> {
        let mut flush = None;
        let corrected = |shown_c: Option<f64>| shown_c.map(|shown_c| self.true_c(shown_c));
        for entry in self.events() {
            flush = match (entry.body.clone(), flush) {
                (Body::FlushStarted { temperature_c }, _) => {
                    Some(Flush { started: Some(entry.at), finished: None, temperature_c: corrected(temperature_c) })
                }
                (Body::FlushFinished { temperature_c }, before) => {
                    let before = before.filter(|flush: &Flush| flush.finished.is_none());
                    Some(Flush {
                        started: before.and_then(|flush| flush.started),
                        finished: Some(entry.at),
                        temperature_c: coldest(before.and_then(|flush| flush.temperature_c), corrected(temperature_c)),
                    })
                }
                (_, flush) => flush,
            };
        }
        flush
    }

    /// What became of a check-list item, by the latest entry about it.
    #[must_use]
    pub fn check(&self, key: &str) -> Option<(OffsetDateTime, Outcome, Option<&str>)> {
        self.latest(|entry| match &entry.body {
            Body::Check { item, outcome, why } if item == key => Some((entry.at, *outcome, why.as_deref())),
            _ => None,
        })
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

    /// The latest event for which `pick` has an answer.
    fn latest<'a, T>(&'a self, pick: impl FnMut(&'a Standing) -> Option<T>) -> Option<T> {
        self.events().rev().find_map(pick)
    }
}

fn coldest(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::Entry;
    use crate::brewday::testing::Day;

    fn wort_readings(day: &Day) -> Vec<f64> {
        day.fold().temperatures(Place::Wort).map(|reading| reading.temperature_c).collect()
    }

    #[test]
    fn entries_stand_in_the_order_they_happened_not_the_order_they_came() {
        let mut day = Day::new();
        day.at(20.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
        day.at(10.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 60}));
        assert_eq!(wort_readings(&day), [60.0, 40.0]);
    }

    #[test]
    fn the_later_of_two_amendments_counts_and_the_earlier_stays_readable() {
        let mut day = Day::new();
        let first = day.at(1.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
        let amend = |celsius: f64| {
            json!({"kind": "amendment", "of": first.to_string(), "why": "misread",
                "replacement": {"kind": "temperature", "place": "wort", "temperature_c": celsius}})
        };
        let one = day.at(2.0, amend(41.0));
        let two = day.at(3.0, amend(42.0));
        assert_eq!(wort_readings(&day), [42.0]);
        let fates: Vec<Fate> = day.fold().lines.iter().map(|line| line.fate).collect();
        assert_eq!(fates, [Fate::Replaced(two), Fate::Overruled(two), Fate::Stands]);
        let undo = day.at(4.0, json!({"kind": "amendment", "of": two.to_string(), "void": true}));
        assert_eq!(wort_readings(&day), [41.0], "striking out the later brings back the earlier");
        let fates: Vec<Fate> = day.fold().lines.iter().map(|line| line.fate).collect();
        assert_eq!(fates, [Fate::Replaced(one), Fate::Stands, Fate::Voided(undo), Fate::Stands]);
    }

    #[test]
    fn a_voided_entry_counts_no_more_and_can_be_brought_back() {
        let mut day = Day::new();
        let first = day.at(1.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
        let void = day.at(2.0, json!({"kind": "amendment", "of": first.to_string(), "void": true}));
        assert!(wort_readings(&day).is_empty());
        day.at(3.0, json!({"kind": "amendment", "of": void.to_string(), "void": true}));
        assert_eq!(wort_readings(&day), [40.0]);
    }

    #[test]
    fn an_amendment_can_move_an_entry_in_time() {
        let mut day = Day::new();
        let first = day.at(30.0, json!({"kind": "flame_out"}));
        day.at(
            31.0,
            json!({"kind": "amendment", "of": first.to_string(),
            "replacement": {"kind": "flame_out", "at": "2026-03-07T09:10:00Z"}}),
        );
        assert_eq!(day.fold().flame_out(), Some(crate::brewday::testing::MORNING + Duration::minutes(10)));
    }

    #[test]
    fn a_refractometer_is_refused_once_the_yeast_is_in() {
        let mut day = Day::ordinary();
        let late = json!({"kind": "gravity", "point": "into_fermenter", "instrument": "refractometer",
            "reading": 6, "temperature_c": 20});
        day.at(300.0, late);
        let entry = day.log.pop().expect("just written").entry;
        let fault = day.fold().refuses(&entry).expect_err("there is yeast in it");
        assert_eq!(fault.field, "instrument");
        let before = Entry { at: entry.at - Duration::hours(4), ..entry };
        assert!(day.fold().refuses(&before).is_ok(), "read before the pitch, entered after");
    }

    #[test]
    fn a_tick_on_the_list_cleans_the_coil_and_taking_it_back_undoes_that() {
        let mut day = Day::new();
        let check = day.at(1.0, json!({"kind": "check", "item": "coil_cleaned", "outcome": "done"}));
        let entry = day.log.last().expect("just written").entry.clone();
        let care = day.fold().follow_ups(&entry);
        assert!(matches!(&care[..], [Entry { body: Body::Care(care), .. }] if care.equipment == 1));
        assert_eq!(care, day.fold().follow_ups(&entry), "the same ids each time");
        day.log.push(LoggedEntry { seq: 2, received_at: entry.at, device: None, entry: care[0].clone() });
        assert!(day.fold().care(&day.batch.equipment[0], None).is_clean());
        day.at(3.0, json!({"kind": "amendment", "of": check.to_string(), "void": true}));
        let undone = day.fold().follow_ups(&day.log.last().expect("just written").entry.clone());
        assert!(matches!(&undone[..], [Entry { body: Body::Amendment(amendment), .. }] if amendment.of == care[0].id));
    }

    #[test]
    fn a_stage_ends_where_the_next_begins_and_ice_belongs_to_the_bath_it_went_into() {
        let mut day = Day::new();
        day.at(0.0, json!({"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12}));
        day.at(
            10.0,
            json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 6, "water_c": 12, "ice_kg": 2}),
        );
        day.at(15.0, json!({"kind": "ice_added", "ice_kg": 1.2}));
        day.at(30.0, json!({"kind": "coil_drained", "recovered_l": 0.9}));
        let stages = day.fold().cooling_stages();
        assert_eq!(stages.len(), 2);
        assert_eq!(stages[0].ended, Some(stages[1].started));
        assert!((stages[1].ice_kg() - 3.2).abs() < 1e-9);
        assert!(stages[1].ended.is_some());
    }

    #[test]
    fn odd_values_are_kept_and_marked() {
        let mut day = Day::new();
        day.at(1.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 20}));
        let day = day.fold();
        assert_eq!(day.standing.len(), 1);
        assert_eq!(day.lines[0].odd.len(), 1);
    }
}
