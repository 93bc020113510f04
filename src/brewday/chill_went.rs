//! How the chill went against the plan that was kept: bath by bath, and what
//! accounts for the difference.

use super::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan, PlannedBath};
use super::choices::Cooling;
use super::day::CoolingStage;
use super::{BrewDay, Summary};

/// A difference of less is no difference, min.
const WORTH_SAYING_MIN: f64 = 0.5;

/// Planned and actual, side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct ChillWent {
    /// The baths' turns, in order; the longer of the two lists.
    pub turns: Vec<TurnWent>,
    /// From the coil going in to the end, as planned.
    pub planned_min: f64,
    /// Whether the plan got to the target.
    pub plan_reaches: bool,
    /// From the coil going in to the target, as it went.
    pub took_min: Option<f64>,
    /// What accounts for minutes of difference, the most first; empty where the
    /// chill did not get to its target.
    pub causes: Vec<Cause>,
}

/// A bath's turn.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnWent {
    /// As planned.
    pub planned: Option<Turn>,
    /// As it went.
    pub went: Option<Turn>,
}

/// A bath's turn in figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// How it was cooled.
    pub method: Cooling,
    /// How long.
    pub minutes: Option<f64>,
    /// Wort when the coil came out.
    pub wort_end_c: Option<f64>,
    /// Ice that went in.
    pub ice_kg: f64,
}

/// What made the chill longer or shorter than planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cause {
    /// The coil passed so many W/K rather than what was planned: minutes longer.
    Coil {
        /// As planned, W/K.
        planned: f64,
        /// As it was, W/K.
        was: f64,
        /// Minutes longer (shorter where below nil).
        minutes: f64,
    },
    /// Other water or ice than planned: minutes longer.
    Baths {
        /// Minutes longer (shorter where below nil).
        minutes: f64,
    },
    /// When the baths were changed, and everything else: minutes longer.
    Rest {
        /// Minutes longer (shorter where below nil).
        minutes: f64,
    },
}

impl Cause {
    /// Minutes longer than planned; shorter where below nil.
    #[must_use]
    pub const fn minutes(self) -> f64 {
        match self {
            Self::Coil { minutes, .. } | Self::Baths { minutes } | Self::Rest { minutes } => minutes,
        }
    }
}

impl ChillWent {
    /// Against the plan that is kept; `None` without one, or before the coil went in.
    #[must_use]
    pub fn of(day: &BrewDay, summary: &Summary) -> Option<Self> {
        let kept = day.batch.chill_plan.as_ref()?;
        let stages = day.cooling_stages();
        let first = stages.iter().find(|stage| stage.cooling.method != Cooling::Air)?;
        let out_first = day.flame_out().map_or(0.0, |out| (first.started - out).as_seconds_f64() / 60.0);
        let took_min = summary.chill.minutes_to_target.map(|minutes| minutes - out_first);
        let planned = kept.plan.stages.iter().map(|stage| Turn {
            method: if stage.ice_kg > 0.0 { Cooling::IceBath } else { Cooling::StillBath },
            minutes: Some(stage.end_min - stage.start_min),
            wort_end_c: Some(stage.wort_end_c),
            ice_kg: stage.ice_kg,
        });
        let went = stages.iter().zip(&summary.chill.stages).filter(|(stage, _)| stage.cooling.method != Cooling::Air);
        let went = went.map(|(stage, figures)| Turn {
            method: figures.method,
            minutes: figures.minutes,
            wort_end_c: figures.wort_end_c,
            ice_kg: stage.ice_kg(),
        });
        let (planned, went): (Vec<Turn>, Vec<Turn>) = (planned.collect(), went.collect());
        let turn = |index| TurnWent { planned: planned.get(index).copied(), went: went.get(index).copied() };
        let causes = took_min.filter(|_| kept.plan.reaches_target).map(|took| causes(kept, &stages, summary, took));
        Some(Self {
            turns: (0..planned.len().max(went.len())).map(turn).collect(),
            planned_min: kept.plan.minutes,
            plan_reaches: kept.plan.reaches_target,
            took_min,
            causes: causes.unwrap_or_default(),
        })
    }
}

