//! A log being written: entries by the minute, with ids that come out the same each time.

use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::brewday::entry::{Amendment, Replacement};
use crate::brewday::{Body, Entry};

/// Whatever was written in this house: the root of its entries' ids.
const YARD: Uuid = Uuid::from_u128(0x5a1e_7a4d_0c01_4b0d_9e3f_0d1c_e0f5_1a7e);

/// Writes down what happens, in minutes from a moment of the day.
#[derive(Debug)]
pub(super) struct Pen {
    zero: OffsetDateTime,
    space: Uuid,
    entries: Vec<Entry>,
}

impl Pen {
    /// A pen for a log of its own. The same zero and the same name give the same ids.
    pub(super) fn new(zero: OffsetDateTime, log: &str) -> Self {
        let name = format!("{log} {}", zero.unix_timestamp());
        Self { zero, space: Uuid::new_v5(&YARD, name.as_bytes()), entries: Vec::new() }
    }

    /// Writes an entry and gives its id.
    pub(super) fn write(&mut self, minute: f64, body: Body) -> Uuid {
        self.add(minute, body, None)
    }

    /// Writes an entry with a remark and gives its id.
    pub(super) fn noted(&mut self, minute: f64, body: Body, note: &str) -> Uuid {
        self.add(minute, body, Some(note.to_owned()))
    }

    /// Puts another body in an entry's place.
    pub(super) fn amend(&mut self, minute: f64, of: Uuid, body: Body, why: &str) {
        let replacement = Replacement { at: None, body, note: None };
        let why = Some(why.to_owned());
        self.write(
            minute,
            Body::Amendment(Amendment { of, replacement: Some(Box::new(replacement)), void: false, why }),
        );
    }

    /// Strikes an entry out.
    pub(super) fn strike_out(&mut self, minute: f64, of: Uuid, why: &str) {
        let why = Some(why.to_owned());
        self.write(minute, Body::Amendment(Amendment { of, replacement: None, void: true, why }));
    }

    /// The log, in the order it was written on the day.
    pub(super) fn finish(mut self) -> Vec<Entry> {
        self.entries.sort_by_key(|entry| entry.at);
        self.entries
    }

    fn add(&mut self, minute: f64, body: Body, note: Option<String>) -> Uuid {
        let number = self.entries.len().to_string();
        let id = Uuid::new_v5(&self.space, number.as_bytes());
        let at = self.zero + Duration::seconds_f64((minute * 60.0).round());
        self.entries.push(Entry { id, at, body, note, typed: Default::default() });
        id
    }
}
