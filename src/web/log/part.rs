//! A long log, a part at a time: a probe leaves thousands of lines in a day.

use std::collections::HashSet;

use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::ticks::care_by_ticks;
use super::{Line, LogRow, newest_first, tell_devices_once, whole_rows};
use crate::brewday::choices::{Choice, Stage};
use crate::brewday::{Body, BrewDay};
use crate::web::Frame;

/// The most lines of one part: a day written by hand is one part.
const LINES: usize = 100;
/// What is called what comes after the batch was closed.
const AFTERWARDS: &str = "Afterwards";

/// Which part an address asks for: the newest, unless it says otherwise.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// `all`, or the number of a part, counted from 1 at the newest.
    log: String,
    /// An entry that has to be in it.
    entry: Option<Uuid>,
}

/// The lines of one stage of the day, the newest first.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// The stage under way: "Chill".
    pub label: &'static str,
    /// From when to when: "10:09 to 10:54".
    pub span: String,
    /// The lines.
    pub rows: Vec<LogRow>,
    /// Whether it is unfolded: what goes on now, and what was asked for.
    pub is_open: bool,
}

/// A part of a log, the newest line first.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its lines, stage by stage.
    pub stretches: Vec<Stretch>,
    shown: usize,
    batch: i64,
    skipped: usize,
    total: usize,
}

impl Part {
    /// The part of a day's log that is asked for.
    #[must_use]
    pub fn of(day: &BrewDay, frame: &Frame, asked: &Asked) -> Self {
        let that_day = frame.on(day.brewed_at());
        let by_ticks: HashSet<Uuid> = care_by_ticks(day).collect();
        // A tick tells the care it wrote, unless somebody asks for just that.
        let is_told = |line: &Line<'_>| Some(line.id()) == asked.entry || !by_ticks.contains(&line.id());
        let told = || newest_first(day).filter(|line| is_told(line) || !line.is_plain());
        let wanted = asked.entry.and_then(|id| told().position(|line| line.id() == id));
        let number = wanted.map_or_else(|| asked.log.parse().unwrap_or(1), |line| line / LINES + 1);
        let (skipped, most) =
            if asked.log == "all" { (0, usize::MAX) } else { (number.saturating_sub(1).saturating_mul(LINES), LINES) };
        let lines: Vec<_> = told().skip(skipped).take(most).collect();
        let mut stretches = stretches(day, &that_day, &lines);
        let goes_on = skipped == 0 && day.state().in_progress();
        for (index, stretch) in stretches.iter_mut().enumerate() {
            stretch.is_open = goes_on && index == 0 || stretch.rows.iter().any(|row| Some(row.id) == asked.entry);
        }
        // Nothing is hidden behind a single fold.
        if let [only] = stretches.as_mut_slice() {
            only.is_open = true;
        }
        let total = told().count();
        Self { stretches, shown: lines.len(), batch: day.batch.id, skipped, total }
    }

    /// Whether there is more of the log than this.
    #[must_use]
    pub fn is_a_part(&self) -> bool {
        self.shown < self.total
    }

    /// Which lines these are: "101 to 200 of 2031".
    #[must_use]
    pub fn span(&self) -> String {
        format!("{} to {} of {}", self.skipped + 1, self.skipped + self.shown, self.total)
    }

    /// Where the part before it is, which is newer.
    #[must_use]
    pub fn newer(&self) -> Option<String> {
        (self.skipped > 0).then(|| self.href(self.skipped / LINES))
    }

