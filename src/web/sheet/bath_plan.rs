//! The baths on the blank sheet: a row for each, planned or to be written.

use crate::brewday::chill_plan::{ChillPlan, ChillPlanRequest};
use crate::brewday::plausible::Dimension;
use crate::web::Frame;

/// Baths a brewer without a plan gets room for.
const USUAL_BATHS: usize = 4;

/// The baths, in the order they are used.
#[derive(Clone, Debug)]
pub(super) struct BathPlan {
    pub(super) rows: Vec<BathRow>,
    /// What the plan comes to; none without a plan.
    pub(super) outcome: Option<String>,
}

/// A bath's turn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BathRow {
    pub(super) number: usize,
    /// What was planned for it; empty where nothing was.
    pub(super) plan: String,
}

impl BathPlan {
    /// Room to write, without a plan.
    pub(super) fn unplanned() -> Self {
        let rows = (1..=USUAL_BATHS).map(|number| BathRow { number, plan: String::new() });
        Self { rows: rows.collect(), outcome: None }
    }

    /// A plan as it was asked for and answered.
    pub(super) fn of(request: &ChillPlanRequest, plan: &ChillPlan, frame: &Frame) -> Self {
        let degrees = |celsius: f64| frame.show(celsius, Dimension::Temperature).to_string();
        let rows = plan.stages.iter().enumerate().map(|(index, stage)| {
            let water =
                request.baths.get(stage.bath).filter(|bath| bath.water_l > 0.0).map(|bath| {
                    format!("{} at {}", frame.show(bath.water_l, Dimension::Volume), degrees(bath.water_c))
                });
            let ice = (stage.ice_kg > 0.0).then(|| format!("{} ice", frame.show(stage.ice_kg, Dimension::Mass)));
            let contents: Vec<String> = water.into_iter().chain(ice).collect();
            let minutes = frame.show(stage.end_min - stage.start_min, Dimension::Minutes);
            BathRow {
                number: index + 1,
                plan: format!("{}: {minutes}, down to {}", contents.join(" + "), degrees(stage.wort_end_c)),
            }
        });
        let outcome = format!(
            "{} in {}, with {} of ice.",
            degrees(plan.end_c),
            frame.show(plan.minutes, Dimension::Minutes),
            frame.show(plan.ice_kg, Dimension::Mass)
        );
        Self { rows: rows.collect(), outcome: Some(outcome) }
    }
}
