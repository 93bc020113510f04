//! A small book with something on every page, the same each time.

use axum::http::StatusCode;
use gylebook::brewday::CheckLists;
use serde_json::{Value, json};

use crate::book::TestBook;

/// Ids of entries: a volume read in a batch, the first one's pitch, care of the coil.
const VOLUMES: [&str; 2] = ["0197a000-0000-7000-8001-000000000001", "0197a000-0000-7000-8002-000000000001"];
const PITCHED: &str = "0197a000-0000-7000-8000-000000000002";
const CARE: &str = "0197a000-0000-7000-8000-000000000003";

/// A kettle, a coil, instruments, a recipe, and two batches: one just pitched, one at the kettle.
pub(super) async fn book() -> TestBook {
    let book = TestBook::open().await;
    for piece in [
        json!({ "name": "Kettle", "kind": "kettle", "volume_l": 36 }),
        json!({ "name": "Coil", "kind": "coil", "pass_min": 10, "dry_mass_kg": 3.1 }),
        json!({ "name": "Refractometer", "kind": "refractometer" }),
        json!({ "name": "Hydrometer", "kind": "hydrometer" }),
    ] {
        add(&book, "/api/v1/equipment", &piece).await;
    }
    let cleaned = [("id", CARE), ("act", "cleaned"), ("at", "2025-03-01T10:00")];
    assert_eq!(book.post_form("/equipment/2/care", &cleaned).await.status, StatusCode::SEE_OTHER);
    let recipe = json!({
        "name": "Plain ale", "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [{ "name": "Pale malt", "mass_kg": 4, "yield_pct": 80, "moisture_pct": 4, "colour_ebc": 6, "use": "mash" }],
        "hops": [{ "name": "One hop", "mass_kg": 0.03, "alpha_pct": 6, "form": "pellet", "use": "boil", "min": 60 }],
        "mash_rests": [{ "temperature_c": 67, "min": 60 }],
        "yeast": { "name": "Ale yeast", "kind": "ale", "form": "dry", "mass_kg": 0.0115 },
        "other": [{ "name": "Finings", "mass_kg": 0.004, "use": "boil", "min": 10 }],
    });
    add(&book, "/api/v1/recipes", &recipe).await;
    for (batch, id) in (1..).zip(VOLUMES) {
        add(&book, "/api/v1/batches", &json!({ "recipe": 1, "equipment": [1, 2, 3, 4] })).await;
        let volume = json!({ "id": id, "at": "2025-03-15T10:00:00Z",
            "kind": "volume", "point": "post_boil", "volume_l": 22, "temperature_c": 98 });
        log(&book, batch, &[volume]).await;
    }
    let pitched = json!({ "id": PITCHED, "at": "2025-03-15T14:00:00Z", "kind": "pitched", "yeast": "Ale yeast" });
    log(&book, 1, &[pitched]).await;
    book
}

async fn add(book: &TestBook, path: &str, body: &Value) {
    let answer = book.post_json(path, body).await;
    assert_eq!(answer.status, StatusCode::CREATED, "{}", answer.text);
}

pub(super) async fn log(book: &TestBook, batch: i64, entries: &[Value]) {
    let receipt = book.post_json(&format!("/api/v1/batches/{batch}/entries"), &json!({ "entries": entries })).await;
    assert_eq!(receipt.json()["refused"], json!([]));
}

/// Everything that a form could have changed.
pub(super) async fn state(book: &TestBook) -> (Vec<String>, CheckLists, String) {
    let mut kept = Vec::new();
    for path in ["/api/v1/equipment", "/api/v1/recipes", "/api/v1/batches"] {
        let records = book.get(path).await.json();
        let names = records.as_array().expect("a list").iter().map(|record| record["name"].to_string());
        kept.extend(names);
    }
    for batch in 1..=2 {
        let log = book.get(&format!("/api/v1/batches/{batch}/entries")).await.json();
        kept.extend(log.as_array().expect("a log").iter().map(|entry| entry["kind"].to_string()));
    }
    let settings = book.store.settings().await.expect("settings");
    (kept, book.store.check_lists().await.expect("lists"), format!("{settings:?}"))
}
