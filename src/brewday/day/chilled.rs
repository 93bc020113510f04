//! The day's chill with its fit, worked out once for the day as it stands: the
//! summary, the live page and the comparison all ask for it.

use std::fmt;
use std::sync::{Arc, OnceLock};

use super::BrewDay;
use crate::brewday::chill::Chill;
use crate::science::chilling::fit::ChillFit;

/// A chill, and what its readings tell of the coil.
#[derive(Clone, Debug)]
pub struct Chilled {
    /// The chill.
    pub chill: Arc<Chill>,
    /// The stages and the whole, fitted.
    pub fit: Arc<ChillFit>,
}

/// What was worked out already. It follows from the rest of the day, so two days
/// are alike without it, and a copy works it out anew.
#[derive(Default)]
pub(super) struct WorkedOut(OnceLock<Option<Chilled>>);

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
            let fit = Arc::new(chill.fit());
            Some(Chilled { chill: Arc::new(chill), fit })
        };
        self.worked_out.0.get_or_init(work_out).as_ref()
    }
}
