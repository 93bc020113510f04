//! The heart's own speed: `cargo bench --bench core`.
//!
//! A day of 10,000 wort readings beside one of 100, so that a ratio can be read
//! off one run. No assertion depends on a clock.

use std::hint::black_box;

use divan::Bencher;
use gylebook::brewday::{Batch, BrewDay, CheckLists, Entry, LoggedEntry, Recipe, Summary};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339, macros::datetime};
use uuid::Uuid;

const MORNING: OffsetDateTime = datetime!(2026-03-07 09:00 UTC);
const READINGS: [usize; 3] = [100, 1_000, 10_000];

fn main() {
    divan::main();
}

fn batch() -> Batch {
    let recipe = Recipe::from_body(&json!({
        "name": "Bench Pale", "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81, "moisture_pct": 4.5, "colour_ebc": 6, "use": "mash"}],
        "hops": [{"name": "Hop", "mass_kg": 0.04, "alpha_pct": 5, "form": "pellet", "use": "boil", "min": 60}],
        "mash_rests": [{"temperature_c": 66, "min": 60}],
        "yeast": {"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200},
    }))
    .expect("a sound recipe");
    let coil = json!({
        "id": 1, "name": "Coil", "kind": "coil", "volume_l": null, "dead_space_l": null, "hold_up_l": null,
        "dry_mass_kg": null, "boil_off_l_per_h": null, "pass_min": 10.0, "flow_l_min": null, "calibration_c": null,
        "offset": null, "wort_factor": null, "uncertainty": null, "notes": null,
    });
    let whole = json!({
        "id": 1, "name": "Bench Pale", "recipe_id": 1, "recipe_revision": 1, "volume_l": 20.0,
        "recipe": recipe, "equipment": [coil], "tap_c": 12.0, "altitude_m": null, "lists": CheckLists::defaults(),
        "created_at": "2026-03-07T08:00:00Z",
    });
    serde_json::from_value(whole).expect("a sound batch")
}

fn entry(seq: usize, seconds: f64, mut body: Value) -> LoggedEntry {
    let at = MORNING + Duration::seconds_f64(seconds);
    body["id"] = json!(Uuid::from_u128(seq as u128 + 1));
    body["at"] = json!(at.format(&Rfc3339).expect("a time"));
    let entry = Entry::from_body(&body, at, Duration::ZERO).expect("a sound entry");
    LoggedEntry { seq: i64::try_from(seq).expect("a short log") + 1, received_at: at, device: None, entry }
}

/// A chill in three baths, read `readings` times within the hour.
fn log(readings: usize) -> Vec<LoggedEntry> {
    let mut log = vec![entry(0, 0.0, json!({"kind": "flame_out"}))];
    for (bath, start) in [0.0, 900.0, 1800.0].into_iter().enumerate() {
        let body = json!({"kind": "cooling_started", "method": "still_bath", "water_l": 18, "water_c": 12});
        log.push(entry(log.len(), start + bath as f64, body));
    }
    for reading in 0..readings {
        let seconds = 3.0 + 3600.0 * reading as f64 / readings as f64;
        let celsius = 14.0 + 83.0 * (-seconds / 900.0).exp() + 0.2 * (seconds * 1.7).sin();
        let body = json!({"kind": "temperature", "place": "wort", "temperature_c": (celsius * 10.0).round() / 10.0});
        log.push(entry(log.len(), seconds, body));
    }
    log
}

#[divan::bench(args = READINGS)]
fn fold(bencher: Bencher<'_, '_>, readings: usize) {
    let (batch, log) = (batch(), log(readings));
    bencher.with_inputs(|| (batch.clone(), log.clone())).bench_values(|(batch, log)| BrewDay::fold(batch, log));
}

#[divan::bench(args = READINGS)]
fn summary(bencher: Bencher<'_, '_>, readings: usize) {
    let day = BrewDay::fold(batch(), log(readings));
    bencher.bench(|| Summary::of(black_box(&day)));
}
