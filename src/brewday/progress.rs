//! How far a batch has come, in one word, and the day it was brewed on.

use time::OffsetDateTime;

use super::choices::{Stage, choices};
use super::{Body, BrewDay};

choices! {
    /// How far a batch has come.
    BatchState {
        Planned = "planned", "Planned";
        Underway = "underway", "Under way";
        Pitched = "pitched", "Pitched";
        Closed = "closed", "Closed";
    }
}

impl BrewDay {
    /// How far the batch has come: closed once its cleaning was finished, else
    /// pitched, else under way from the first thing that happened to the wort.
    #[must_use]
    pub fn state(&self) -> BatchState {
        let stands = |wanted: fn(&Body) -> bool| self.standing.iter().any(|one| wanted(&one.body));
        if stands(|body| matches!(body, Body::StageFinished { stage: Stage::Clean })) {
            BatchState::Closed
        } else if stands(|body| matches!(body, Body::Pitched(_))) {
            BatchState::Pitched
        } else if self.brewed_at().is_some() {
            BatchState::Underway
        } else {
            BatchState::Planned
        }
    }

    /// When the day began: the first thing that happened, getting ready aside.
    #[must_use]
    pub fn brewed_at(&self) -> Option<OffsetDateTime> {
        let ready = |body: &Body| {
            let prepare = matches!(
                body,
                Body::StageStarted { stage: Stage::Prepare } | Body::StageFinished { stage: Stage::Prepare }
            );
            prepare || matches!(body, Body::Check { .. } | Body::Care(_) | Body::Note)
        };
        self.standing.iter().find(|one| !ready(&one.body)).map(|one| one.at)
    }
}
