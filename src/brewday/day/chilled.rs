//! What is worked out once for the day as it stands: the chill with its fit, which
//! the summary, the live page and the comparison all ask for, and the summary itself.

use std::collections::HashMap;
use std::fmt;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use uuid::Uuid;

use super::BrewDay;
use crate::brewday::Summary;
use crate::brewday::changes::Change;
use crate::brewday::chill::Chill;
use crate::brewday::chill_now::Outlook;
use crate::science::chilling::Estimate;
use crate::science::chilling::fit::ChillFit;
use crate::science::chilling::live::{self, Live, NotYet};
use crate::science::units::TimeSpan;

/// What follows from what the coil usually does, beside that.
type ByUsual<T> = (Option<Estimate>, T);
/// An outlook, and the second it is of.
type At = (TimeSpan, Result<Outlook, NotYet>);

/// A chill, and what its readings tell of the coil.
#[derive(Debug)]
pub struct Chilled {
    /// The chill.
    pub chill: Arc<Chill>,
    fit: OnceLock<Arc<ChillFit>>,
    /// Where it stood at its latest reading, by what the coil usually does.
    live: Mutex<Option<ByUsual<Result<Live, NotYet>>>>,
    /// What came next at a second, by the same.
    outlook: Mutex<Option<ByUsual<At>>>,
}

impl Chilled {
    /// The stages and the whole, fitted: the dearest thing a day is asked, and
    /// nothing that its pictures need.
    #[must_use]
    pub fn fit(&self) -> &Arc<ChillFit> {
        self.fit.get_or_init(|| Arc::new(self.chill.fit()))
    }

    /// The chill at its latest reading; `usual` is what its coil does on other
    /// days. A live page is made every few seconds, and between two readings this
    /// stays as it is.
    ///
    /// # Errors
    /// What is missing.
    pub fn at_reading(&self, usual: Option<Estimate>) -> Result<Live, NotYet> {
        // A panic under this lock can't have bent what it holds: that is put in whole.
        let mut known = self.live.lock().unwrap_or_else(PoisonError::into_inner);
        match *known {
            Some((by, live)) if by == usual => live,
            _ => known.insert((usual, live::live(&self.chill.series, &self.chill.setting(), usual))).1,
        }
    }

    /// What comes next, as `tell` tells it, once for each time it is asked about: an
    /// entry makes every phone that follows the chill ask again at the same moment.
    pub(crate) fn outlook_at(
        &self,
        usual: Option<Estimate>,
        now: TimeSpan,
        tell: impl FnOnce() -> Result<Outlook, NotYet>,
    ) -> Result<Outlook, NotYet> {
        let known = || self.outlook.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((by, (at, outlook))) = &*known()
            && (*by, *at) == (usual, now)
        {
            return outlook.clone();
        }
        let outlook = tell();
        *known() = Some((usual, (now, outlook.clone())));
        outlook
    }
}

/// What was worked out already. It follows from the rest of the day, so two days
/// are alike without it, and a copy works it out anew.
#[derive(Default)]
pub(super) struct WorkedOut {
    chilled: OnceLock<Option<Chilled>>,
    summary: OnceLock<Arc<Summary>>,
    /// By entry. What came later made no difference to it, so these outlast the day's growing.
    changes: Mutex<HashMap<Uuid, Arc<Change>>>,
}

impl WorkedOut {
    /// Forgets what an entry more makes another.
    pub(super) fn outdated(&mut self) {
        let changes = std::mem::take(&mut self.changes);
        *self = Self { changes, ..Self::default() };
    }
}

impl Clone for WorkedOut {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl fmt::Debug for WorkedOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("WorkedOut")
    }
}

impl PartialEq for WorkedOut {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl BrewDay {
    /// The day's chill; `None` where neither flame-out nor a cooling stage is logged.
    #[must_use]
    pub fn chilled(&self) -> Option<&Chilled> {
        let work_out = || {
            let chill = Chill::of(self)?;
            Some(Chilled {
                chill: Arc::new(chill),
                fit: OnceLock::new(),
                live: Mutex::default(),
                outlook: Mutex::default(),
            })
        };
        self.worked_out.chilled.get_or_init(work_out).as_ref()
    }

    /// What an entry (or a correction) changed when it came; `None` where it came in its turn.
    #[must_use]
    pub fn change(&self, id: Uuid) -> Option<Arc<Change>> {
        let known = || self.worked_out.changes.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known().get(&id) {
            return Some(Arc::clone(known));
        }
        let change = Arc::new(Change::of(self, id)?);
        known().insert(id, Arc::clone(&change));
        Some(change)
    }

    /// The day's summary, where it was worked out or read since the day was folded.
    #[must_use]
    pub fn known_summary(&self) -> Option<&Arc<Summary>> {
        self.worked_out.summary.get()
    }

    /// Keeps the day's summary with it, for the pages that come after: the one that
    /// [`Summary::of`] it makes, or the book holds of it.
    pub fn know(&self, summary: &Arc<Summary>) {
        // One that is known already is the same.
        let _ = self.worked_out.summary.set(Arc::clone(summary));
    }
}
