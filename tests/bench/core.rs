//! The heart's own speed: `cargo bench --bench core`.
//!
//! A day of 10,000 wort readings beside one of 100, so that a ratio can be read
//! off one run. No assertion depends on a clock. For a record that is the same on
//! any machine, count instructions: each part alone, under callgrind,
//!
//! ```sh
//! valgrind --tool=callgrind --callgrind-out-file=/dev/null target/release/deps/core-… once summary
//! ```
//!
//! with `log` (what the next ones stand on, to be taken off), `fold`, `summary`,
//! `joint_fit`, `plan`, `plan_and_what_if` or `chart`. Cargo names the program when
//! it has built it. `once svg | gzip | wc -c` tells what a drawing weighs.
#![expect(clippy::print_stdout, reason = "a drawing is printed to be weighed")]

use std::hint::black_box;

use divan::Bencher;
use gylebook::brewday::chill::Chill;
use gylebook::brewday::chill_plan::{ChillPlanAnswer, ChillPlanRequest, CoilPasses};
use gylebook::brewday::{Batch, BrewDay, CheckLists, Entry, LoggedEntry, Recipe, Summary};
use gylebook::web::chart::{Cooling, Picture, Point};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339, macros::datetime};
use uuid::Uuid;

const MORNING: OffsetDateTime = datetime!(2026-03-07 09:00 UTC);
const READINGS: [usize; 3] = [100, 1_000, 10_000];

/// The most readings a chart is asked for.
const CHART: usize = 100_000;
const LONG: usize = 10_000;

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    match given.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["once", part] => once(part),
        _ => divan::main(),
    }
}

/// One part, once, for a program that counts instructions.
fn once(part: &str) {
    match part {
        "log" => drop(black_box((batch(), log(LONG)))),
        "fold" => drop(black_box(BrewDay::fold(batch(), log(LONG)))),
        "summary" => drop(black_box(Summary::of(&BrewDay::fold(batch(), log(LONG))))),
        "joint_fit" => drop(black_box(chill(LONG).fit())),
        "plan" => drop(black_box(asked().plan(&CoilPasses::given(120.0)))),
        "plan_and_what_if" => drop(black_box(ChillPlanAnswer::of(&asked(), CoilPasses::given(120.0)))),
        "chart" => drop(black_box(drawn(&curve()))),
        "svg" => println!("{}", drawn(&curve())),
        other => panic!("there is no part {other}"),
    }
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

fn chill(readings: usize) -> Chill {
    Chill::of(&BrewDay::fold(batch(), log(readings))).expect("a chill")
}

#[divan::bench(args = READINGS)]
fn joint_fit(bencher: Bencher<'_, '_>, readings: usize) {
    let chill = chill(readings);
    bencher.bench(|| black_box(&chill).fit());
}

/// Three baths, the last with ice, for twenty litres.
fn asked() -> ChillPlanRequest {
    ChillPlanRequest::from_body(&json!({
        "wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
        "baths": [{"water_l": 18, "water_c": 12}, {"water_l": 18, "water_c": 12}, {"water_l": 12, "water_c": 12, "ice_kg": 8}],
    }))
    .expect("a sound question")
}

#[divan::bench]
fn plan(bencher: Bencher<'_, '_>) {
    let (asked, coil) = (asked(), CoilPasses::given(120.0));
    bencher.bench(|| black_box(&asked).plan(&coil));
}

/// The plan with all that could be done otherwise, as its page gives it.
#[divan::bench]
fn plan_and_what_if(bencher: Bencher<'_, '_>) {
    let asked = asked();
    bencher.bench(|| ChillPlanAnswer::of(black_box(&asked), CoilPasses::given(120.0)));
}

fn curve() -> Vec<Point> {
    let celsius = |minute: f64| 14.0 + 83.0 * (-minute / 15.0).exp() + 0.2 * (minute * 102.0).sin();
    (0..CHART).map(|reading| 60.0 * reading as f64 / CHART as f64).map(|x| Point::new(x, celsius(x))).collect()
}

fn drawn(readings: &[Point]) -> Picture {
    Cooling { title: "Bench Pale", unit: "°C", readings, ..Cooling::default() }.svg()
}

#[divan::bench]
fn chart(bencher: Bencher<'_, '_>) {
    let curve = curve();
    bencher.bench(|| drawn(black_box(&curve)));
}
