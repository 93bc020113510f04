//! What an entry changed: every figure and verdict that came out otherwise.
//!
//! Data arrive late, out of order or wrong, and figures follow by themselves; a
//! brewer has to be told which. The book is folded twice, up to the entry and
//! with it, and the two summaries are held against each other.

use serde_json::Value;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::choices::{Cooling, GravityPoint, VolumePoint};
use super::day::{Fate, LogLine};
use super::{Body, BrewDay, Summary};

/// An entry that lies further back than this behind what was in the book before
/// it came late; two phones at one kettle may be this far out of step.
const OUT_OF_STEP: Duration = Duration::seconds(60);
/// Figures closer than this, as a share of the greater, are the same.
const SAME: f64 = 1e-9;
/// A move by less than this share is slight.
const SLIGHT: f64 = 0.01;

/// A figure or a verdict that came out otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// Its place in the summary: `chill.stages.1.conductance_w_per_k`.
    pub figure: String,
    /// What it was; none where it could not be told.
    pub from: Option<Amount>,
    /// What it is.
    pub to: Option<Amount>,
}

impl Moved {
    /// Whether it is a figure that moved by less than a percent.
    #[must_use]
    pub fn is_slight(&self) -> bool {
        match (&self.from, &self.to) {
            (Some(Amount::Number(from)), Some(Amount::Number(to))) => (to - from).abs() < SLIGHT * from.abs(),
            _ => false,
        }
    }
}

/// What a figure or a verdict is.
#[derive(Clone, Debug, PartialEq)]
pub enum Amount {
    /// A figure, in the unit of its name.
    Number(f64),
    /// A verdict's key.
    Word(String),
}

/// Why an entry changed what was known already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// An earlier entry was corrected.
    Corrected,
    /// An earlier entry was struck out.
    Struck,
    /// A correction was taken back.
    BroughtBack,
    /// It came this long after it happened, when later things were in the book.
    Late(Duration),
    /// It is about wort that was being chilled already.
    Afterwards,
}

/// What an entry changed of what was known already.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Why it did.
    pub cause: Cause,
    /// Every figure and verdict that came out otherwise.
    pub moved: Vec<Moved>,
    /// The way of each cooling stage there was then.
    pub stages: Vec<Cooling>,
}

impl Change {
    /// What an entry (or a correction) of a day changed when it came; `None` where
    /// it came in its turn. It takes two folds and two summaries, and what comes
    /// into the book later makes no difference to it: [`BrewDay::change`] keeps it.
    #[must_use]
    pub fn of(day: &BrewDay, id: Uuid) -> Option<Self> {
        let cause = cause(day, id)?;
        let (before, after) = around(day, id)?;
        Some(Self {
            cause,
            moved: moved(&Summary::of(&before), &Summary::of(&after)),
            stages: after.cooling_stages().iter().map(|stage| stage.cooling.method).collect(),
        })
    }
}

/// In which order a day came into the book: of each line, the newest time of the
/// day that was there before it. A page asks of a hundred lines whether they came
/// late, and a log may hold a hundred thousand.
#[derive(Clone, Debug)]
pub struct Arrival(Vec<Option<OffsetDateTime>>);

impl Arrival {
    /// Looks the log through, once.
    #[must_use]
    pub fn of(day: &BrewDay) -> Self {
        let mut newest = None;
        let before = day.lines.iter().map(|line| {
            let (before, entry) = (newest, &line.logged.entry);
            newest = newest.max(is_of_the_day(&entry.body).then_some(entry.at));
            before
        });
        Self(before.collect())
    }

    /// The entry that changed a line of the log last: its correction, or itself
    /// where it came late. `None` where it stands as it came in its turn.
    #[must_use]
    pub fn changed_by(&self, day: &BrewDay, line: &LogLine) -> Option<Uuid> {
        match line.fate {
            Fate::Replaced(by) | Fate::Voided(by) => Some(by),
            Fate::Stands | Fate::Overruled(_) => {
                let index = day.lines.binary_search_by_key(&line.logged.seq, |line| line.logged.seq).ok()?;
                cause_at(day, index, self.0[index]).map(|_| line.logged.entry.id)
            }
        }
    }
}

/// Why an entry changed what was known; `None` for one that came in its turn.
#[must_use]
pub fn cause(day: &BrewDay, id: Uuid) -> Option<Cause> {
    let index = day.lines.iter().position(|line| line.logged.entry.id == id)?;
    cause_at(day, index, Arrival::of(day).0[index])
}

