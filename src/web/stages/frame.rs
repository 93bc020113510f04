//! What the six stage pages have in common.

use std::sync::Arc;

use uuid::Uuid;

use super::timers::{self, Timer};
use crate::brewday::checklist::CheckItem;
use crate::brewday::choices::{Choice, Outcome, Place, Stage};
use crate::brewday::day::{BatchState, StageState, stage_of};
use crate::brewday::plausible::Dimension;
use crate::brewday::{BrewDay, Summary};
use crate::web::form::Form;
use crate::web::instruments;
use crate::web::log::{self, LogRow, RowState};
use crate::web::strip::{BatchHead, StageLink};
use crate::web::units::Shown;
use crate::web::when::Moment;
use crate::web::{App, AppError, Frame};

/// The most lines of the log a stage page shows: what a hand with a thermometer
/// looks back at. The batch page shows them all.
const LINES_MOST: usize = 12;

/// A batch at one stage.
#[derive(Clone, Debug)]
pub struct StageFrame {
    /// What every page is told.
    pub frame: Frame,
    /// The batch's head.
    pub head: BatchHead,
    /// Which stage.
    pub stage: Stage,
    /// The day as it stands.
    pub day: Arc<BrewDay>,
    /// Every figure of it.
    pub summary: Arc<Summary>,
    /// The stage's part of the log, newest first.
    pub log: Vec<LogRow>,
    /// What is taken off the readings, in sentences.
    pub instruments: Vec<String>,
    /// The check lists of this stage.
    pub lists: Vec<ListTold>,
    /// What is still waited for.
    pub timers: Vec<Timer>,
    /// The entry that was just saved.
    pub just_saved: Option<LogRow>,
    /// Its id, or that of the correction that was.
    pub saved_id: Option<Uuid>,
    /// That the phone's clock was wrong, and put right.
    pub clock_told: Option<String>,
    came_back: Option<(String, Form)>,
}

/// A check list with what became of its items.
#[derive(Clone, Debug)]
pub struct ListTold {
    /// Its heading.
    pub name: String,
    /// Its items.
    pub items: Vec<ItemTold>,
    /// How many are ticked.
    pub done: usize,
}

/// An item of a check list.
#[derive(Clone, Debug)]
pub struct ItemTold {
    /// The item.
    pub item: CheckItem,
    /// Ticked or skipped, and when.
    pub outcome: Option<(Outcome, Moment)>,
    /// Why it was skipped, where that was said.
    pub why: Option<String>,
    /// Where the tick can be put right; empty where there is none.
    pub href: String,
}

impl ItemTold {
    /// Whether it is ticked.
    #[must_use]
    pub fn is_done(&self) -> bool {
        matches!(self.outcome, Some((Outcome::Done, _)))
    }
}

impl StageFrame {
    /// Loads a batch for one of its stages.
    ///
    /// # Errors
    /// There is no such batch, or the book can't be read.
    pub async fn load(app: &App, batch: i64, stage: Stage, frame: Frame) -> Result<Self, AppError> {
        let day = app.store.day(batch).await?.ok_or(AppError::NotFound)?;
        let summary = app.store.summary_of(&day).await?.ok_or(AppError::NotFound)?;
        let mut page = Self {
            head: BatchHead::of(&day, Some(stage)),
            log: log::rows(&day, &frame, Some(stage), LINES_MOST),
            instruments: instruments::notes(&day, &frame),
            lists: lists(&day, &frame.on(day.brewed_at()), stage),
            frame,
            stage,
            day,
            summary,
            timers: Vec::new(),
            just_saved: None,
            saved_id: None,
            clock_told: None,
            came_back: None,
        };
        page.timers = timers::of(&page);
        Ok(page)
    }

    /// The same page, which says what was just saved.
    #[must_use]
    pub fn saved(mut self, id: Option<Uuid>, clock_ahead_s: Option<i64>) -> Self {
        self.clock_told = clock_ahead_s.and_then(clock_told);
        self.just_saved = id.and_then(|id| log::saved(&self.day, &self.frame, id));
        self.saved_id = id;
        self
    }

    /// The same page with a form that needs another look.
    #[must_use]
    pub fn came_back(mut self, scope: &str, form: Form) -> Self {
        self.came_back = Some((scope.to_owned(), form.named(scope)));
        self
    }

