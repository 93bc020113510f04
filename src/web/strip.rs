//! The head of a batch's pages: which batch, and the strip of its six stages.

use crate::brewday::choices::{Choice, Stage};

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

/// How far a stage has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageState {
    /// Not begun.
    Ahead,
    /// Under way.
    Now,
    /// Finished.
    Done,
}

impl StageState {
    /// The word in the strip's class names.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Ahead => "ahead",
            Self::Now => "now",
            Self::Done => "done",
        }
    }

    /// What a reader who sees no colour is told.
    #[must_use]
    pub fn told(self) -> &'static str {
        match self {
            Self::Ahead => "not begun",
            Self::Now => "under way",
            Self::Done => "done",
        }
    }
}

impl BatchHead {
    /// The head for a batch, with how far each stage has come and which page is shown.
    pub fn new(id: i64, name: &str, here: Option<Stage>, state: impl Fn(Stage) -> StageState) -> Self {
        let link = |stage: Stage| StageLink {
            href: format!("/batches/{id}/{}", stage.key()),
            label: stage.label(),
            state: state(stage),
            here: here == Some(stage),
        };
        Self { id, name: name.to_owned(), stages: Stage::ALL.iter().map(|stage| link(*stage)).collect() }
    }
}
