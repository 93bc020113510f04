//! A batch and a log in a few lines, for the tests of this room.

use serde_json::{Value, json};
use time::{Duration, OffsetDateTime, macros::datetime};
use uuid::Uuid;

use super::choices::EquipmentKind;
use super::{Batch, BrewDay, CheckLists, Entry, Equipment, EquipmentRecord, LoggedEntry, Recipe};

/// When the test day begins.
pub(crate) const MORNING: OffsetDateTime = datetime!(2026-03-07 09:00 UTC);

/// A pale ale of 20 L.
pub(crate) fn recipe() -> Recipe {
    Recipe::from_body(&json!({
        "name": "Slate Roof Pale", "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [
            {"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81, "moisture_pct": 4.5, "colour_ebc": 6, "use": "mash"},
        ],
        "hops": [
            {"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5, "form": "pellet", "use": "boil", "min": 60},
            {"name": "Late hop", "mass_kg": 0.03, "alpha_pct": 6, "form": "pellet", "use": "flame_out", "min": 0},
        ],
        "mash_rests": [{"temperature_c": 66, "min": 60}],
        "yeast": {"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200},
    }))
    .expect("the test recipe is sound")
}

/// A piece of equipment of a kind, with more of its fields.
pub(crate) fn equipment(id: i64, kind: EquipmentKind, fields: Value) -> EquipmentRecord {
    let mut body = fields;
    body["name"] = json!(format!("Number {id}"));
    body["kind"] = json!(super::choices::Choice::key(kind));
    let equipment = Equipment::from_body(&body).expect("the test equipment is sound");
    EquipmentRecord { id, equipment, care: Default::default() }
}

/// A day being written down, entry by entry.
pub(crate) struct Day {
    pub(crate) batch: Batch,
    pub(crate) log: Vec<LoggedEntry>,
}

impl Day {
    /// A batch of the test recipe with a coil, a hydrometer and a kettle.
    pub(crate) fn new() -> Self {
        Self {
            batch: Batch {
                id: 1,
                name: "Slate Roof Pale".into(),
                recipe_id: 1,
                recipe_revision: 1,
                recipe: recipe(),
                volume_l: 20.0,
                equipment: vec![
                    equipment(1, EquipmentKind::Coil, json!({"pass_min": 10, "hold_up_l": 1.2, "dry_mass_kg": 3.1})),
                    equipment(2, EquipmentKind::Hydrometer, json!({"calibration_c": 20})),
                    equipment(3, EquipmentKind::Kettle, json!({"volume_l": 36})),
                ],
                tap_c: Some(12.0),
                altitude_m: None,
                lists: CheckLists::defaults(),
                created_at: MORNING,
                chill_plan: None,
                kettle_loss: None,
            },
            log: Vec::new(),
        }
    }

    /// Writes an entry so many minutes into the day and returns its id.
    pub(crate) fn at(&mut self, minutes: f64, mut body: Value) -> Uuid {
        let seq = i64::try_from(self.log.len()).expect("a short log") + 1;
        let id = Uuid::from_u128(u128::try_from(seq).expect("counted from one"));
        let at = MORNING + Duration::seconds_f64(minutes * 60.0);
        body["id"] = json!(id.to_string());
        body["at"] = json!(at.format(&time::format_description::well_known::Rfc3339).expect("a time"));
        let entry = Entry::from_body(&body, at, Duration::ZERO).expect("the test entry is sound");
        self.log.push(LoggedEntry { seq, received_at: at, device: None, entry });
        id
    }

    /// The day as it stands.
    pub(crate) fn fold(&self) -> BrewDay {
        BrewDay::fold(self.batch.clone(), self.log.clone())
    }

    /// A whole ordinary day.
    pub(crate) fn ordinary() -> Self {
        let mut day = Self::new();
        day.at(-30.0, json!({"kind": "care", "equipment": 1, "act": "cleaned"}));
        day.at(0.0, json!({"kind": "stage_started", "stage": "mash"}));
        day.at(5.0, json!({"kind": "volume", "point": "strike", "volume_l": 15, "temperature_c": 20}));
        day.at(10.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 66}));
        day.at(70.0, json!({"kind": "gravity", "point": "first_wort", "instrument": "refractometer", "reading": 18, "temperature_c": 20}));
        day.at(90.0, json!({"kind": "volume", "point": "pre_boil", "volume_l": 26, "temperature_c": 70}));
        day.at(90.0, json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.040, "temperature_c": 20}));
        day.at(100.0, json!({"kind": "boil_started"}));
        day.at(100.0, json!({"kind": "addition", "what": "Bittering hop", "mass_kg": 0.04, "planned": 0}));
        day.at(150.0, json!({"kind": "flush_started", "temperature_c": 95}));
        day.at(151.5, json!({"kind": "flush_finished", "temperature_c": 90}));
        day.at(160.0, json!({"kind": "flame_out"}));
        day.at(160.0, json!({"kind": "volume", "point": "post_boil", "volume_l": 22.5, "temperature_c": 98}));
        day.at(160.0, json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.046, "temperature_c": 20}));
        let mut wort = 96.0;
        for (index, (water_c, ice_kg)) in [(12.0, 0.0), (12.0, 0.0), (10.0, 6.0)].into_iter().enumerate() {
            let start = 161.0 + 10.0 * f64::from(u8::try_from(index).expect("three baths"));
            let method = if ice_kg > 0.0 { "ice_bath" } else { "still_bath" };
            day.at(start, json!({"kind": "cooling_started", "method": method, "water_l": 18, "water_c": water_c, "ice_kg": ice_kg}));
            let limit = if ice_kg > 0.0 { 14.0 } else { water_c + (wort - water_c) * 0.52 };
            for step in 1..=4 {
                let minutes = 2.4 * f64::from(step);
                let now = limit + (wort - limit) * (-0.2 * minutes).exp();
                day.at(
                    start + minutes,
                    json!({"kind": "temperature", "place": "wort", "temperature_c": (now * 10.0).round() / 10.0}),
                );
            }
            wort = limit + (wort - limit) * (-2.0_f64).exp();
        }
        for (minutes, celsius) in [(195.0, 19.2), (199.0, 19.0), (203.0, 19.1), (206.0, 19.0)] {
            day.at(minutes, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
        }
        day.at(207.0, json!({"kind": "coil_drained", "recovered_l": 1.1}));
        day.at(208.0, json!({"kind": "volume", "point": "into_fermenter", "volume_l": 20.2, "temperature_c": 19}));
        day.at(209.0, json!({"kind": "gravity", "point": "into_fermenter", "instrument": "hydrometer", "reading": 1.046, "temperature_c": 19}));
        for item in ["fermenter_sanitised", "hoses_sanitised", "airlock_sanitised"] {
            day.at(209.0, json!({"kind": "check", "item": item, "outcome": "done"}));
        }
        day.at(
            210.0,
            json!({"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18, "wort_c": 19}),
        );
        day.at(230.0, json!({"kind": "care", "equipment": 1, "act": "cleaned"}));
        day.at(240.0, json!({"kind": "stage_finished", "stage": "clean"}));
        day.at(14.0 * 1440.0, json!({"kind": "gravity", "point": "final", "instrument": "hydrometer", "reading": 1.010, "temperature_c": 20}));
        day
    }
}
