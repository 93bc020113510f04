//! One entry more, without reading the whole log again.
//!
//! A probe sends readings by the thousand, in order, and each changes nothing
//! that was there before it: such a reading is put at the end. An event of the
//! day in its order may make earlier events odd, so those are looked at again; a
//! day has some dozens. Only an amendment, or what comes out of order, is folded
//! in with the whole log.

use super::{BrewDay, Fate, LogLine, amend, odd};
use crate::brewday::{Body, LoggedEntry};

impl BrewDay {
    /// Adds an entry that was just received: the day is then what
    /// [`BrewDay::fold`] makes of the log with that entry in it.
    pub fn grow(&mut self, logged: LoggedEntry) {
        self.worked_out.outdated();
        if !self.is_next(&logged) {
            let before = std::mem::take(&mut self.lines).into_iter().map(|line| line.logged);
            return self.read(before.chain([logged]).collect());
        }
        self.standing.push(amend::as_written(&logged));
        let is_reading = matches!(logged.entry.body, Body::Temperature { .. });
        let odd = if is_reading { odd::so_far(&self.standing).into_iter().collect() } else { Vec::new() };
        self.lines.push(LogLine { logged, fate: Fate::Stands, odd });
        if !is_reading {
            self.events.push(self.standing.len() - 1);
            odd::mark_events(self);
        }
    }

    /// Whether an entry is later than all there are, and amends none of them.
    fn is_next(&self, LoggedEntry { seq, entry, .. }: &LoggedEntry) -> bool {
        !matches!(entry.body, Body::Amendment(_))
            && self.lines.last().is_none_or(|last| last.logged.seq < *seq)
            && self.standing.last().is_none_or(|last| (last.at, last.seq) < (entry.at, *seq))
    }
}
