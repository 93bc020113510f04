//! The plan of a batch, wherever a page speaks of it: the one that is kept, else
//! what today's buckets and tap would do.

use super::table::PlanTable;
use super::{aside, defaults, history};
use crate::brewday::chill_plan::{ChillPlanAnswer, ChillPlanRequest, CoilPasses};
use crate::brewday::{BrewDay, Summary};
use crate::web::{App, AppError, Frame};

/// A batch's plan and what stands beside it.
#[derive(Clone, Debug)]
pub(crate) struct BatchPlan {
    /// Whether it is kept with the batch.
    pub(crate) is_kept: bool,
    pub(crate) request: ChillPlanRequest,
    pub(crate) answer: ChillPlanAnswer,
}

impl BatchPlan {
    /// The plan of a batch; `None` where too little is known to make one.
    pub(crate) async fn load(app: &App, day: &BrewDay, summary: &Summary) -> Result<Option<Self>, AppError> {
        if let Some(kept) = &day.batch.chill_plan {
            let (request, coil) = (kept.request.clone(), kept.coil());
            return Self::planned(true, request, coil).await.map(Some);
        }
        let habits = app.store.habits_of(&day.batch).await?;
        let mut body = defaults::today(day, summary, habits);
        // Any coil will do where the batch has none: the usual figure stands in for it.
        body["coil"] = day.batch.chiller().map_or(0, |coil| coil.id).into();
        let Ok(request) = ChillPlanRequest::from_body(&body) else { return Ok(None) };
        let coil = request.coil_passes(history(app, day).await?);
        Self::planned(false, request, coil).await.map(Some)
    }

    async fn planned(is_kept: bool, request: ChillPlanRequest, coil: CoilPasses) -> Result<Self, AppError> {
        aside(move || Self { is_kept, answer: ChillPlanAnswer::of(&request, coil), request }).await
    }

    pub(crate) fn table(&self, frame: &Frame) -> PlanTable {
        PlanTable::of(frame, self.request.aim, &self.answer)
    }
}
