//! A brew day in a book: what the pages about a whole batch are asked about.

use gylebook::{
    brewday::{Entry, Equipment, Recipe, batch::NewBatch},
    store::Store,
};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339, macros::datetime};
use uuid::Uuid;

/// When the first day begins; each batch after it is a week later.
pub(crate) const MORNING: OffsetDateTime = datetime!(2026-03-07 09:00 UTC);

/// The body of a recipe for 20 litres, with these hops and fermentables.
pub(crate) fn recipe(name: &str, fermentables: Value, hops: Value) -> Value {
    json!({
        "name": name, "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": fermentables, "hops": hops,
        "mash_rests": [{"temperature_c": 66, "min": 60}],
    })
}

/// A pale ale with all its rows.
pub(crate) fn pale(name: &str) -> Value {
    let malt = json!([{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81, "moisture_pct": 4.5, "colour_ebc": 6, "use": "mash"}]);
    let hops = json!([
        {"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5, "form": "pellet", "use": "boil", "min": 60},
        {"name": "Late hop", "mass_kg": 0.03, "alpha_pct": 6, "form": "pellet", "use": "flame_out", "min": 0},
    ]);
    let mut body = recipe(name, malt, hops);
    body["yeast"] = json!({"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200});
    body
}

/// Starts a batch of a recipe, with a coil, a hydrometer and a kettle of its own.
pub(crate) async fn start(store: &Store, recipe: Value) -> i64 {
    let recipe = Recipe::from_body(&recipe).expect("a sound recipe");
    let recipe = store.add_recipe(&recipe, MORNING).await.expect("kept");
    let mut equipment = Vec::new();
    for body in [
        json!({"name": "Copper coil", "kind": "coil", "pass_min": 10, "hold_up_l": 1.2}),
        json!({"name": "Hydrometer", "kind": "hydrometer", "calibration_c": 20}),
        json!({"name": "Tall kettle", "kind": "kettle", "volume_l": 36, "boil_off_l_per_h": 3.5}),
    ] {
        let piece = Equipment::from_body(&body).expect("sound equipment");
        equipment.push(store.add_equipment(&piece, MORNING).await.expect("kept"));
    }
    start_on(store, recipe, equipment).await
}

/// Starts a batch of a recipe in the book on equipment in the book.
pub(crate) async fn start_on(store: &Store, recipe: i64, equipment: Vec<i64>) -> i64 {
    let new = NewBatch {
        recipe,
        name: None,
        volume_l: None,
        equipment,
        tap_c: Some(12.0),
        altitude_m: None,
        typed: Default::default(),
    };
    store.start_batch(&new, MORNING).await.expect("the book is writable").expect("it is all in the book")
}

/// A log being written, in minutes of the batch's day.
pub(crate) struct Log {
    batch: i64,
    entries: Vec<Entry>,
}

impl Log {
    pub(crate) fn of(batch: i64) -> Self {
        Self { batch, entries: Vec::new() }
    }

    /// Adds an entry so many minutes into the day, and gives its id.
    pub(crate) fn at(&mut self, minutes: f64, mut body: Value) -> Uuid {
        let day = MORNING + Duration::days(7 * (self.batch - 1));
        let at = day + Duration::seconds_f64(minutes * 60.0);
        let number = u128::try_from(self.batch).expect("counted from one") * 1_000_000;
        let id = Uuid::from_u128(number + self.entries.len() as u128 + 1);
        body["id"] = json!(id);
        body["at"] = json!(at.format(&Rfc3339).expect("a time"));
        self.entries.push(Entry::from_body(&body, at, Duration::ZERO).expect("a sound entry"));
        id
    }

    pub(crate) async fn write(self, store: &Store) {
        let now = self.entries.last().expect("something was logged").at;
        let receipt = store.append(Some(self.batch), self.entries, None, now).await.expect("kept").expect("a batch");
        assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
    }
}

/// A whole ordinary day; the wort falls through each of two baths and some ice.
pub(crate) fn ordinary(batch: i64) -> Log {
    let mut log = Log::of(batch);
    log.at(-60.0, json!({"kind": "stage_started", "stage": "prepare"}));
    for (index, item) in ["kettle_clean", "coil_rinsed", "leaks_checked", "outlets_protected"].iter().enumerate() {
        log.at(-50.0 + index as f64, json!({"kind": "check", "item": item, "outcome": "done"}));
    }
    log.at(-40.0, json!({"kind": "check", "item": "gas_outdoors", "outcome": "skipped", "why": "electric kettle"}));
    log.at(0.0, json!({"kind": "stage_started", "stage": "mash"}));
    log.at(5.0, json!({"kind": "volume", "point": "strike", "volume_l": 15, "temperature_c": 20}));
    log.at(10.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 66}));
    log.at(15.0, json!({"kind": "ph", "point": "mash", "ph": 5.4, "note": "After ten minutes, cooled."}));
    log.at(90.0, json!({"kind": "volume", "point": "pre_boil", "volume_l": 26, "temperature_c": 70}));
    log.at(90.0, json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.040, "temperature_c": 20}));
    log.at(95.0, json!({"kind": "stage_finished", "stage": "mash"}));
    log.at(100.0, json!({"kind": "boil_started"}));
    log.at(100.0, json!({"kind": "addition", "what": "Bittering hop", "mass_kg": 0.04, "planned": 0}));
    log.at(150.0, json!({"kind": "flush_started", "temperature_c": 95}));
    log.at(151.5, json!({"kind": "flush_finished", "temperature_c": 90}));
    log.at(160.0, json!({"kind": "flame_out"}));
    log.at(160.0, json!({"kind": "volume", "point": "post_boil", "volume_l": 22.5, "temperature_c": 98}));
    log.at(160.0, json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.046, "temperature_c": 20}));
    let mut wort = 96.0;
    for (index, (limit, ice_kg)) in [(52.0, 0.0), (33.0, 0.0), (16.0, 6.0)].into_iter().enumerate() {
        let start = 161.0 + 10.0 * index as f64;
        let method = if ice_kg > 0.0 { "ice_bath" } else { "still_bath" };
        log.at(
            start,
            json!({"kind": "cooling_started", "method": method, "water_l": 18, "water_c": 12, "ice_kg": ice_kg}),
        );
        for step in 1..=4 {
            let minutes = 2.4 * f64::from(step);
            let now: f64 = limit + (wort - limit) * (-0.25 * minutes).exp();
            log.at(
                start + minutes,
                json!({"kind": "temperature", "place": "wort", "temperature_c": (now * 10.0).round() / 10.0}),
            );
        }
        wort = limit + (wort - limit) * (-2.5_f64).exp();
    }
    for (minutes, celsius) in [(195.0, 19.2), (199.0, 19.0), (203.0, 19.1), (206.0, 19.0)] {
        log.at(minutes, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
    }
    log.at(207.0, json!({"kind": "coil_drained", "recovered_l": 1.1}));
    log.at(208.0, json!({"kind": "volume", "point": "into_fermenter", "volume_l": 20.2, "temperature_c": 19}));
    log.at(209.0, json!({"kind": "gravity", "point": "into_fermenter", "instrument": "hydrometer", "reading": 1.046, "temperature_c": 19}));
    log.at(210.0, json!({"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18, "wort_c": 19}));
    log.at(240.0, json!({"kind": "stage_finished", "stage": "clean"}));
    log
}
