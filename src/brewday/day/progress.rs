//! How far the day has come.

use time::OffsetDateTime;

use super::{BrewDay, Standing};
use crate::brewday::Body;
use crate::brewday::choices::{Choice, GravityPoint, Place, Stage, VolumePoint, choices};

/// How far a stage has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageState {
    /// Nothing of it has happened.
    Ahead,
    /// It is under way.
    Underway,
    /// It was finished.
    Finished,
}

choices! {
    /// Where a batch stands, as the ledger tells it.
    BatchState {
        Planned = "planned", "Planned";
        Brewing = "brewing", "Brewing";
        Fermenting = "fermenting", "Fermenting";
        Closed = "closed", "Closed";
    }
}

impl BatchState {
    /// Whether wort is still being made or cooled: what a probe's reading belongs to.
    #[must_use]
    pub fn in_progress(self) -> bool {
        matches!(self, Self::Planned | Self::Brewing)
    }
}

impl BrewDay {
    /// How far a stage has come. Its own finish decides, and what shows that it is
    /// behind the brewer: who boils has mashed. A stage started after that is open again.
    #[must_use]
    pub fn stage(&self, stage: Stage) -> StageState {
        let said = self.latest(|entry| match entry.body {
            Body::StageStarted { stage: of } if of == stage => Some((StageState::Underway, entry.at)),
            Body::StageFinished { stage: of } if of == stage => Some((StageState::Finished, entry.at)),
            _ => None,
        });
        match (said, self.over_at(stage)) {
            (Some((StageState::Underway, started)), Some(over)) if over >= started => StageState::Finished,
            (Some((state, _)), _) => state,
            (None, Some(_)) => StageState::Finished,
            (None, None) if self.has_entry_of(stage) => StageState::Underway,
            (None, None) => StageState::Ahead,
        }
    }

    /// The stage the brewer is most likely at: the last one under way, else the
    /// first one ahead of everything that was finished.
    #[must_use]
    pub fn current_stage(&self) -> Stage {
        let last = |state| Stage::ALL.iter().rposition(|stage| self.stage(*stage) == state);
        let index = match (last(StageState::Underway), last(StageState::Finished)) {
            (Some(underway), _) => underway,
            (None, Some(finished)) => (finished + 1).min(Stage::ALL.len() - 1),
            (None, None) => 0,
        };
        Stage::ALL[index]
    }

    /// Where the batch stands.
    #[must_use]
    pub fn state(&self) -> BatchState {
        if self.stage(Stage::Clean) == StageState::Finished {
            BatchState::Closed
        } else if self.pitched().is_some() {
            BatchState::Fermenting
        } else if self.standing.is_empty() {
            BatchState::Planned
        } else {
            BatchState::Brewing
        }
    }

    /// When the day began: the first thing that happened, getting ready aside.
    #[must_use]
    pub fn brewed_at(&self) -> OffsetDateTime {
        let first = self.standing.iter().find(|entry| !is_getting_ready(&entry.body));
        first.map_or(self.batch.created_at, |entry| entry.at)
    }

    /// Whether anything was entered on a stage. Of all readings only those of the mash belong to one.
    fn has_entry_of(&self, stage: Stage) -> bool {
        let is_of_it = |entry: &Standing| stage_of(&entry.body) == Some(stage);
        self.events().any(is_of_it) || (stage == Stage::Mash && self.standing.iter().any(is_of_it))
    }

    /// When a single entry shows that a stage is behind the brewer.
    fn over_at(&self, stage: Stage) -> Option<OffsetDateTime> {
        match stage {
            Stage::Mash => self.boil_started(),
            Stage::Boil => self.flame_out(),
            Stage::Chill | Stage::Pitch => self.pitched().map(|(at, _)| at),
            Stage::Prepare | Stage::Clean => None,
        }
    }
}

/// Cleaning a coil the evening before does not make that the day of the brew.
fn is_getting_ready(body: &Body) -> bool {
    matches!(
        body,
        Body::StageStarted { stage: Stage::Prepare }
            | Body::StageFinished { stage: Stage::Prepare }
            | Body::Check { .. }
            | Body::Care(_)
            | Body::Note
    )
}

/// The stage an entry is part of; `None` where it may be part of any.
#[must_use]
pub fn stage_of(body: &Body) -> Option<Stage> {
    match body {
        Body::StageStarted { stage } | Body::StageFinished { stage } => Some(*stage),
        Body::Temperature { place: Place::Mash | Place::StrikeWater, .. }
        | Body::Volume { point: VolumePoint::Strike | VolumePoint::Sparge | VolumePoint::PreBoil, .. }
        | Body::Gravity { point: GravityPoint::FirstWort | GravityPoint::PreBoil, .. } => Some(Stage::Mash),
        Body::BoilStarted
        | Body::FlameOut
        | Body::Addition { .. }
        | Body::FlushStarted { .. }
        | Body::FlushFinished { .. }
        | Body::Volume { point: VolumePoint::PostBoil, .. }
        | Body::Gravity { point: GravityPoint::PostBoil, .. } => Some(Stage::Boil),
        Body::CoolingStarted(_) | Body::IceAdded { .. } | Body::BathStirred | Body::CoilDrained { .. } => {
            Some(Stage::Chill)
        }
        Body::Pitched(_)
        | Body::Volume { point: VolumePoint::IntoFermenter, .. }
        | Body::Gravity { point: GravityPoint::IntoFermenter, .. } => Some(Stage::Pitch),
        _ => None,
    }
}
