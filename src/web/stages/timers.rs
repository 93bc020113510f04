//! What falls due on a brew day, for the phone to ring at.
//!
//! Every stage page carries the whole list, so that an addition rings on the mash
//! page too. A timer is an end in the log's own time, never a span that a page
//! would have to begin counting from; what was logged in the meantime is not on it.

use time::{Duration, OffsetDateTime};

use super::frame::StageFrame;
use super::panel::Panel;
use super::{boil, mash};
use crate::brewday::Body;
use crate::brewday::choices::{PhPoint, Stage};
use crate::brewday::day::StageState;
use crate::web::when::Moment;

/// Seconds of warning before an addition: to weigh it, and to be at the kettle.
pub const WARN_S: u32 = 120;
/// What the end of the boil says, here and on the boil page.
pub const BOIL_OVER: &str = "The boil is over";
/// Wort through the hot coil for so long is enough: the book's own advice.
const FLUSH: Duration = Duration::seconds(60);
/// A mash's pH has settled by then (common practice, no source).
const PH_AFTER: Duration = Duration::minutes(10);

/// Something that falls due.
#[derive(Clone, Debug)]
pub struct Timer {
    /// When.
    pub at: Moment,
    /// What the phone says then.
    pub what: String,
    /// Seconds of warning before, where there is one.
    pub warn_s: Option<u32>,
    /// Of an addition: what is logged where it is said to be in.
    pub entry: Option<Panel>,
}

impl Timer {
    /// A timer without a warning.
    #[must_use]
    pub fn new(at: Moment, what: impl Into<String>) -> Self {
        Self { at, what: what.into(), warn_s: None, entry: None }
    }
}

/// Everything that is still waited for in a batch.
#[must_use]
pub fn of(page: &StageFrame) -> Vec<Timer> {
    if page.is_record() {
        return Vec::new();
    }
    let mut timers = mash_timers(page);
    timers.extend(boil_timers(page));
    timers
}

/// Whether the mash's own clock still matters.
pub(super) fn mash_runs(page: &StageFrame) -> bool {
    page.day.boil_started().is_none() && page.day.stage(Stage::Mash) != StageState::Finished
}

fn mash_timers(page: &StageFrame) -> Vec<Timer> {
    let Some(doughed_in) = mash::doughed_in(page).filter(|_| mash_runs(page)) else { return Vec::new() };
    let rests = mash::rests(page).into_iter();
    let mut timers: Vec<_> = rests.filter_map(|rest| Some(Timer::new(rest.ends.clone()?, rest.what()))).collect();
    let has_ph = page.day.standing.iter().any(|entry| matches!(entry.body, Body::Ph { point: PhPoint::Mash, .. }));
    if !has_ph {
        timers.push(Timer::new(moment(page, doughed_in + PH_AFTER), "Read the mash pH"));
    }
    timers
}

fn boil_timers(page: &StageFrame) -> Vec<Timer> {
    let additions = boil::additions(page).into_iter().filter(|addition| addition.done.is_none());
    let due = additions.filter_map(|addition| {
        let (at, what) = (addition.due.clone()?, addition.what());
        Some(Timer { at, what, warn_s: Some(WARN_S), entry: Some(addition.rung(page)) })
    });
    let boils = page.day.flame_out().is_none();
    let ends = boil::ends(page).filter(|_| boils).map(|at| Timer::new(moment(page, at), BOIL_OVER));
    let flush = page.day.flush().filter(|flush| flush.finished.is_none()).and_then(|flush| flush.started);
    let flush = flush.map(|since| Timer::new(moment(page, since + FLUSH), "The hot flush has run for a minute"));
    due.chain(ends).chain(flush).collect()
}

fn moment(page: &StageFrame, at: OffsetDateTime) -> Moment {
    page.frame.clock.time(at)
}
