//! What scripts send: entries, records, plans, and an exported batch brought in.

use gylebook::brewday::batch::NewBatch;
use gylebook::brewday::carried::Carried;
use gylebook::brewday::chill_plan::{ChillPlanRequest, CoilPasses};
use gylebook::brewday::{CheckLists, Entry, Equipment, Recipe};
use gylebook::store::Store;
use proptest::prelude::*;
use serde_json::{Value, json};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::{bend, fuzz};

const NOW: OffsetDateTime = datetime!(2026-03-07 12:00 UTC);

/// One sound entry of every kind.
pub(crate) fn entries() -> Vec<Value> {
    let bodies = json!([
        {"kind": "stage_started", "stage": "mash"},
        {"kind": "stage_finished", "stage": "chill"},
        {"kind": "boil_started"},
        {"kind": "flame_out"},
        {"kind": "temperature", "place": "wort", "temperature_c": 66.5},
        {"kind": "volume", "point": "pre_boil", "volume_l": 26.0, "temperature_c": 70.0},
        {"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.04, "temperature_c": 20.0},
        {"kind": "gravity", "point": "first_wort", "instrument": "refractometer", "reading": 18.5, "temperature_c": 21.0},
        {"kind": "ph", "point": "mash", "ph": 5.4},
        {"kind": "addition", "what": "Bittering hop", "mass_kg": 0.04, "planned": 0},
        {"kind": "flush_started", "temperature_c": 95.0},
        {"kind": "flush_finished", "temperature_c": 91.0},
        {"kind": "cooling_started", "method": "running_water", "water_c": 12.0, "flow_l_min": 4.5},
        {"kind": "cooling_started", "method": "ice_bath", "water_l": 17.0, "water_c": 12.0, "ice_kg": 4.0},
        {"kind": "ice_added", "ice_kg": 1.5},
        {"kind": "bath_stirred"},
        {"kind": "coil_drained", "recovered_l": 1.1},
        {"kind": "check", "item": "gloves_ready", "outcome": "skipped", "why": "none to be found"},
        {"kind": "pitched", "yeast": "House ale", "cells_billion": 200.0, "yeast_c": 18.0, "wort_c": 19.0},
        {"kind": "care", "equipment": 1, "act": "weighed", "mass_kg": 3.15, "where": "Shed"},
        {"kind": "note", "note": "Steam."},
        {"kind": "amendment", "of": Uuid::from_u128(1), "why": "misread",
            "replacement": {"kind": "temperature", "place": "wort", "temperature_c": 71.0, "at": "2026-03-07T11:00:00Z"}},
        {"kind": "amendment", "of": Uuid::from_u128(1), "void": true},
    ]);
    let bodies = bodies.as_array().expect("a list").clone();
    bodies
        .into_iter()
        .zip(1_u128..)
        .map(|(mut body, number)| {
            body["id"] = json!(Uuid::from_u128(number));
            body["at"] = json!("2026-03-07T11:30:00Z");
            body["typed"] = json!({"temperature_c": "150 °F"});
            body
        })
        .collect()
}

pub(crate) fn recipe() -> Value {
    json!({
        "name": "Slate Roof Pale", "style": "Pale", "volume_l": 20.0, "boil_min": 60.0, "mash_water_l": 15, "sparge_water_l": 12,
        "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0, "notes": "None.",
        "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81.0, "moisture_pct": 4.5, "colour_ebc": 6.0, "use": "mash"}],
        "hops": [{"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5.0, "form": "pellet", "use": "boil", "min": 60.0}],
        "mash_rests": [{"temperature_c": 66.0, "min": 60.0}],
        "yeast": {"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200.0},
        "other": [{"name": "Kettle finings", "mass_kg": 0.004, "use": "boil", "min": 10.0}],
        "typed": {"hops.0.mass_kg": "1.4 oz"},
    })
}

fn no_answer_is_a_panic<T>(read: Result<T, Vec<gylebook::brewday::Fault>>) {
    if let Err(faults) = read {
        assert!(!faults.is_empty(), "a refusal says why");
        assert!(faults.iter().all(|fault| !fault.why.to_string().is_empty()));
    }
}

#[test]
fn entries_of_every_kind() {
    let errors = prop_oneof![Just(0_i64), -100_000..100_000_i64].prop_map(Duration::seconds);
    fuzz("entries", 1, (bend::record(entries()), errors), |(body, clock_error)| {
        no_answer_is_a_panic(Entry::from_body(&body, NOW, clock_error));
        no_answer_is_a_panic(Entry::from_probe(&body, Uuid::from_u128(9), NOW));
    });
}

#[test]
fn json_as_it_is_sent() {
    let sound: Vec<&'static str> = entries().iter().map(|entry| &*entry.to_string().leak()).collect();
    fuzz("entries as sent", 2, bend::text(&sound), |text| {
        if let Ok(body) = serde_json::from_str::<Value>(&text) {
            no_answer_is_a_panic(Entry::from_body(&body, NOW, Duration::ZERO));
        }
    });
}

#[test]
fn recipes() {
    fuzz("recipes", 2, bend::record(vec![recipe()]), |body| no_answer_is_a_panic(Recipe::from_body(&body)));
}

#[test]
fn equipment_batches_lists_and_plans() {
    let sound = vec![
        json!({"name": "Coil", "kind": "coil", "pass_min": 9.5, "hold_up_l": 1.2, "dry_mass_kg": 2.0, "notes": ""}),
        json!({"name": "Kettle", "kind": "kettle", "volume_l": 35, "dead_space_l": 1, "boil_off_l_per_h": 3.5}),
        json!({"name": "Glass", "kind": "refractometer", "wort_factor": 1.04, "offset": 0.1, "uncertainty": 0.1}),
        json!({"recipe": 1, "name": "Day", "volume_l": 20, "equipment": [1, 2], "tap_c": 12, "altitude_m": 300}),
        json!({"wort_l": 20, "wort_plato": 12, "wort_c": 98, "target_c": 19, "conductance_w_per_k": 150, "aim": "time",
            "ice_available_kg": 10, "change_min": 1, "baths": [{"water_l": 17, "water_c": 12, "ice_kg": 0}, {"water_l": 17, "water_c": 12, "ice_kg": 5}]}),
        serde_json::to_value(CheckLists::defaults()).expect("JSON"),
    ];
    fuzz("equipment, batches, lists, plans", 1, bend::record(sound), |body| {
        no_answer_is_a_panic(Equipment::from_body(&body));
        no_answer_is_a_panic(NewBatch::from_body(&body));
        no_answer_is_a_panic(ChillPlanRequest::from_body(&body));
        no_answer_is_a_panic(CheckLists::from_body(&body));
    });
}

/// A plan that can be read can be computed, whatever it asks.
#[test]
fn plans_are_computed() {
    let sound = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 98, "target_c": 19, "conductance_w_per_k": 150, "aim": "ice",
        "ice_available_kg": 10, "change_min": 1, "baths": [{"water_l": 17, "water_c": 12, "ice_kg": 0}, {"water_l": 17, "water_c": 12, "ice_kg": 5}]});
    fuzz("plans computed", 30, bend::record(vec![sound]), |body| {
        if let Ok(asked) = ChillPlanRequest::from_body(&body) {
            let plan = asked.plan(&CoilPasses::given(150.0));
            assert!(plan.minutes.is_finite() && plan.end_c.is_finite());
        }
    });
}

/// Found by asking the interface for whatever its description allows.
#[test]
fn a_bath_of_next_to_nothing_is_a_bath_of_nothing() {
    let nearly = [2.225_073_858_507e-311, 1.4e-45, 1e-300, 1e-7];
    for (water_l, ice_kg) in nearly.into_iter().flat_map(|some| [(some, 0.0), (0.0, some), (some, some)]) {
        let body = json!({"wort_l": 1.9, "wort_plato": 2.5, "wort_c": 101, "target_c": 34, "conductance_w_per_k": 86071,
            "baths": [{"water_l": 1324, "water_c": 33}, {"water_l": water_l, "water_c": 0, "ice_kg": ice_kg},
                {"water_l": 1982, "water_c": 1}]});
        let plan = ChillPlanRequest::from_body(&body).expect("sound").plan(&CoilPasses::given(86071.0));
        assert!(plan.minutes.is_finite() && plan.end_c <= 34.1, "{water_l} {ice_kg}: {plan:?}");
    }
}

/// An exported batch of a book made for this.
fn exported() -> Value {
    let folder = tempfile::tempdir().expect("a folder");
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(async {
        let store = Store::open(folder.path().join("book.db")).await.expect("a book");
        let recipe = store.add_recipe(&Recipe::from_body(&recipe()).expect("sound"), NOW).await.expect("kept");
        let coil = Equipment::from_body(&json!({"name": "Coil", "kind": "coil"})).expect("sound");
        let coil = store.add_equipment(&coil, NOW).await.expect("kept");
        let batch = NewBatch::from_body(&json!({"recipe": recipe, "equipment": [coil]})).expect("sound");
        let batch = store.start_batch(&batch, NOW).await.expect("kept").expect("sound");
        let entries =
            entries().iter().map(|body| Entry::from_body(body, NOW, Duration::ZERO).expect("sound")).collect();
        store.append(Some(batch), entries, None, NOW).await.expect("kept");
        let carried = store.carry_out(batch).await.expect("read").expect("there");
        store.close().await;
        serde_json::to_value(carried).expect("JSON")
    })
}

#[test]
fn an_exported_batch_brought_in() {
    let exported = exported();
    assert!(Carried::from_body(&exported, NOW).is_ok(), "it begins with a sound one");
    fuzz("import", 10, bend::record(vec![exported]), |body| no_answer_is_a_panic(Carried::from_body(&body, NOW)));
}
