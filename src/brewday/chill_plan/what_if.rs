//! What stands beside a plan: the other aims, how far the coil's own doubt
//! reaches, and what one change to the baths would do.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{ChillPlan, ChillPlanRequest, CoilPasses, PlannedBath};
use crate::brewday::choices::{Aim, Choice, choices};

/// A bag of ice (common practice, no source).
pub const BAG_KG: f64 = 2.0;
/// How much warmer the tap is taken to run.
pub const WARMER_K: f64 = 3.0;

choices! {
    /// One change to what is at hand.
    Change {
        BucketMore = "bucket_more", "One bucket of water more";
        BagMore = "bag_more", "One bag of ice more";
        BagLess = "bag_less", "One bag of ice less";
        WarmerTap = "warmer_tap", "A warmer tap";
    }
}

/// What a plan comes to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Outcome {
    /// From the coil going in to the end.
    pub minutes: f64,
    /// Wort at the end.
    pub end_c: f64,
    /// Whether that is the target.
    pub reaches_target: bool,
    /// Water in the baths used.
    pub water_l: f64,
    /// Ice used.
    pub ice_kg: f64,
    /// The least ice that still reaches the target.
    pub least_ice_kg: Option<f64>,
}

/// The plan for one aim, in short.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OneAim {
    /// What is to be least.
    pub aim: Aim,
    /// What it comes to.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What one change would do.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhatIf {
    /// The change.
    pub change: Change,
    /// What the plan would come to.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What stands beside a plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Beside {
    /// What the coil was taken to pass.
    pub coil: CoilPasses,
    /// Minutes with the coil one standard deviation better, where both are known to reach the target.
    pub minutes_low: Option<f64>,
    /// Minutes with the coil one standard deviation worse.
    pub minutes_high: Option<f64>,
    /// Least time, least ice, least water.
    pub aims: Vec<OneAim>,
    /// What one change would do to this plan; a change that can't be made is left out.
    pub what_if: Vec<WhatIf>,
}

/// A plan and what stands beside it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChillPlanAnswer {
    /// The plan.
    #[serde(flatten)]
    pub plan: ChillPlan,
    /// What stands beside it.
    #[serde(flatten)]
    pub beside: Beside,
}

impl Outcome {
    fn of(plan: &ChillPlan) -> Self {
        Self {
            minutes: plan.minutes,
            end_c: plan.end_c,
            reaches_target: plan.reaches_target,
            water_l: plan.water_l,
            ice_kg: plan.ice_kg,
            least_ice_kg: plan.least_ice_kg,
        }
    }
}

impl ChillPlanAnswer {
    /// Plans for the aim asked for, and everything that stands beside it.
    #[must_use]
    pub fn of(request: &ChillPlanRequest, coil: CoilPasses) -> Self {
        let plan = request.plan(&coil);
        Self { beside: Beside::of(request, coil, &plan), plan }
    }
}

impl Beside {
    /// What stands beside this plan of a request.
    #[must_use]
    pub fn of(request: &ChillPlanRequest, coil: CoilPasses, plan: &ChillPlan) -> Self {
        let with = |by: f64| {
            let se = coil.se_w_per_k.filter(|_| plan.reaches_target)?;
            let planned = request.planned(coil.conductance_w_per_k + by * se);
            planned.reaches_target.then(|| planned.takes.minutes())
        };
        let aim = |aim: &Aim| {
            let of_aim = ChillPlanRequest { aim: *aim, ..request.clone() };
            let planned = if *aim == request.aim { plan.clone() } else { of_aim.plan(&coil) };
            OneAim { aim: *aim, outcome: Outcome::of(&planned) }
        };
        Self {
            minutes_low: with(1.0),
            minutes_high: with(-1.0),
            aims: Aim::ALL.iter().map(aim).collect(),
            what_if: WhatIf::all(request, &coil),
            coil,
        }
    }
}

impl WhatIf {
    /// What each change would do to the plan of a request.
    #[must_use]
    pub fn all(request: &ChillPlanRequest, coil: &CoilPasses) -> Vec<Self> {
        let one = |change: &Change| {
            let changed = request.changed(*change)?;
            Some(Self { change: *change, outcome: Outcome::of(&changed.plan(coil)) })
        };
        Change::ALL.iter().filter_map(one).collect()
    }
}

