//! A plan beside the other aims, and what one change would do: one small table.

use crate::brewday::chill_plan::{BAG_KG, Beside, Change, ChillPlanAnswer, OneAim, Outcome, WARMER_K, WhatIf};
use crate::brewday::choices::{Aim, Choice};
use crate::brewday::plausible::Dimension;
use crate::web::Frame;

/// The rows of a comparison of plans.
#[derive(Clone, Debug)]
pub(crate) struct PlanTable {
    /// Least time, least ice, least water.
    pub(crate) aims: Vec<PlanRow>,
    /// What one change to the baths would do.
    pub(crate) what_if: Vec<PlanRow>,
    /// "24 to 31 min, as far as the coil's own batches differ"
    pub(crate) range: Option<String>,
    /// The least ice that still gets there, in a sentence.
    pub(crate) least_ice: String,
    /// What the coil is planned with, and where from.
    pub(crate) coil: String,
}

/// One plan in short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PlanRow {
    pub(crate) name: String,
    /// Whether this is the plan the others are held against.
    pub(crate) is_this: bool,
    pub(crate) minutes: String,
    /// Against this plan: "+3", "−2", "as long".
    pub(crate) apart: String,
    pub(crate) end: String,
    pub(crate) reaches: bool,
    pub(crate) water: String,
    pub(crate) ice: String,
}

impl PlanTable {
    pub(crate) fn of(frame: &Frame, aim: Aim, answer: &ChillPlanAnswer) -> Self {
        let Beside { coil, minutes_low, minutes_high, aims, .. } = &answer.beside;
        let against = answer.plan.reaches_target.then_some(answer.plan.minutes);
        let row = |one: &OneAim| PlanRow {
            is_this: one.aim == aim,
            ..PlanRow::of(frame, one.aim.label().to_owned(), &one.outcome, against)
        };
        let range = minutes_low.zip(*minutes_high).map(|(low, high)| {
            let (low, high) =
                (frame.show(low.round(), Dimension::Minutes).text, frame.show(high.round(), Dimension::Minutes));
            format!("{low} to {high} with the coil as it varies from batch to batch")
        });
        Self {
            aims: aims.iter().map(row).collect(),
            what_if: what_if_rows(frame, &answer.beside.what_if, against),
            range,
            least_ice: least_ice(frame, answer.plan.least_ice_kg),
            coil: format!("The coil passes {}.", coil.in_short()),
        }
    }
}

impl PlanRow {
    fn of(frame: &Frame, name: String, outcome: &Outcome, against: Option<f64>) -> Self {
        let show = |value: f64, dimension| frame.show(value, dimension).to_string();
        let apart = against.filter(|_| outcome.reaches_target).map(|against| (outcome.minutes - against).round());
        Self {
            name,
            is_this: false,
            minutes: format!("{:.0}", outcome.minutes),
            apart: match apart {
                None => String::new(),
                Some(more) if more >= 1.0 => format!("+{more:.0}"),
                Some(less) if less <= -1.0 => format!("−{:.0}", -less),
                Some(_) => "as long".to_owned(),
            },
            end: show(outcome.end_c, Dimension::Temperature),
            reaches: outcome.reaches_target,
            water: show(outcome.water_l, Dimension::Volume),
            ice: show((outcome.ice_kg * 10.0).round() / 10.0, Dimension::Mass),
        }
    }
}

/// What each change would do, against a plan's minutes.
pub(crate) fn what_if_rows(frame: &Frame, all: &[WhatIf], against: Option<f64>) -> Vec<PlanRow> {
    all.iter().map(|one| PlanRow::of(frame, named(frame, one.change), &one.outcome, against)).collect()
}

fn named(frame: &Frame, change: Change) -> String {
    match change {
        Change::BucketMore => change.label().to_owned(),
        Change::BagMore | Change::BagLess => {
            format!("{} ({})", change.label(), frame.show(BAG_KG, Dimension::Mass))
        }
        Change::WarmerTap => format!("A tap {} warmer", frame.show(WARMER_K, Dimension::TemperatureDifference)),
    }
}

/// The least ice that still gets there, in a sentence.
pub(crate) fn least_ice(frame: &Frame, least_ice_kg: Option<f64>) -> String {
    match least_ice_kg {
        Some(least) if least <= 0.0 => "These baths get there without ice.".to_owned(),
        Some(least) => {
            // A little less would not do, so up to the next tenth.
            let least = frame.show((least * 10.0).ceil() / 10.0, Dimension::Mass);
            format!("The least ice that still gets there is {least}, in the last bath.")
        }
        None => "No amount of ice in the last bath gets there.".to_owned(),
    }
}