/// The same of the line at an index, before which this was the newest time of the day.
fn cause_at(day: &BrewDay, index: usize, newest: Option<OffsetDateTime>) -> Option<Cause> {
    let (before, line) = (&day.lines[..index], &day.lines[index]);
    let entry = &line.logged.entry;
    match &entry.body {
        Body::Amendment(amendment) if !amendment.void => return Some(Cause::Corrected),
        Body::Amendment(amendment) => {
            let of_a_correction = before.iter().any(|other| {
                other.logged.entry.id == amendment.of && matches!(other.logged.entry.body, Body::Amendment(_))
            });
            return Some(if of_a_correction { Cause::BroughtBack } else { Cause::Struck });
        }
        Body::Check { .. } | Body::Care(_) | Body::Note => return None,
        _ => {}
    }
    if newest.is_some_and(|newest| entry.at < newest - OUT_OF_STEP) {
        return Some(Cause::Late((line.logged.received_at - entry.at).max(Duration::ZERO)));
    }
    let of_the_wort = matches!(
        entry.body,
        Body::Volume { point: VolumePoint::PostBoil, .. } | Body::Gravity { point: GravityPoint::PostBoil, .. }
    );
    let chilling = || before.iter().any(|other| matches!(other.logged.entry.body, Body::CoolingStarted(_)));
    (of_the_wort && chilling()).then_some(Cause::Afterwards)
}

/// The day by the book as it was just before an entry came, and just after.
#[must_use]
pub fn around(day: &BrewDay, id: Uuid) -> Option<(BrewDay, BrewDay)> {
    let seq = line(day, id)?.logged.seq;
    let up_to = |last: i64| {
        let log = day.lines.iter().map(|line| &line.logged).filter(|logged| logged.seq <= last);
        BrewDay::fold(day.batch.clone(), log.cloned().collect())
    };
    Some((up_to(seq - 1), up_to(seq)))
}

/// Every figure and verdict that differs between two summaries of one batch, in
/// the summary's own order. A cooling stage that only one of them has is left
/// out: the entry itself tells it.
#[must_use]
pub fn moved(before: &Summary, after: &Summary) -> Vec<Moved> {
    let tree = |summary| serde_json::to_value(summary).unwrap_or_default();
    let (mut old, new) = (tree(before), tree(after));
    align_stages(&mut old, &new);
    let mut found = Vec::new();
    compare("", &old, &new, &mut found);
    found
}

fn line(day: &BrewDay, id: Uuid) -> Option<&LogLine> {
    day.lines.iter().find(|line| line.logged.entry.id == id)
}

/// Whether an entry belongs to the course of the day, and not only to its lists.
fn is_of_the_day(body: &Body) -> bool {
    !matches!(body, Body::Amendment(_) | Body::Check { .. } | Body::Care(_) | Body::Note)
}

/// Puts the earlier summary's cooling stages in the places of the later one's: by
/// number where there are as many, else by when they began.
fn align_stages(old: &mut Value, new: &Value) {
    let stages = |of: &Value| of["chill"]["stages"].as_array().cloned().unwrap_or_default();
    let (before, after) = (stages(old), stages(new));
    if before.len() == after.len() {
        return;
    }
    let same = |stage: &Value| before.iter().find(|other| other["started_at"] == stage["started_at"]).cloned();
    old["chill"]["stages"] = after.iter().map(|stage| same(stage).unwrap_or_else(|| stage.clone())).collect();
}

fn compare(path: &str, old: &Value, new: &Value, found: &mut Vec<Moved>) {
    let within = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    match (old, new) {
        (Value::Object(before), Value::Object(after)) => {
            for (name, new) in after.iter().filter(|(name, _)| *name != "missing" && *name != "clearance") {
                compare(&within(name), before.get(name).unwrap_or(&Value::Null), new, found);
            }
        }
        (Value::Array(before), Value::Array(after)) => {
            for (index, (old, new)) in before.iter().zip(after).enumerate() {
                compare(&within(&index.to_string()), old, new, found);
            }
        }
        _ => {
            let (from, to) = (Amount::of(old), Amount::of(new));
            let same = match (&from, &to) {
                (Some(Amount::Number(one)), Some(Amount::Number(other))) => {
                    (one - other).abs() <= SAME * one.abs().max(other.abs())
                }
                _ => from == to,
            };
            if !same {
                found.push(Moved { figure: path.to_owned(), from, to });
            }
        }
    }
}

impl Amount {
    fn of(value: &Value) -> Option<Self> {
        value.as_f64().map(Self::Number).or_else(|| value.as_str().map(|word| Self::Word(word.to_owned())))
    }
}

#[cfg(test)]
mod tests;
