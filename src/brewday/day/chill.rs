//! The chill as the log tells it: cooling stages and what happened in them.

use time::OffsetDateTime;
use uuid::Uuid;

use super::BrewDay;
use crate::brewday::Body;
use crate::brewday::choices::{Place, Stage};
use crate::brewday::entry::CoolingStarted;

/// One cooling stage: from the moment something new took the heat until the next did.
#[derive(Clone, Debug, PartialEq)]
pub struct CoolingStage {
    /// The entry that began it.
    pub id: Uuid,
    /// When it began.
    pub started: OffsetDateTime,
    /// When it ended; `None` while it goes on.
    pub ended: Option<OffsetDateTime>,
    /// What takes the heat, as it was entered: its temperature as shown.
    pub cooling: CoolingStarted,
    /// What happened to the bath meanwhile, in order.
    pub events: Vec<(OffsetDateTime, ChillEvent)>,
}

/// Something that happens to a bath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ChillEvent {
    /// This much ice went in.
    Ice(f64),
    /// It was stirred.
    Stirred,
    /// The bath's own temperature was read; corrected.
    BathRead(f64),
}

impl CoolingStage {
    /// All the ice that went in, kg.
    #[must_use]
    pub fn ice_kg(&self) -> f64 {
        let added =
            self.events.iter().map(|(_, event)| if let ChillEvent::Ice(ice_kg) = event { *ice_kg } else { 0.0 });
        self.cooling.ice_kg.unwrap_or(0.0) + added.sum::<f64>()
    }
}

impl BrewDay {
    /// The cooling stages, in order.
    ///
    /// A stage ends where the next begins, and the last one where the coil is
    /// drained, the chill is finished or the yeast goes in.
    #[must_use]
    pub fn cooling_stages(&self) -> Vec<CoolingStage> {
        let mut stages: Vec<CoolingStage> = Vec::new();
        for entry in &self.standing {
            let open = stages.last_mut().filter(|stage| stage.ended.is_none());
            match (&entry.body, open) {
                (Body::CoolingStarted(cooling), open) => {
                    if let Some(stage) = open {
                        stage.ended = Some(entry.at);
                    }
                    stages.push(CoolingStage {
                        id: entry.id,
                        started: entry.at,
                        ended: None,
                        cooling: cooling.clone(),
                        events: Vec::new(),
                    });
                }
                (Body::IceAdded { ice_kg }, Some(stage)) => stage.events.push((entry.at, ChillEvent::Ice(*ice_kg))),
                (Body::BathStirred, Some(stage)) => stage.events.push((entry.at, ChillEvent::Stirred)),
                (Body::Temperature { place: Place::Bath, temperature_c }, Some(stage)) => {
                    stage.events.push((entry.at, ChillEvent::BathRead(self.true_c(*temperature_c))));
                }
                (
                    Body::CoilDrained { .. } | Body::Pitched(_) | Body::StageFinished { stage: Stage::Chill },
                    Some(stage),
                ) => stage.ended = Some(entry.at),
                _ => {}
            }
        }
        stages
    }
}
