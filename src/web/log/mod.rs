//! The log as a page tells it: when, what, how much, and what became of it.

mod fields;
mod moved;
mod part;
mod ticks;
mod told;

use std::collections::{HashMap, HashSet};

use time::OffsetDateTime;
use uuid::Uuid;

use super::Frame;
use super::when::Moment;
use crate::brewday::changes::Arrival;
use crate::brewday::choices::{PhPoint, Place, Stage};
use crate::brewday::day::{Fate, LogLine, Standing, stage_of};
use crate::brewday::entry::Amendment;
use crate::brewday::{Body, BrewDay, Typed};

pub use fields::{Field, fields};
pub use moved::MovedTold;
pub use part::{Asked, Part, Stretch};
pub use ticks::told_by_lists;
pub use told::{Told, told};

/// What the machine that keeps the book is called beside the others.
const OWN_DEVICE: &str = "this book’s computer";
/// The most corrections and late entries whose consequences a list tells; each
/// line's own page tells its own.
const CHANGES_MOST: usize = 3;

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
    /// What a correction of it, or its coming late, moved.
    pub moved: Option<MovedTold>,
    /// Where more than one change was made, by whom and when each: two hands may have disagreed.
    pub clash: Option<String>,
    /// Which device wrote it, where more than one writes and the line above is another's.
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

    /// Whether it says nothing beyond its value.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        self.state == RowState::Stands && self.note.is_none() && self.odd.is_empty()
    }
}

/// The newest lines of a day, newest first; of one stage only where one is named,
/// and then without what its page's check lists tell.
///
/// A correction is shown on the line it corrects, not as a line of its own.
#[must_use]
pub fn rows(day: &BrewDay, frame: &Frame, stage: Option<Stage>, most: usize) -> Vec<LogRow> {
    let that_day = frame.on(day.brewed_at());
    let by_lists = stage.map(|_| told_by_lists(day)).unwrap_or_default();
    let lines = newest_first(day)
        .filter(|line| stage.is_none_or(|stage| belongs(line.body(), stage)))
        .filter(|line| !(line.is_plain() && by_lists.contains(&line.id())));
    told_rows(day, &that_day, &lines.take(most).collect::<Vec<_>>())
}

/// The line of one entry; none of a correction, which has no line of its own.
#[must_use]
pub fn row(day: &BrewDay, frame: &Frame, id: Uuid) -> Option<LogRow> {
    let line = newest_first(day).find(|line| line.line.logged.entry.id == id)?;
    told_rows(day, &frame.on(day.brewed_at()), &[line]).pop()
}

/// The rows of these lines, as they stand below one another.
fn told_rows(day: &BrewDay, that_day: &Frame, lines: &[Line<'_>]) -> Vec<LogRow> {
    let mut rows = whole_rows(day, that_day, lines);
    tell_devices_once(&mut rows);
    rows
}

/// The rows of these lines, each with its device where more than one writes.
fn whole_rows(day: &BrewDay, that_day: &Frame, lines: &[Line<'_>]) -> Vec<LogRow> {
    let around = Around::of(day);
    let arrival = Arrival::of(day);
    let told = last_changed(day, &arrival, lines);
    let moved = |line: &Line<'_>| {
        let by = arrival.changed_by(day, line.line).filter(|by| told.contains(by))?;
        MovedTold::of(day, that_day, by)
    };
    let row = |line: &Line<'_>| {
        let row = line.row(day, that_day, &around);
        // A line that was corrected says so itself.
        let stands = matches!(row.state, RowState::Stands);
        LogRow { moved: moved(line).map(|told| if stands { told } else { told.without_cause() }), ..row }
    };
    lines.iter().map(row).collect()
}

/// Leaves a device's name on the first of the lines below one another that it wrote.
fn tell_devices_once(rows: &mut [LogRow]) {
    let mut above = None;
    for row in rows {
        let here = row.device.clone();
        if here == above {
            row.device = None;
        }
        above = here;
    }
}

