//! The head of a batch's pages: which batch, and the strip of its six stages.

use crate::brewday::BrewDay;
use crate::brewday::choices::{Choice, Stage};
use crate::brewday::day::StageState;

/// The head of a batch's page.
#[derive(Clone, Debug)]
pub struct BatchHead {
    /// The batch's number in the book.
    pub id: i64,
    /// What the brewer calls it.
    pub name: String,
    /// The strip, in the order of the day.
    pub stages: Vec<StageLink>,
}

/// One stage on the strip.
#[derive(Clone, Debug)]
pub struct StageLink {
    /// Its page.
    pub href: String,
    /// Its word.
    pub label: &'static str,
    /// How far it has come.
    pub state: StageState,
    /// Whether this is the page being looked at.
    pub here: bool,
}

impl StageLink {
    /// The word in the strip's class names.
    #[must_use]
    pub fn key(&self) -> &'static str {
        match self.state {
            StageState::Ahead => "ahead",
            StageState::Underway => "now",
            StageState::Finished => "done",
        }
    }

    /// What a reader who sees no colour is told.
    #[must_use]
    pub fn told(&self) -> &'static str {
        match self.state {
            StageState::Ahead => "not begun",
            StageState::Underway => "under way",
            StageState::Finished => "done",
        }
    }
}

impl BatchHead {
    /// The head of a batch's pages; `here` is the stage being looked at.
    #[must_use]
    pub fn of(day: &BrewDay, here: Option<Stage>) -> Self {
        let id = day.batch.id;
        let link = |stage: Stage| StageLink {
            href: format!("/batches/{id}/{}", stage.key()),
            label: stage.label(),
            state: day.stage(stage),
            here: here == Some(stage),
        };
        Self { id, name: day.batch.name.clone(), stages: Stage::ALL.iter().map(|stage| link(*stage)).collect() }
    }
}
