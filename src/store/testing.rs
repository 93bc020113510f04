//! What the store's tests start from.

use serde_json::{Value, json};
use tempfile::TempDir;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::Store;
use crate::brewday::batch::NewBatch;
use crate::brewday::{Entry, Equipment, Recipe, Typed};

pub(super) const NOON: OffsetDateTime = datetime!(2026-03-07 12:00:00 UTC);

/// A fresh book in a folder that goes away with it.
pub(super) struct Book {
    pub(super) store: Store,
    pub(super) folder: TempDir,
}

pub(super) async fn book() -> Book {
    let folder = tempfile::tempdir().unwrap();
    Book { store: Store::open(folder.path().join("book.db")).await.unwrap(), folder }
}

/// A fresh book with one batch under way.
pub(super) async fn started() -> (Book, i64) {
    let book = book().await;
    let recipe = book.store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
    let batch = book.store.start_batch(&new_batch(recipe), NOON).await.unwrap().unwrap();
    (book, batch)
}

pub(super) fn recipe(name: &str) -> Recipe {
    let body = json!({
        "name": name, "volume_l": 20.0, "boil_min": 60.0,
        "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0,
        "fermentables": [{
            "name": "Pale malt", "mass_kg": 4.2, "yield_pct": 80.5,
            "moisture_pct": 4.0, "colour_ebc": 6.0, "use": "mash",
        }],
    });
    Recipe::from_body(&body).unwrap()
}

pub(super) fn equipment(name: &str, kind: &str) -> Equipment {
    Equipment::from_body(&json!({ "name": name, "kind": kind })).unwrap()
}

pub(super) fn new_batch(recipe: i64) -> NewBatch {
    NewBatch {
        recipe,
        name: None,
        volume_l: None,
        equipment: Vec::new(),
        tap_c: None,
        altitude_m: None,
        typed: Typed::new(),
    }
}

/// Entry number `number` at noon, of the kind and the fields in `body`.
pub(super) fn entry(number: u128, body: &str) -> Entry {
    let mut body: Value = serde_json::from_str(body).unwrap();
    body["id"] = json!(Uuid::from_u128(number));
    body["at"] = json!("2026-03-07T12:00:00Z");
    Entry::from_body(&body, NOON, Duration::ZERO).unwrap()
}
