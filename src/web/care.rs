//! What a page says of the care of a piece of equipment: one line, in words.
//!
//! A template imports `_care.html` and writes `{% call care::line(told) %}`.

use std::fmt;

use super::when::{Clock, Moment};
use crate::brewday::{
    EquipmentRecord,
    care::{CareCondition, CareState},
};

/// The state of one piece, as a page tells it: "Coil 1: stored wet, 12 Oct, batch 14".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CareTold {
    /// What the brewer calls the piece.
    pub name: String,
    /// Its page.
    pub href: String,
    /// Its condition.
    pub condition: CareCondition,
    /// The condition in words, within a sentence.
    pub words: &'static str,
    /// The day it has been so since.
    pub since: Option<Moment>,
    /// The batch that is known from; none for care outside a brew day.
    pub batch: Option<i64>,
    /// Where it is, where it was put away after that.
    pub place: Option<String>,
}

impl CareTold {
    /// The state a piece is in, or was in when a batch was started.
    #[must_use]
    pub fn new(record: &EquipmentRecord, clock: &Clock) -> Self {
        Self::of(record, &record.care, clock)
    }

    /// A piece in a state of its own: as it stands on a brew day under way, say.
    #[must_use]
    pub fn of(record: &EquipmentRecord, care: &CareState, clock: &Clock) -> Self {
        let stored = care.is_stored();
        Self {
            name: record.equipment.name.clone(),
            href: format!("/equipment/{}", record.id),
            condition: care.condition,
            words: words(care.condition, stored),
            since: care.since.map(|at| clock.day(at)),
            batch: care.batch,
            place: care.stored.clone().filter(|_| stored),
        }
    }

    /// The word in the line's class name: what is to be seen at a glance.
    #[must_use]
    pub fn mark(&self) -> &'static str {
        match self.condition {
            CareCondition::CleanDry => "fine",
            CareCondition::CleanWet | CareCondition::RinsedOnly => "wet",
            CareCondition::Dirty => "due",
            CareCondition::NotKnown => "unknown",
        }
    }
}

/// The line without the name and without links: "stored wet, 12 Oct, batch 14".
impl fmt::Display for CareTold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words)?;
        if let Some(place) = &self.place {
            write!(f, " ({place})")?;
        }
        if let Some(since) = &self.since {
            write!(f, ", {since}")?;
        }
        if let Some(batch) = self.batch {
            write!(f, ", batch\u{a0}{batch}")?;
        }
        Ok(())
    }
}

fn words(condition: CareCondition, stored: bool) -> &'static str {
    match (condition, stored) {
        (CareCondition::CleanDry, false) => "clean and dry",
        (CareCondition::CleanDry, true) => "stored clean and dry",
        (CareCondition::CleanWet, false) => "clean, but wet",
        (CareCondition::CleanWet, true) => "stored wet",
        (CareCondition::RinsedOnly, false) => "rinsed, not cleaned",
        (CareCondition::RinsedOnly, true) => "stored rinsed, not cleaned",
        (CareCondition::Dirty, false) => "used, not cleaned since",
        (CareCondition::Dirty, true) => "stored uncleaned",
        (CareCondition::NotKnown, false) => "no care written down yet",
        (CareCondition::NotKnown, true) => "stored, not known whether clean",
    }
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;
    use serde_json::json;
    use time::{OffsetDateTime, macros::datetime};

    use super::*;
    use crate::brewday::Equipment;

    const CLEANED: OffsetDateTime = datetime!(2026-10-12 15:00 UTC);

    fn told(care: CareState) -> CareTold {
        let equipment = Equipment::from_body(&json!({ "name": "Coil 1", "kind": "coil" })).expect("a coil");
        let clock = Clock::at(datetime!(2026-11-07 12:00 UTC), TimeZone::UTC);
        CareTold::new(&EquipmentRecord { id: 3, equipment, care }, &clock)
    }

    #[test]
    fn a_piece_put_away_wet_says_so_with_its_day_and_its_batch() {
        let cleaned = CareState {
            condition: CareCondition::CleanWet,
            since: Some(CLEANED),
            batch: Some(14),
            ..CareState::default()
        };
        assert_eq!(told(cleaned.clone()).to_string(), "clean, but wet, 12\u{a0}Oct, batch\u{a0}14");
        let stored = CareState { stored_at: Some(CLEANED), stored: Some("cellar".into()), ..cleaned.clone() };
        assert_eq!(told(stored).to_string(), "stored wet (cellar), 12\u{a0}Oct, batch\u{a0}14");
        // Put away before: it has been out of its place since.
        let earlier = CareState { stored_at: Some(datetime!(2026-09-01 12:00 UTC)), ..cleaned };
        assert_eq!(told(earlier).words, "clean, but wet");
    }

    #[test]
    fn nothing_written_down_is_not_told_as_clean() {
        let told = told(CareState::default());
        assert_eq!((told.to_string().as_str(), told.mark()), ("no care written down yet", "unknown"));
    }
}
