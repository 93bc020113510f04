//! The pitch clearance in a brewer's words: on the pitch page, and on paper.

use super::Frame;
use crate::brewday::summary::{self, ClearanceState};
use crate::brewday::{BrewDay, Summary};

/// A line of the clearance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ClearanceTold {
    /// What has to be so.
    pub(crate) what: String,
    /// Whether it is.
    pub(crate) state: ClearanceState,
    /// The figures behind it.
    pub(crate) why: String,
}

impl ClearanceTold {
    /// Whether there is nothing left to do about it.
    pub(crate) fn is_done(&self) -> bool {
        self.state == ClearanceState::Done
    }
}

/// Every line, in the brewer's own units.
pub(crate) fn told(day: &BrewDay, summary: &Summary, frame: &Frame) -> Vec<ClearanceTold> {
    let lines = summary::clearance(day, summary).into_iter();
    lines
        .map(|line| ClearanceTold { what: frame.speak(&line.what), state: line.state, why: frame.speak(&line.why) })
        .collect()
}
