//! The log as a page tells it: when, what, how much, and what became of it.

mod fields;
mod told;

use std::collections::HashMap;

use time::OffsetDateTime;
use uuid::Uuid;

use super::Frame;
use super::when::Moment;
use crate::brewday::choices::{PhPoint, Place, Stage};
use crate::brewday::day::{Fate, LogLine, Standing, stage_of};
use crate::brewday::{Body, BrewDay, Typed};

pub use fields::{Field, fields};
pub use told::{Told, told};

/// One line of a log on a page.
#[derive(Clone, Debug)]
pub struct LogRow {
    /// The entry's id.
    pub id: Uuid,
    /// When it happened.
    pub at: Moment,
    /// What, and how much.
    pub told: Told,
    /// A remark.
    pub note: Option<String>,
    /// What is odd about it, in sentences.
    pub odd: Vec<String>,
    /// What became of it.
    pub state: RowState,
    /// Where more than one change was made, by whom and when each: two hands may have disagreed.
    pub clash: Option<String>,
    /// Which device wrote it.
    pub device: Option<String>,
    /// Where it can be put right.
    pub href: String,
}

/// What became of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowState {
    /// It stands as written.
    Stands,
    /// It stands as corrected; the words of what was first written.
    Corrected {
        /// What it said before.
        before: String,
        /// The reason that was given.
        why: Option<String>,
    },
    /// It was struck out.
    Struck {
        /// The reason that was given.
        why: Option<String>,
    },
}

impl LogRow {
    /// Whether the line no longer counts.
    #[must_use]
    pub fn is_struck(&self) -> bool {
        matches!(self.state, RowState::Struck { .. })
    }
}

/// The newest lines of a day, newest first; of one stage only where one is named.
///
/// A correction is shown on the line it corrects, not as a line of its own.
#[must_use]
pub fn rows(day: &BrewDay, frame: &Frame, stage: Option<Stage>, most: usize) -> Vec<LogRow> {
    let that_day = frame.on(day.brewed_at());
    let standing: HashMap<Uuid, &Standing> = day.standing.iter().map(|entry| (entry.id, entry)).collect();
    let mut lines: Vec<Line<'_>> = day
        .lines
        .iter()
        .filter(|line| !matches!(line.logged.entry.body, Body::Amendment(_)))
        .map(|line| Line { line, standing: standing.get(&line.logged.entry.id).copied() })
        .filter(|line| stage.is_none_or(|stage| belongs(line.body(), stage)))
        .collect();
    lines.sort_by_key(|line| std::cmp::Reverse((line.at(), line.line.logged.seq)));
    lines.truncate(most);
    lines.iter().map(|line| line.row(day, &that_day)).collect()
}

/// An entry beside what it stands as.
struct Line<'a> {
    line: &'a LogLine,
    standing: Option<&'a Standing>,
}

/// Whether an entry is shown in a stage's log: its own, and what belongs to none.
fn belongs(body: &Body, stage: Stage) -> bool {
    match (body, stage_of(body)) {
        (_, Some(of)) => of == stage,
        (Body::Temperature { place, .. }, None) => match stage {
            Stage::Chill => matches!(place, Place::Wort | Place::Bath | Place::Room),
            Stage::Pitch => matches!(place, Place::Wort | Place::Yeast),
            _ => false,
        },
        (Body::Ph { point, .. }, None) => {
            use PhPoint::{FirstWort, IntoFermenter, Mash, PostBoil, PreBoil, StrikeWater};
            match stage {
                Stage::Mash => matches!(point, StrikeWater | Mash | FirstWort | PreBoil),
                Stage::Boil => *point == PostBoil,
                Stage::Pitch => *point == IntoFermenter,
                _ => false,
            }
        }
        (Body::Check { .. } | Body::Care(_), None) => matches!(stage, Stage::Prepare | Stage::Clean | Stage::Chill),
        (Body::Note, None) => true,
        _ => false,
    }
}

impl<'a> Line<'a> {
    /// When it happened, as it stands.
    fn at(&self) -> OffsetDateTime {
        self.standing.map_or(self.line.logged.entry.at, |standing| standing.at)
    }

    /// What happened, as it stands.
    fn body(&self) -> &'a Body {
        self.standing.map_or(&self.line.logged.entry.body, |standing| &standing.body)
    }

    fn row(&self, day: &BrewDay, frame: &Frame) -> LogRow {
        let entry = &self.line.logged.entry;
        let as_written = told(day, frame, &entry.body, &entry.typed);
        let state = match self.line.fate {
            Fate::Stands | Fate::Overruled(_) => RowState::Stands,
            Fate::Voided(by) => RowState::Struck { why: why(day, by) },
            Fate::Replaced(by) => {
                RowState::Corrected { before: before(frame, entry.at, self.at(), &as_written), why: why(day, by) }
            }
        };
        let corrected = matches!(state, RowState::Corrected { .. });
        LogRow {
            id: entry.id,
            at: frame.clock.short(self.at()),
            told: if corrected { told(day, frame, self.body(), &Typed::new()) } else { as_written },
            note: self.standing.map_or(&entry.note, |standing| &standing.note).clone(),
            odd: self.line.odd.clone(),
            state,
            clash: clash(day, frame, self.line.fate),
            device: self.line.logged.device.clone(),
            href: format!("/batches/{}/entries/{}", day.batch.id, entry.id),
        }
    }
}

/// What a corrected line said before: its value, and its time where that moved.
fn before(frame: &Frame, written_at: OffsetDateTime, now_at: OffsetDateTime, written: &Told) -> String {
    let said = if written.value.is_empty() { &written.what } else { &written.value };
    if written_at == now_at { said.clone() } else { format!("{said}, {}", frame.clock.short(written_at)) }
}

/// Every change of a line in the order they came, where there was more than one.
fn clash(day: &BrewDay, frame: &Frame, fate: Fate) -> Option<String> {
    let (Fate::Voided(last) | Fate::Replaced(last)) = fate else { return None };
    let is_change = |line: &&LogLine| line.fate == Fate::Overruled(last) || line.logged.entry.id == last;
    let changes: Vec<String> = day.lines.iter().filter(is_change).map(|line| change(frame, line)).collect();
    let times = match changes.len() {
        0 | 1 => return None,
        2 => "twice".to_owned(),
        many => format!("{many} times"),
    };
    Some(format!("Changed {times}: {}; the last one counts.", changes.join(", ")))
}

fn change(frame: &Frame, line: &LogLine) -> String {
    let at = frame.clock.short(line.logged.received_at);
    match &line.logged.device {
        Some(device) => format!("at {at} by {device}"),
        None => format!("at {at}"),
    }
}

/// The reason an amendment gave.
fn why(day: &BrewDay, amendment: Uuid) -> Option<String> {
    let line = day.lines.iter().find(|line| line.logged.entry.id == amendment)?;
    match &line.logged.entry.body {
        Body::Amendment(amendment) => amendment.why.clone(),
        _ => None,
    }
}
