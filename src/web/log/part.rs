//! A long log, a part at a time: a probe leaves thousands of lines in a day.

use serde::Deserialize;
use uuid::Uuid;

use super::{LogRow, newest_first, told_rows};
use crate::brewday::BrewDay;
use crate::web::Frame;

/// The most lines of one part: a day written by hand is one part.
const LINES: usize = 100;

/// Which part an address asks for: the newest, unless it says otherwise.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// `all`, or the number of a part, counted from 1 at the newest.
    log: String,
    /// An entry that has to be in it.
    entry: Option<Uuid>,
}

/// A part of a log, the newest line first.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its lines.
    pub rows: Vec<LogRow>,
    batch: i64,
    skipped: usize,
    total: usize,
}

impl Part {
    /// The part of a day's log that is asked for.
    #[must_use]
    pub fn of(day: &BrewDay, frame: &Frame, asked: &Asked) -> Self {
        let that_day = frame.on(day.brewed_at());
        let wanted = asked.entry.and_then(|id| newest_first(day).position(|line| line.line.logged.entry.id == id));
        let number = wanted.map_or_else(|| asked.log.parse().unwrap_or(1), |line| line / LINES + 1);
        let (skipped, most) =
            if asked.log == "all" { (0, usize::MAX) } else { (number.saturating_sub(1).saturating_mul(LINES), LINES) };
        let lines: Vec<_> = newest_first(day).skip(skipped).take(most).collect();
        Self { rows: told_rows(day, &that_day, &lines), batch: day.batch.id, skipped, total: newest_first(day).count() }
    }

    /// Whether there is more of the log than this.
    #[must_use]
    pub fn is_a_part(&self) -> bool {
        self.rows.len() < self.total
    }

    /// Which lines these are: "101 to 200 of 2031".
    #[must_use]
    pub fn span(&self) -> String {
        format!("{} to {} of {}", self.skipped + 1, self.skipped + self.rows.len(), self.total)
    }

    /// Where the part before it is, which is newer.
    #[must_use]
    pub fn newer(&self) -> Option<String> {
        (self.skipped > 0).then(|| self.href(self.skipped / LINES))
    }

    /// Where the part after it is, which is older.
    #[must_use]
    pub fn older(&self) -> Option<String> {
        (self.skipped + self.rows.len() < self.total).then(|| self.href(self.skipped / LINES + 2))
    }

    /// Where all of it is.
    #[must_use]
    pub fn all(&self) -> String {
        format!("/batches/{}?log=all#log", self.batch)
    }

    fn href(&self, number: usize) -> String {
        format!("/batches/{}?log={number}#log", self.batch)
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::testing::Day;
    use crate::web::page::Light;

    fn part(day: &Day, log: &str, entry: Option<Uuid>) -> Part {
        Part::of(&day.fold(), &Frame::bare(Light::Device), &Asked { log: log.into(), entry })
    }

    #[test]
    fn a_long_log_comes_in_parts_that_together_are_all_of_it() {
        let mut day = Day::new();
        let reading = |day: &mut Day, minute: f64| {
            day.at(minute, json!({"kind": "temperature", "place": "wort", "temperature_c": 60}))
        };
        let first = reading(&mut day, 0.0);
        // One out of order, one struck out, one corrected: each stays in its place.
        for minute in 1..240 {
            reading(&mut day, f64::from(if minute == 70 { 5 } else { minute }));
        }
        let struck = day.log[40].entry.id;
        day.at(200.0, json!({"kind": "amendment", "of": struck, "void": true}));
        let all: Vec<Uuid> = part(&day, "all", None).rows.iter().map(|row| row.id).collect();
        assert_eq!((all.len(), all[239]), (240, first));
        assert_eq!(all[240 - 42], struck, "it stands where it happened, before the one that came late");
        let parts = ["1", "2", "3"].map(|number| part(&day, number, None));
        assert_eq!(parts.iter().flat_map(|part| part.rows.iter().map(|row| row.id)).collect::<Vec<_>>(), all);
        assert_eq!(parts[1].span(), "101 to 200 of 240");
        assert_eq!((parts[0].newer(), parts[2].older()), (None, None));
        assert_eq!(parts[1].older().as_deref(), Some("/batches/1?log=3#log"));
    }

    #[test]
    fn the_part_that_holds_an_entry_is_found_and_a_number_that_makes_no_sense_is_harmless() {
        let mut day = Day::new();
        let first = day.at(0.0, json!({"kind": "flame_out"}));
        for minute in 1..130 {
            day.at(f64::from(minute), json!({"kind": "temperature", "place": "wort", "temperature_c": 60}));
        }
        assert_eq!(part(&day, "", Some(first)).span(), "101 to 130 of 130");
        assert_eq!(part(&day, "-4", None).span(), "1 to 100 of 130");
        assert!(part(&day, "18446744073709551615", None).rows.is_empty());
    }
}