/// The plan made again with the day's coil, then with its baths as well: each
/// step's minutes are that thing's, what is left is everything else.
fn causes(kept: &KeptPlan, stages: &[CoolingStage], summary: &Summary, took: f64) -> Vec<Cause> {
    let minutes = |request: &ChillPlanRequest, coil: &CoilPasses| {
        let plan = request.plan(coil);
        plan.reaches_target.then_some(plan.minutes)
    };
    let mut causes = Vec::new();
    let (mut coil, mut so_far) = (kept.coil(), kept.plan.minutes);
    if let Some(was) = summary.chill.conductance_w_per_k {
        let other = CoilPasses::given(was);
        if let Some(with) = minutes(&kept.request, &other) {
            let planned = coil.conductance_w_per_k;
            causes.push(Cause::Coil { planned, was, minutes: with - so_far });
            (coil, so_far) = (other, with);
        }
    }
    let request = baths_as_they_were(stages).map(|baths| ChillPlanRequest {
        baths,
        ice_available_kg: None,
        ..kept.request.clone()
    });
    if let Some(with) = request.and_then(|request| minutes(&request, &coil)) {
        causes.push(Cause::Baths { minutes: with - so_far });
        so_far = with;
    }
    causes.push(Cause::Rest { minutes: took - so_far });
    causes.retain(|cause| cause.minutes().abs() >= WORTH_SAYING_MIN);
    causes.sort_by(|one, other| other.minutes().abs().total_cmp(&one.minutes().abs()));
    causes
}

/// The baths as they were logged; none where one of them is not known, or water ran.
fn baths_as_they_were(stages: &[CoolingStage]) -> Option<Vec<PlannedBath>> {
    let coils = stages.iter().filter(|stage| stage.cooling.method != Cooling::Air);
    let bath = |stage: &CoolingStage| match stage.cooling.method {
        Cooling::StillBath | Cooling::IceBath => Some(PlannedBath {
            water_l: stage.cooling.water_l?,
            water_c: stage.cooling.water_c.or((stage.cooling.method == Cooling::IceBath).then_some(0.0))?,
            ice_kg: stage.ice_kg(),
        }),
        Cooling::RunningWater | Cooling::Air => None,
    };
    coils.map(bath).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::testing::Day;

    #[test]
    fn each_bath_stands_beside_its_plan_and_the_causes_add_up() {
        let day = Day::ordinary();
        let mut folded = day.fold();
        let body = json!({"wort_l": 21, "wort_plato": 12, "wort_c": 97, "target_c": 20, "conductance_w_per_k": 100,
            "pass_min": null, "baths": [{"water_l": 18, "water_c": 12}, {"water_l": 18, "water_c": 12},
            {"water_l": 10, "water_c": 12, "ice_kg": 6}], "aim": "time"});
        let request = ChillPlanRequest::from_body(&body).expect("a sound request");
        folded.batch.chill_plan = Some(KeptPlan::of(request, &CoilPasses::given(100.0)));
        let summary = Summary::of(&folded);
        let went = ChillWent::of(&folded, &summary).expect("a plan and a chill");
        assert!(went.turns.iter().all(|turn| turn.planned.is_some() && turn.went.is_some()), "{went:#?}");
        let took = went.took_min.expect("it got there");
        let told: f64 = went.causes.iter().map(|cause| cause.minutes()).sum();
        // Causes below half a minute are left out: at most three of them.
        assert!((told - (took - went.planned_min)).abs() <= 1.5, "{went:#?}");
        let coil = went.causes.iter().find(|cause| matches!(cause, Cause::Coil { .. })).expect("another coil");
        let slower = summary.chill.conductance_w_per_k.expect("a fit") < 100.0;
        assert_eq!(coil.minutes() > 0.0, slower, "{went:#?}");
    }
}
