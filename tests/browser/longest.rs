//! A book in which everything is as long as it may be: names of 120 letters
//! without a place to break, notes, lists and a log of three-digit length.

use anyhow::{Result, ensure};
use serde_json::{Value, json};

use crate::server::Server;

/// As long as a name may be.
const NAME_LETTERS: usize = 120;
/// Rows of each list of the recipe.
const ROWS: usize = 24;
const KINDS: [&str; 6] = ["mash_vessel", "kettle", "coil", "bucket", "fermenter", "thermometer"];

fn name(starts: &str) -> String {
    starts.chars().chain(std::iter::repeat('W')).take(NAME_LETTERS).collect()
}

fn note() -> String {
    "It says here, at length, what nobody will read twice. ".chars().cycle().take(900).collect()
}

fn rows(row: impl Fn(usize) -> Value) -> Vec<Value> {
    (0..ROWS).map(row).collect()
}

fn recipe() -> Value {
    json!({
        "name": name("Everything ale "), "style": name("Style "), "volume_l": 1999.5, "boil_min": 120, "notes": note(),
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": rows(|n| json!({ "name": name(&format!("Malt {n} ")), "mass_kg": 123.45, "yield_pct": 80,
            "moisture_pct": 4, "colour_ebc": 1300, "use": if n % 9 == 0 { "kettle" } else { "mash" } })),
        "hops": rows(|n| json!({ "name": name(&format!("Hop {n} ")), "mass_kg": 10.125, "alpha_pct": 16.5,
            "form": "pellet", "use": (["first_wort", "boil", "flame_out"][n % 3]), "min": 4 * n })),
        "mash_rests": rows(|n| json!({ "temperature_c": 50.5 + n as f64, "min": 100 })),
        "other": rows(|n| json!({ "name": name(&format!("Salt {n} ")), "mass_kg": 1.234, "min": n,
            "use": (["mash", "boil", "flame_out", "fermenter"][n % 4]) })),
        "yeast": { "name": name("Yeast "), "kind": "lager", "form": "slurry", "mass_kg": 100.5 },
    })
}

/// A hundred readings and more, an addition of every hop, eight baths.
fn entries() -> Vec<Value> {
    let mut entries = Vec::new();
    let mut log = |second: usize, mut body: Value| {
        body["id"] = json!(format!("01890000-0000-7000-8000-{:012x}", entries.len()));
        body["at"] = json!(format!("2025-03-15T{:02}:{:02}:{:02}Z", 8 + second / 3600, second / 60 % 60, second % 60));
        entries.push(body);
    };
    for n in 0..40 {
        log(60 * n, json!({ "kind": "temperature", "place": "mash", "temperature_c": 100.5, "note": note() }));
    }
    log(3000, json!({ "kind": "boil_started" }));
    for n in 0..ROWS {
        let what = name(&format!("Hop {n} "));
        log(3001 + 60 * n, json!({ "kind": "addition", "what": what, "mass_kg": 123.456, "planned": n }));
    }
    log(5000, json!({ "kind": "flame_out", "note": note() }));
    for n in 0..8 {
        log(
            5000 + 600 * n,
            json!({ "kind": "cooling_started", "method": "ice_bath", "water_l": 1234.5, "water_c": 12,
            "ice_kg": 123.4 }),
        );
    }
    for n in 0..60 {
        let celsius = 12.0 + 84.0 * (-(n as f64) / 12.0).exp();
        log(5001 + 80 * n, json!({ "kind": "temperature", "place": "wort", "temperature_c": celsius }));
    }
    log(9900, json!({ "kind": "pitched", "yeast": name("Yeast "), "mass_kg": 100.5, "wort_c": 12, "yeast_c": 12 }));
    entries
}

/// Fills an empty book.
///
/// # Errors
/// The server does not take it.
pub fn fill(server: &Server) -> Result<()> {
    let mut pieces = Vec::new();
    for (number, kind) in KINDS.iter().cycle().take(2 * KINDS.len()).enumerate() {
        let piece = json!({ "name": name(&format!("{kind} {number} ")), "kind": kind, "volume_l": 1999.5,
            "dry_mass_kg": 123.45, "notes": note() });
        let answer: Value = serde_json::from_str(&server.post("/api/v1/equipment", &piece)?)?;
        pieces.push(answer["id"].clone());
    }
    server.post("/api/v1/recipes", &recipe())?;
    let batch = |starts: &str| json!({ "recipe": 1, "name": name(starts), "equipment": pieces, "tap_c": 12.5 });
    for starts in ["The longest day ", "The next one "] {
        server.post("/api/v1/batches", &batch(starts))?;
    }
    let answer = server.post("/api/v1/batches/1/entries", &json!({ "entries": entries() }))?;
    let answer: Value = serde_json::from_str(&answer)?;
    ensure!(answer["refused"] == json!([]), "{answer}");
    Ok(())
}
