//! What the made-up brew space brews, and with what.

use gylebook::brewday::{Equipment, Recipe};
use serde_json::json;
use time::OffsetDateTime;

pub(super) const DEVICE: &str = "Kettle phone";

const PLACES: [&str; 10] = [
    "Quarry Lane",
    "Copper Yard",
    "Slate Hill",
    "Ferry Road",
    "Müller’s Gate",
    "North Shed",
    "Orchard",
    "Canal Row",
    "Windmill",
    "Old Dairy",
];
const STYLES: [&str; 4] = ["Pale", "Stout", "Bitter", "Lager"];

/// One of forty recipes.
pub(super) fn recipe(number: u32) -> Recipe {
    let which = (number % 40) as usize;
    let (place, style) = (PLACES[which / 4], STYLES[which % 4]);
    let malt_kg = 4.0 + 0.05 * which as f64;
    Recipe::from_body(&json!({
        "name": format!("{place} {style}"), "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [
            {"name": "Pale malt", "mass_kg": malt_kg, "yield_pct": 81, "moisture_pct": 4.5, "colour_ebc": 6, "use": "mash"},
            {"name": "Crystal malt", "mass_kg": 0.3, "yield_pct": 75, "moisture_pct": 4, "colour_ebc": 120, "use": "mash"},
        ],
        "hops": [
            {"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5, "form": "pellet", "use": "boil", "min": 60},
            {"name": "Late hop", "mass_kg": 0.03, "alpha_pct": 6, "form": "pellet", "use": "boil", "min": 10},
            {"name": "Late hop", "mass_kg": 0.03, "alpha_pct": 6, "form": "pellet", "use": "flame_out", "min": 0},
        ],
        "mash_rests": [{"temperature_c": 66, "min": 60}],
        "yeast": {"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200},
    }))
    .expect("a sound recipe")
}

/// Some batches have a name of their own.
pub(super) fn name(number: u32, recipe: &Recipe) -> String {
    if number.is_multiple_of(7) { format!("{} no. {}", recipe.name, number / 7) } else { recipe.name.clone() }
}

/// The equipment of a batch: one of two coils, and all else there is. Care
/// entries speak of it by its place here, from 1.
pub(super) fn equipment(number: u32) -> Vec<Equipment> {
    let coil = if number.is_multiple_of(3) {
        json!({"name": "Long coil", "kind": "coil", "pass_min": 8, "hold_up_l": 1.4, "dry_mass_kg": 3.6})
    } else {
        json!({"name": "Short coil", "kind": "coil", "pass_min": 10, "hold_up_l": 0.9, "dry_mass_kg": 2.8})
    };
    let pieces = [
        coil,
        json!({"name": "Kettle", "kind": "kettle", "volume_l": 45, "dead_space_l": 1.0, "boil_off_l_per_h": 3.4}),
        json!({"name": "Mash tun", "kind": "mash_vessel", "volume_l": 40, "dead_space_l": 0.8}),
        json!({"name": "Pump", "kind": "pump", "flow_l_min": 2.4}),
        json!({"name": "Hoses", "kind": "hose", "hold_up_l": 0.3}),
        json!({"name": "Fermenter", "kind": "fermenter", "volume_l": 30}),
        json!({"name": "Thermometer", "kind": "thermometer", "uncertainty": 0.2}),
        json!({"name": "Hydrometer", "kind": "hydrometer", "calibration_c": 20}),
        json!({"name": "Grey bucket", "kind": "bucket", "volume_l": 20}),
        json!({"name": "White bucket", "kind": "bucket", "volume_l": 20}),
    ];
    pieces.iter().map(|body| Equipment::from_body(body).expect("sound equipment")).collect()
}

/// The tap is coldest in February and warmest in August.
pub(super) fn tap_c(day: OffsetDateTime) -> f64 {
    let turn = f64::from(day.ordinal()) / 365.25 * std::f64::consts::TAU;
    (10.0 * (12.0 - 5.0 * (turn - 0.9).cos())).round() / 10.0
}