impl ChillPlanRequest {
    /// The same with one change to the baths; `None` where it can't be made.
    fn changed(&self, change: Change) -> Option<Self> {
        // Ice at hand that no bath has yet is meant for the last one.
        let mut baths = self.baths.clone();
        let given: f64 = baths.iter().map(|bath| bath.ice_kg).sum();
        let last = baths.last_mut()?;
        last.ice_kg += (self.ice_available_kg.unwrap_or(0.0) - given).max(0.0);
        match change {
            Change::BucketMore => {
                let is_plain = |bath: &&PlannedBath| bath.ice_kg <= 0.0 && bath.water_l > 0.0;
                let iced = last.ice_kg > 0.0;
                let like = baths.iter().find(is_plain).or(baths.first()).filter(|bath| bath.water_l > 0.0)?;
                let bucket = PlannedBath { ice_kg: 0.0, ..*like };
                baths.insert(baths.len() - usize::from(iced), bucket);
            }
            Change::BagMore => last.ice_kg += BAG_KG,
            Change::BagLess => {
                let mut bag = BAG_KG;
                for bath in baths.iter_mut().rev() {
                    let out = bag.min(bath.ice_kg);
                    (bath.ice_kg, bag) = (bath.ice_kg - out, bag - out);
                }
                if bag >= BAG_KG || baths.iter().any(|bath| bath.water_l <= 0.0 && bath.ice_kg <= 0.0) {
                    return None;
                }
            }
            Change::WarmerTap if baths.iter().all(|bath| bath.water_l <= 0.0) => return None,
            Change::WarmerTap => baths.iter_mut().for_each(|bath| bath.water_c += WARMER_K),
        }
        Some(Self { baths, ice_available_kg: None, ..self.clone() })
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn request(baths: &serde_json::Value) -> ChillPlanRequest {
        let body = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 20, "conductance_w_per_k": 130,
            "aim": "time", "baths": baths});
        ChillPlanRequest::from_body(&body).expect("a sound request")
    }

    #[test]
    fn more_water_and_more_ice_are_never_slower_and_less_never_quicker() {
        let baths = json!([{"water_l": 18, "water_c": 13}, {"water_l": 18, "water_c": 13},
            {"water_l": 10, "water_c": 13, "ice_kg": 5}]);
        let answer = ChillPlanAnswer::of(&request(&baths), CoilPasses::learned([130.0, 131.0]).expect("two batches"));
        let minutes = |change| answer.beside.what_if.iter().find(|one| one.change == change).unwrap().outcome.minutes;
        let as_it_is = answer.plan.minutes;
        assert!(minutes(Change::BucketMore) < as_it_is && minutes(Change::BagMore) <= as_it_is + 1e-6);
        assert!(minutes(Change::BagLess) >= as_it_is && minutes(Change::WarmerTap) > as_it_is);
        assert!(answer.beside.minutes_low.unwrap() < as_it_is && answer.beside.minutes_high.unwrap() > as_it_is);
        assert_eq!(answer.beside.aims.len(), 3);
    }

    #[test]
    fn a_change_that_cannot_be_made_is_left_out() {
        let told = |baths| {
            let all = WhatIf::all(&request(&baths), &CoilPasses::given(130.0));
            all.iter().map(|one| one.change).collect::<Vec<_>>()
        };
        let no_ice = told(json!([{"water_l": 18, "water_c": 13}]));
        assert_eq!(no_ice, [Change::BucketMore, Change::BagMore, Change::WarmerTap]);
        let ice_alone = told(json!([{"water_l": 0, "water_c": 0, "ice_kg": 1.5}]));
        assert_eq!(ice_alone, [Change::BagMore]);
    }

    #[test]
    fn baths_too_warm_to_do_it_fall_short_however_long_the_room_would_take() {
        let body = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 22, "conductance_w_per_k": 130,
            "aim": "time", "baths": [{"water_l": 18, "water_c": 18}, {"water_l": 18, "water_c": 18}]});
        let request = ChillPlanRequest::from_body(&body).expect("a sound request");
        let plan = request.plan(&CoilPasses::given(130.0));
        // Each bath at best halves what is above the tap: 97 to 55 to 35 °C. A room at 20 °C is no bath.
        assert!(!plan.reaches_target && plan.end_c > 30.0 && plan.minutes < 45.0, "{plan:?}");
    }
}