    /// A form of the page for a kind of entry: the one that came back, or a new
    /// one with an id of its own. `scope` names it on this page.
    #[must_use]
    pub fn form(&self, scope: &str, kind: &str) -> Form {
        match &self.came_back {
            Some((came, form)) if came == scope => form.clone(),
            _ => Form::empty(&self.frame)
                .named(scope)
                .with("form", scope)
                .with("kind", kind)
                .with("id", Uuid::now_v7().to_string())
                .with("at", self.when_left_out()),
        }
        .with("form", scope)
    }

    /// The form that came back, for the summary on top.
    #[must_use]
    pub fn faulty(&self) -> Option<&Form> {
        self.came_back.as_ref().map(|(_, form)| form)
    }

    /// The last temperature read at any of these places, named by their keys, as
    /// the thermometer showed it: the next one is read off the same.
    #[must_use]
    pub fn last_read(&self, places: &[(&str, &str)]) -> Option<(Shown, Moment)> {
        let places = places.iter().filter_map(|(key, _)| Place::from_key(key));
        let last = places.filter_map(|place| self.day.temperatures(place).last()).max_by_key(|reading| reading.at)?;
        Some((self.frame.show(last.shown_c, Dimension::Temperature), self.frame.clock.short(last.at)))
    }

    /// How far this stage has come.
    #[must_use]
    pub fn state(&self) -> StageState {
        self.day.stage(self.stage)
    }

    /// Where this page's forms post to.
    #[must_use]
    pub fn action(&self) -> String {
        format!("/batches/{}/{}", self.day.batch.id, self.stage.key())
    }

    /// Where the day goes on, once this stage is over and the next has not begun.
    #[must_use]
    pub fn onward(&self) -> Option<&StageLink> {
        let after = Stage::ALL.iter().position(|stage| *stage == self.stage)? + 1;
        let next = self.head.stages.get(after)?;
        (self.state() == StageState::Finished && next.state == StageState::Ahead).then_some(next)
    }

    /// Whether the page is a record: the batch is closed, or the wort pitched that
    /// this stage was for. Nothing is asked for then; what was left out can be added.
    #[must_use]
    pub fn is_record(&self) -> bool {
        let is_before_pitch = !matches!(self.stage, Stage::Pitch | Stage::Clean);
        self.day.state() == BatchState::Closed || (is_before_pitch && self.day.pitched().is_some())
    }

    /// What a record's form for something left out begins with: when this stage was
    /// last seen to. Cleaning goes on for weeks, and elsewhere it is now: nothing.
    fn when_left_out(&self) -> String {
        if !self.is_record() || self.stage == Stage::Clean {
            return String::new();
        }
        let of_it = self.day.standing.iter().rev().find(|entry| stage_of(&entry.body) == Some(self.stage));
        self.frame.clock.field(of_it.map_or_else(|| self.day.brewed_at(), |entry| entry.at))
    }

    /// Whether this is the day's last stage, and behind the brewer: the batch is closed.
    #[must_use]
    pub fn is_last_done(&self) -> bool {
        self.stage == Stage::Clean && self.state() == StageState::Finished
    }

    /// Whether the entry just saved can be taken back from here.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        self.just_saved.as_ref().is_some_and(|row| matches!(row.state, RowState::Stands))
    }
}

/// "This phone’s clock is 47 min ahead"; below a minute nobody minds.
fn clock_told(ahead_s: i64) -> Option<String> {
    let minutes = ahead_s.unsigned_abs() / 60;
    let which = if ahead_s > 0 { "ahead" } else { "behind" };
    let by = match minutes {
        0 => return None,
        1..120 => format!("{minutes}\u{a0}min"),
        _ => format!("{}\u{a0}h", (minutes + 30) / 60),
    };
    Some(format!("This phone’s clock is {by} {which}: the time was put right."))
}

fn lists(day: &BrewDay, frame: &Frame, stage: Stage) -> Vec<ListTold> {
    day.batch
        .lists
        .on(stage)
        .map(|list| {
            let items: Vec<ItemTold> = list.items.iter().map(|item| told(day, frame, item)).collect();
            ListTold { name: list.name.clone(), done: items.iter().filter(|item| item.is_done()).count(), items }
        })
        .collect()
}

fn told(day: &BrewDay, frame: &Frame, item: &CheckItem) -> ItemTold {
    let check = day.check(&item.key);
    ItemTold {
        item: item.clone(),
        outcome: check.map(|check| (check.outcome, frame.clock.short(check.at))),
        why: check.and_then(|check| check.why).map(str::to_owned),
        href: check.map(|check| log::href(day, check.id)).unwrap_or_default(),
    }
}
