//! One entry more, without reading the whole log again.
//!
//! A probe sends readings by the thousand, in order, and each changes nothing
//! that was there before it: such a reading is put at the end. Anything else (an
//! amendment, an entry out of order, an event of the day) comes a few dozen
//! times and is folded in with the whole log.

use super::{BrewDay, Fate, LogLine, amend, odd};
use crate::brewday::{Body, LoggedEntry};

impl BrewDay {
    /// Adds an entry that was just received: the day is then what
    /// [`BrewDay::fold`] makes of the log with that entry in it.
    pub fn grow(&mut self, logged: LoggedEntry) {
        let line = LogLine { logged, fate: Fate::Stands, odd: Vec::new() };
        if self.is_next_reading(&line) {
            self.standing.push(amend::as_written(&line.logged));
            self.lines.push(LogLine { odd: odd::so_far(&self.standing).into_iter().collect(), ..line });
        } else {
            self.lines.push(line);
            let log = std::mem::take(&mut self.lines).into_iter().map(|line| line.logged);
            (self.lines, self.standing) = amend::apply(log.collect());
            odd::mark(self);
        }
    }

    /// Whether a line is a thermometer reading later than all that stands.
    fn is_next_reading(&self, line: &LogLine) -> bool {
        let LoggedEntry { seq, entry, .. } = &line.logged;
        matches!(entry.body, Body::Temperature { .. })
            && self.lines.last().is_none_or(|last| last.logged.seq < *seq)
            && self.standing.last().is_none_or(|last| (last.at, last.seq) < (entry.at, *seq))
    }
}
