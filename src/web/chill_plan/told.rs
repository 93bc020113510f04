//! A plan as the page tells it.

use super::table::least_ice;
use crate::brewday::BrewDay;
use crate::brewday::chill_plan::{KeptPlan, PlannedStage};
use crate::brewday::choices::{Aim, Choice};
use crate::brewday::plausible::Dimension;
use crate::web::Frame;

/// A chill that takes longer waits for a bath that is nearly as warm as the wort
/// (common practice, no source).
const SLOW_MIN: f64 = 90.0;

/// The plan for one aim.
#[derive(Clone, Debug)]
pub(super) struct AimTold {
    pub(super) aim: Aim,
    /// The minutes, large.
    pub(super) minutes: String,
    /// Where it ends, and whether that is the target.
    pub(super) end: String,
    pub(super) reaches: bool,
    pub(super) water: String,
    pub(super) ice: String,
    /// What to do, bath by bath.
    pub(super) steps: Vec<StepTold>,
    /// Whether most of it is waiting for the last degrees.
    pub(super) is_slow: bool,
    /// The least ice that still gets there, in a sentence.
    pub(super) least_ice: String,
}

/// One bath's turn.
#[derive(Clone, Debug)]
pub(super) struct StepTold {
    /// "Bath 2"
    pub(super) bath: String,
    /// When the coil goes in and comes out.
    pub(super) from: String,
    pub(super) to: String,
    pub(super) wort: String,
    pub(super) bath_end: String,
    pub(super) ice: String,
}

impl AimTold {
    pub(super) fn of(frame: &Frame, kept: &KeptPlan) -> Self {
        let plan = &kept.plan;
        let show = |value, dimension| frame.show(value, dimension).to_string();
        let ice = |kg: f64| show((kg * 10.0).round() / 10.0, Dimension::Mass);
        Self {
            aim: kept.request.aim,
            minutes: format!("{:.0}", plan.minutes),
            end: show(plan.end_c, Dimension::Temperature),
            reaches: plan.reaches_target,
            is_slow: plan.reaches_target && plan.minutes > SLOW_MIN,
            water: show(plan.water_l, Dimension::Volume),
            ice: ice(plan.ice_kg),
            steps: plan.stages.iter().map(|stage| StepTold::of(frame, stage)).collect(),
            least_ice: least_ice(frame, plan.least_ice_kg),
        }
    }
}

impl StepTold {
    fn of(frame: &Frame, stage: &PlannedStage) -> Self {
        let celsius = |celsius| frame.show(celsius, Dimension::Temperature);
        let ice = match (stage.ice_kg > 0.0, stage.ice_left_kg > 0.05) {
            (false, _) => String::new(),
            (true, left) => {
                let put_in = frame.show((stage.ice_kg * 10.0).round() / 10.0, Dimension::Mass);
                if left { format!("{put_in}, not all melts") } else { put_in.to_string() }
            }
        };
        Self {
            bath: format!("Bath {}", stage.bath + 1),
            from: format!("{:.0}", stage.start_min),
            to: format!("{:.0}", stage.end_min),
            wort: format!("{} to {}", celsius(stage.wort_start_c).text, celsius(stage.wort_end_c)),
            bath_end: celsius(stage.bath_end_c).to_string(),
            ice,
        }
    }
}

/// What every one of the plans rests on, and what some do.
pub(super) fn assumptions(frame: &Frame, plans: &[KeptPlan]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for sentence in plans.iter().flat_map(|kept| &kept.plan.assumptions).map(|said| frame.speak(said)) {
        if !all.contains(&sentence) {
            all.push(sentence);
        }
    }
    all
}

/// The plan that is kept.
#[derive(Clone, Debug)]
pub(super) struct KeptTold {
    pub(super) aim: &'static str,
    pub(super) planned: String,
}

impl KeptTold {
    pub(super) fn of(frame: &Frame, day: &BrewDay) -> Option<Self> {
        let kept = day.batch.chill_plan.as_ref()?;
        let told = AimTold::of(frame, kept);
        Some(Self {
            aim: kept.request.aim.label(),
            planned: format!(
                "{} min from the coil going in to {}, with {} of water and {} of ice.",
                told.minutes, told.end, told.water, told.ice
            ),
        })
    }
}
