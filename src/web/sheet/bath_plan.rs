//! The baths on the blank sheet: a row for each, planned or to be written.

use crate::brewday::chill_plan::KeptPlan;
use crate::brewday::plausible::Dimension;
use crate::web::Frame;
use crate::web::chill_plan::{PlanRow, PlanTable};

/// Baths a brewer without a plan gets room for.
const USUAL_BATHS: usize = 4;

/// The baths, in the order they are used.
#[derive(Clone, Debug)]
pub(super) struct BathPlan {
    pub(super) rows: Vec<BathRow>,
    /// What the plan comes to; none without a plan.
    pub(super) outcome: Option<String>,
    /// The other ways, the least ice and what one change would do, each in a line.
    pub(super) beside: Vec<String>,
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
        Self { rows: rows.collect(), outcome: None, beside: Vec::new() }
    }

    /// The same with what stands beside the plan.
    pub(super) fn beside(mut self, table: &PlanTable) -> Self {
        let short = |row: &PlanRow| match row.reaches {
            true => format!("{} {}\u{a0}min", row.name.to_lowercase(), row.minutes),
            false => format!("{} ends at {}", row.name.to_lowercase(), row.end),
        };
        let ways = table
            .aims
            .iter()
            .filter(|row| !row.is_this)
            .map(|row| format!("{} with {} water and {} ice", short(row), row.water, row.ice));
        let list = |parts: Vec<String>| parts.join("; ");
        self.beside = vec![
            format!("Or {}. {}", list(ways.collect()), table.least_ice),
            format!("What if: {}.", list(table.what_if.iter().map(short).collect())),
        ];
        self
    }

    /// The plan that was kept with the batch.
    pub(super) fn of(KeptPlan { request, plan, .. }: &KeptPlan, frame: &Frame) -> Self {
        let degrees = |celsius: f64| frame.show(celsius, Dimension::Temperature).to_string();
        let rows = plan.stages.iter().enumerate().map(|(index, stage)| {
            let water =
                request.baths.get(stage.bath).filter(|bath| bath.water_l > 0.0).map(|bath| {
                    format!("{} at {}", frame.show(bath.water_l, Dimension::Volume), degrees(bath.water_c))
                });
            let ice = (stage.ice_kg > 0.0).then(|| format!("{} ice", frame.show(stage.ice_kg, Dimension::Mass)));
            let contents: Vec<String> = water.into_iter().chain(ice).collect();
            let minutes = frame.show((stage.end_min - stage.start_min).round(), Dimension::Minutes);
            BathRow {
                number: index + 1,
                plan: format!("{}: {minutes}, to {}", contents.join(" + "), degrees(stage.wort_end_c)),
            }
        });
        let outcome = format!(
            "{} in {}, with {} of ice.",
            degrees(plan.end_c),
            frame.show(plan.minutes.round(), Dimension::Minutes),
            frame.show(plan.ice_kg, Dimension::Mass)
        );
        Self { rows: rows.collect(), outcome: Some(outcome), beside: Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses};
    use crate::web::page::Light;

    #[test]
    fn each_bath_of_a_plan_has_a_row_with_its_water_its_ice_and_its_turn() {
        let request = ChillPlanRequest::from_body(&json!({
            "wort_l": 20, "wort_plato": 12, "wort_c": 98, "target_c": 19, "aim": "time",
            "conductance_w_per_k": 110, "pass_min": 10, "ice_available_kg": 6,
            "baths": [{"water_l": 18, "water_c": 12, "ice_kg": 0}, {"water_l": 18, "water_c": 12, "ice_kg": 6}],
        }))
        .expect("a request");
        let kept = KeptPlan::of(request, &CoilPasses::given(110.0));
        let told = BathPlan::of(&kept, &Frame::bare(Light::Device));
        assert_eq!(told.rows.len(), kept.plan.stages.len());
        assert!(told.rows[0].plan.starts_with("18.0\u{a0}L at 12.0\u{a0}°C"), "{}", told.rows[0].plan);
        assert!(told.rows.iter().any(|row| row.plan.contains(" ice")), "{:?}", told.rows);
        assert!(told.outcome.is_some_and(|outcome| outcome.contains("min")));
    }
}