    /// Where the part after it is, which is older.
    #[must_use]
    pub fn older(&self) -> Option<String> {
        (self.skipped + self.shown < self.total).then(|| self.href(self.skipped / LINES + 2))
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

/// The lines by the stage that was under way.
fn stretches(day: &BrewDay, that_day: &Frame, lines: &[Line<'_>]) -> Vec<Stretch> {
    let said = |body: Body| day.standing.iter().find(|entry| entry.body == body).map(|entry| entry.at);
    let starts: Vec<_> = Stage::ALL
        .iter()
        .filter_map(|stage| Some((said(Body::StageStarted { stage: *stage })?, stage.label())))
        .chain(said(Body::StageFinished { stage: Stage::Clean }).map(|at| (at, AFTERWARDS)))
        .collect();
    let label = |line: &Line<'_>| {
        let is_past = |(start, label): &&(OffsetDateTime, &str)| {
            // What closes the day belongs to it.
            if *label == AFTERWARDS { *start < line.at() } else { *start <= line.at() }
        };
        starts.iter().rfind(is_past).map_or("The day", |(_, label)| *label)
    };
    // Each stretch is read by itself, so each tells its devices.
    let mut rows = whole_rows(day, that_day, lines).into_iter();
    let one = |of: &[Line<'_>]| {
        let mut rows: Vec<LogRow> = rows.by_ref().take(of.len()).collect();
        tell_devices_once(&mut rows);
        let (first, last) = (rows.last().map(|row| &row.at.text), rows.first().map(|row| &row.at.text));
        let span = first.zip(last).map(|(first, last)| span(first, last)).unwrap_or_default();
        Stretch { label: of.first().map_or("", label), span, rows, is_open: false }
    };
    lines.chunk_by(|one, other| label(one) == label(other)).map(one).collect()
}

/// "10:09 to 10:54"; a date that both have is told once.
fn span(first: &str, last: &str) -> String {
    let date = |text: &str| text.rfind(", ").map_or(0, |end| end + 2);
    match (first, last) {
        _ if first == last => first.to_owned(),
        _ if first[..date(first)] == last[..date(last)] => format!("{first} to {}", &last[date(last)..]),
        _ => format!("{first} to {last}"),
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

    fn ids(part: &Part) -> Vec<Uuid> {
        part.stretches.iter().flat_map(|stretch| &stretch.rows).map(|row| row.id).collect()
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
        let all = ids(&part(&day, "all", None));
        assert_eq!((all.len(), all[239]), (240, first));
        assert_eq!(all[240 - 42], struck, "it stands where it happened, before the one that came late");
        let parts = ["1", "2", "3"].map(|number| part(&day, number, None));
        assert_eq!(parts.iter().flat_map(ids).collect::<Vec<_>>(), all);
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
        assert!(part(&day, "18446744073709551615", None).stretches.is_empty());
    }

    #[test]
    fn a_date_that_both_ends_have_is_told_once() {
        assert_eq!(span("10:09", "10:54"), "10:09 to 10:54");
        assert_eq!(span("23:50", "23:50"), "23:50");
        assert_eq!(span("21 November, 13:20", "21 November, 13:22"), "21 November, 13:20 to 13:22");
        assert_eq!(span("23:50", "22 November, 00:04"), "23:50 to 22 November, 00:04");
    }

    #[test]
    fn a_log_is_told_stage_by_stage_and_what_goes_on_or_was_asked_for_is_unfolded() {
        let mut day = Day::new();
        let early = day.at(-5.0, json!({"kind": "note", "note": "frost on the yard"}));
        day.at(0.0, json!({"kind": "stage_started", "stage": "mash"}));
        day.at(1.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 66}));
        day.at(70.0, json!({"kind": "stage_started", "stage": "boil"}));
        let told = |day: &Day, entry| {
            let part = part(day, "", entry);
            part.stretches.iter().map(|one| (one.label, one.rows.len(), one.is_open)).collect::<Vec<_>>()
        };
        assert_eq!(told(&day, None), [("Boil", 1, true), ("Mash", 2, false), ("The day", 1, false)]);
        assert_eq!(told(&day, Some(early)), [("Boil", 1, true), ("Mash", 2, false), ("The day", 1, true)]);
        day.at(90.0, json!({"kind": "stage_finished", "stage": "clean"}));
        day.at(9000.0, json!({"kind": "note", "note": "clear and dry"}));
        assert_eq!(told(&day, None)[..2], [("Afterwards", 1, false), ("Boil", 2, false)]);
    }
}
