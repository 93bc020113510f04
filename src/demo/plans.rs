//! The chill plan the yard made beforehand, with what its coil had shown until then.

use serde_json::json;

use super::cold::{BUCKET_L, ICE_WATER_L};
use super::day::{Script, Way};
use super::{DemoError, unsound};
use crate::brewday::Batch;
use crate::brewday::chill_plan::{ChillPlanRequest, KeptPlan};
use crate::brewday::plan::DayPlan;
use crate::store::Store;

/// Ice kept in the freezer for the last degrees, meant for the last bath.
const BAGS_KG: f64 = 3.0;

/// Plans a chill in buckets; tap water and a night in the yard are not planned.
pub(super) async fn planned(store: &Store, batch: &Batch, script: &Script) -> Result<Option<KeptPlan>, DemoError> {
    let (Way::ShortCoil { minutes, ice_kg, .. } | Way::LongCoil { minutes, ice_kg, .. }) = script.way else {
        return Ok(None);
    };
    let Some(coil) = batch.chiller() else { return Ok(None) };
    let expected = DayPlan::of_batch(batch, store.habits_of(batch).await?).expected;
    let tenth = |value: f64| (value * 10.0).round() / 10.0;
    let mut baths = vec![json!({"water_l": BUCKET_L, "water_c": batch.tap_c}); minutes.len()];
    baths.push(json!({"water_l": ICE_WATER_L, "water_c": batch.tap_c, "ice_kg": ice_kg + BAGS_KG}));
    let body = json!({
        "wort_l": tenth(expected.post_boil_l), "wort_plato": tenth(expected.original_plato), "wort_c": 97,
        "target_c": batch.recipe.target_pitch_c, "coil": coil.id, "pass_min": coil.equipment.pass_min,
        "change_min": 0.5, "baths": baths, "aim": "time",
    });
    let request = ChillPlanRequest::from_body(&body).map_err(|faults| unsound("chill plan", &faults))?;
    let runs = store.coil_tells(coil.id).await?;
    let told = runs.iter().filter(|run| run.of_baths).map(|run| run.conductance_w_per_k);
    let passes = request.coil_passes(told);
    Ok(Some(KeptPlan::of(request, &passes)))
}
