//! What the form is filled with: the plan that is kept, else what is known today.

use serde_json::{Value, json};

use crate::brewday::choices::EquipmentKind;
use crate::brewday::plan::{DayPlan, Habits};
use crate::brewday::{BrewDay, Summary};
use crate::web::Frame;
use crate::web::form::Form;

/// A wort that has just boiled, when the coil goes in (common practice, no source).
const HOT_C: f64 = 97.0;
const CHANGE_MIN: f64 = 1.0;

pub(super) fn form(frame: &Frame, day: &BrewDay, summary: &Summary, habits: Habits) -> Form {
    let body = match &day.batch.chill_plan {
        Some(kept) => serde_json::to_value(&kept.request).unwrap_or(Value::Null),
        None => today(day, summary, habits),
    };
    Form::filled(frame, &body).with("coil", super::coil_id(day))
}

/// The wort as measured, else as the recipe should give it; every bucket full
/// from the tap.
pub(super) fn today(day: &BrewDay, summary: &Summary, habits: Habits) -> Value {
    let batch = &day.batch;
    let expected = DayPlan::of_batch(batch, habits).expected;
    let coil = batch.chiller().map(|record| &record.equipment);
    let litres = batch.all(EquipmentKind::Bucket).filter_map(|record| record.equipment.volume_l);
    let baths: Vec<Value> = litres.map(|water_l| json!({"water_l": water_l, "water_c": batch.tap_c})).collect();
    json!({
        "wort_l": rounded(summary.volume.post_boil_l.unwrap_or(expected.post_boil_l), 10.0),
        "wort_plato": rounded(summary.gravity.post_boil_plato.unwrap_or(expected.original_plato), 10.0),
        "wort_c": HOT_C,
        "target_c": batch.recipe.target_pitch_c,
        "pass_min": coil.and_then(|coil| coil.pass_min),
        "change_min": CHANGE_MIN,
        "baths": baths,
    })
}

/// To as many parts of one as a field is worth.
fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}