/// The corrections and late entries that came last: a summary before and after
/// each of a long list would cost the page more than it is read for.
fn last_changed(day: &BrewDay, arrival: &Arrival, lines: &[Line<'_>]) -> Vec<Uuid> {
    let came = |id: Uuid| day.lines.iter().find(|line| line.logged.entry.id == id).map(|line| line.logged.seq);
    let mut found: Vec<(i64, Uuid)> = lines
        .iter()
        .filter_map(|line| arrival.changed_by(day, line.line))
        .filter_map(|by| Some((came(by)?, by)))
        .collect();
    found.sort_unstable_by_key(|(seq, _)| std::cmp::Reverse(*seq));
    found.into_iter().take(CHANGES_MOST).map(|(_, by)| by).collect()
}

/// The line that was just saved: an entry's own, or the one that a correction is
/// about, with what it moved.
#[must_use]
pub fn saved(day: &BrewDay, frame: &Frame, id: Uuid) -> Option<LogRow> {
    let line = day.lines.iter().find(|line| line.logged.entry.id == day.root_of(id))?;
    let standing = day.standing.iter().find(|standing| standing.id == line.logged.entry.id);
    let that_day = frame.on(day.brewed_at());
    let row = Line { line, standing }.row(day, &that_day, &Around::of(day));
    Some(LogRow { moved: MovedTold::of(day, &that_day, id), ..row })
}

/// What a line is told by besides itself.
struct Around<'a> {
    /// The day's amendments, to be found by their ids: a log may hold thousands.
    amendments: HashMap<Uuid, &'a Amendment>,
    /// Whether more than one device writes.
    tells_device: bool,
}

impl<'a> Around<'a> {
    fn of(day: &'a BrewDay) -> Self {
        let amendment = |line: &'a LogLine| match &line.logged.entry.body {
            Body::Amendment(amendment) => Some((line.logged.entry.id, amendment)),
            _ => None,
        };
        let devices: HashSet<Option<&str>> = day.lines.iter().map(|line| line.logged.device.as_deref()).collect();
        Self { amendments: day.lines.iter().filter_map(amendment).collect(), tells_device: devices.len() > 1 }
    }

    /// The reason an amendment gave.
    fn why(&self, id: Uuid) -> Option<String> {
        self.amendments.get(&id)?.why.clone()
    }
}

/// An entry beside what it stands as.
struct Line<'a> {
    line: &'a LogLine,
    standing: Option<&'a Standing>,
}

/// Every line of a log, in the order of the day from its end: what stands, and
/// between that what was struck out.
fn newest_first(day: &BrewDay) -> impl Iterator<Item = Line<'_>> {
    let standing = day.standing.iter().rev();
    let mut standing =
        standing.filter_map(|entry| Some(Line { line: day.line(entry.seq)?, standing: Some(entry) })).peekable();
    let is_struck = |line: &&LogLine| matches!(line.fate, Fate::Voided(_)) && !is_amendment(line);
    let mut struck: Vec<Line<'_>> =
        day.lines.iter().filter(is_struck).map(|line| Line { line, standing: None }).collect();
    struck.sort_by_key(Line::place);
    std::iter::from_fn(move || match (standing.peek(), struck.last()) {
        (Some(stands), Some(last)) if stands.place() < last.place() => struck.pop(),
        (None, _) => struck.pop(),
        _ => standing.next(),
    })
}

/// Where an entry can be put right.
#[must_use]
pub fn href(day: &BrewDay, entry: Uuid) -> String {
    format!("/batches/{}/entries/{entry}", day.batch.id)
}

fn is_amendment(line: &LogLine) -> bool {
    matches!(line.logged.entry.body, Body::Amendment(_))
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

    fn id(&self) -> Uuid {
        self.line.logged.entry.id
    }

    /// Whether it says nothing beyond its value.
    fn is_plain(&self) -> bool {
        self.line.fate == Fate::Stands && self.line.odd.is_empty() && self.line.logged.entry.note.is_none()
    }

    /// Where it stands in the day.
    fn place(&self) -> (OffsetDateTime, i64) {
        (self.at(), self.line.logged.seq)
    }

    /// What happened, as it stands.
    fn body(&self) -> &'a Body {
        self.standing.map_or(&self.line.logged.entry.body, |standing| &standing.body)
    }

    fn row(&self, day: &BrewDay, frame: &Frame, around: &Around<'_>) -> LogRow {
        let entry = &self.line.logged.entry;
        let as_written = told(day, frame, &entry.body, &entry.typed);
        let state = match self.line.fate {
            Fate::Stands | Fate::Overruled(_) => RowState::Stands,
            Fate::Voided(by) => RowState::Struck { why: around.why(by) },
            Fate::Replaced(by) => {
                RowState::Corrected { before: before(frame, entry.at, self.at(), &as_written), why: around.why(by) }
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
            moved: None,
            clash: clash(day, frame, self.line.fate),
            device: around.tells_device.then(|| self.line.logged.device.as_deref().unwrap_or(OWN_DEVICE).to_owned()),
            href: href(day, entry.id),
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
