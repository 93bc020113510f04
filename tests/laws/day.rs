//! A law of the brew day: however its log came in, entry by entry or all at
//! once, it is the same day.

use std::sync::Arc;

use gylebook::brewday::changes::Change;
use gylebook::brewday::chill_now::ChillNow;
use gylebook::brewday::{Batch, BrewDay, CheckLists, Entry, LoggedEntry, Recipe, Summary};
use gylebook::science::chilling::Estimate;
use proptest::prelude::*;
use serde_json::{Value, json};
use time::format_description::well_known::Rfc3339;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

const MORNING: OffsetDateTime = datetime!(2026-03-07 09:00 UTC);

fn batch() -> Batch {
    let recipe = Recipe::from_body(&json!({
        "name": "Law Pale", "volume_l": 20, "boil_min": 60, "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81, "moisture_pct": 4.5, "colour_ebc": 6, "use": "mash"}],
    }));
    Batch {
        id: 1,
        name: "Law Pale".into(),
        recipe_id: 1,
        recipe_revision: 1,
        recipe: recipe.expect("a sound recipe"),
        volume_l: 20.0,
        equipment: Vec::new(),
        tap_c: None,
        altitude_m: None,
        lists: CheckLists::defaults(),
        created_at: MORNING,
        chill_plan: None,
        kettle_loss: None,
    }
}

/// What an entry says; `of` is an entry before it, for an amendment.
fn body(kind: u8, celsius: f64, of: Uuid) -> Value {
    let reading = |place: &str| json!({"kind": "temperature", "place": place, "temperature_c": celsius});
    match kind {
        0 => json!({"kind": "flame_out"}),
        1 => json!({"kind": "cooling_started", "method": "still_bath", "water_l": 18, "water_c": celsius}),
        2 => json!({"kind": "cooling_started", "method": "air"}),
        3 => json!({"kind": "coil_drained", "recovered_l": 1}),
        4 => json!({"kind": "pitched", "yeast": "House ale", "wort_c": celsius}),
        5 => json!({"kind": "flush_started"}),
        6 => json!({"kind": "flush_finished"}),
        7 => json!({"kind": "boil_started"}),
        8 => {
            json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.05, "temperature_c": celsius})
        }
        9 => {
            json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.04, "temperature_c": celsius})
        }
        10 => json!({"kind": "amendment", "of": of, "void": true}),
        11 => json!({"kind": "amendment", "of": of, "replacement": reading("wort")}),
        12..16 => reading("mash"),
        16..18 => reading("bath"),
        _ => reading("wort"),
    }
}

/// A log of up to forty entries; most come in the order they happened.
fn logs() -> impl Strategy<Value = Vec<LoggedEntry>> {
    let step = prop_oneof![8 => 0..20_i64, 1 => -90..0_i64];
    prop::collection::vec((0..40_u8, 1.0..99.0, step, any::<prop::sample::Index>()), 1..40).prop_map(|told| {
        let mut at = MORNING;
        let entries = told.into_iter().enumerate().map(|(index, (kind, celsius, step, of))| {
            at += Duration::minutes(step);
            let id = |index: usize| Uuid::from_u128(index as u128 + 1);
            let mut body = body(kind, celsius, id(of.index(index + 1)));
            body["id"] = json!(id(index));
            body["at"] = json!(at.format(&Rfc3339).expect("a time"));
            let entry = Entry::from_body(&body, at + Duration::days(1), Duration::ZERO).expect("a sound entry");
            LoggedEntry { seq: index as i64 + 1, received_at: at, device: None, entry }
        });
        entries.collect()
    })
}

proptest! {
    #[test]
    fn a_day_that_grew_entry_by_entry_is_the_day_folded_at_once(log in logs()) {
        let mut grown = BrewDay::fold(batch(), Vec::new());
        for logged in log.clone() {
            grown.grow(logged);
        }
        prop_assert_eq!(grown, BrewDay::fold(batch(), log));
    }

}

proptest! {
    // Each folds and fits the day anew at every entry.
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn what_a_day_keeps_worked_out_is_never_that_of_an_earlier_day(log in logs()) {
        let mut grown = BrewDay::fold(batch(), Vec::new());
        for (index, logged) in log.iter().enumerate() {
            grown.grow(logged.clone());
            let fresh = BrewDay::fold(batch(), log[..=index].to_vec());
            prop_assert_eq!(grown.known_summary(), None);
            let summary = Summary::of(&fresh);
            prop_assert_eq!(&Summary::of(&grown), &summary);
            grown.know(&Arc::new(summary));
            for before in &log[..=index] {
                let id = before.entry.id;
                prop_assert_eq!(grown.change(id).as_deref().cloned(), Change::of(&fresh, id));
            }
            let told = |day: &BrewDay, at: OffsetDateTime| {
                let usual = Some(Estimate::from_watts_per_kelvin(120.0, 10.0));
                // Asked twice, by two usual coils: the second time from what is kept.
                [usual, None, usual].map(|usual| format!("{:?}", ChillNow::of(day, usual, at)))
            };
            let at = logged.entry.at + Duration::minutes(1);
            let kept = told(&grown, at);
            prop_assert_eq!(&kept, &told(&fresh, at));
            prop_assert_eq!(&kept[0], &kept[2]);
        }
    }
}
