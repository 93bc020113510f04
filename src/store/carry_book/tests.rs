use serde_json::{Value, json};
use time::Duration;

use super::*;
use crate::brewday::Settings;
use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan};
use crate::demo;
use crate::store::testing::{Book, NOON, book, entry, equipment as piece, new_batch, recipe};

const LATER: Duration = Duration::days(400);

async fn written(store: &Store) -> Value {
    serde_json::to_value(store.carry_book_out().await.unwrap()).unwrap()
}

fn read(document: &Value) -> std::result::Result<CarriedBook, Vec<Fault>> {
    CarriedBook::from_body(document, NOON + LATER)
}

/// A year of brewing, and besides whatever the demo has none of.
async fn full() -> Book {
    let book = book().await;
    let store = &book.store;
    demo::fill(store, NOON).await.unwrap();
    let id = store.add_recipe(&recipe("Put away"), NOON).await.unwrap();
    store.revise_recipe(id, &recipe("Put away, paler"), NOON + Duration::hours(1)).await.unwrap();
    store.retire_recipe(id, NOON + Duration::hours(2)).await.unwrap();
    let spoon = store.add_equipment(&piece("Spoon", "other"), NOON).await.unwrap();
    store.change_equipment(spoon, &piece("Long spoon", "other"), NOON + Duration::hours(1)).await.unwrap();
    store.retire_equipment(spoon, NOON + Duration::hours(3)).await.unwrap();
    let asked = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
        "baths": [{"water_l": 17, "water_c": 12}, {"water_l": 12, "water_c": 12, "ice_kg": 8}]});
    let plan = KeptPlan::of(ChillPlanRequest::from_body(&asked).unwrap(), &CoilPasses::given(120.0));
    assert!(store.keep_chill_plan(2, &plan, NOON).await.unwrap());
    let mut lists = store.check_lists().await.unwrap();
    lists.0.truncate(1);
    store.save_check_lists(&lists, NOON).await.unwrap();
    // A batch that came from elsewhere.
    let other = super::super::testing::book().await;
    let recipe = other.store.add_recipe(&recipe("Carried"), NOON).await.unwrap();
    let mut new = new_batch(recipe);
    new.typed.insert("volume_l".into(), "5 gal".into());
    let batch = other.store.start_batch(&new, NOON).await.unwrap().unwrap();
    let note = entry(77, r#"{"kind": "note", "note": "=1+1"}"#);
    other.store.append(Some(batch), vec![note], Some("Other phone"), NOON).await.unwrap();
    let carried = other.store.carry_out(batch).await.unwrap().unwrap();
    store.carry_in(carried).await.unwrap().unwrap();
    store
        .save_settings(&Settings { house: "Both".into(), altitude_m: Some(3.5), ..Settings::default() })
        .await
        .unwrap();
    book
}

#[tokio::test]
async fn a_book_carried_out_in_and_out_again_is_the_same_to_the_byte() {
    let here = full().await;
    let document = written(&here.store).await;
    let has = |pointer: &str, some: fn(&Value) -> bool| {
        let rows = document[pointer].as_array().unwrap();
        assert!(rows.iter().any(some), "the book has such a thing among its {pointer}");
    };
    has("recipes", |recipe| recipe["revisions"].as_array().unwrap().len() > 1 && !recipe["retired_at"].is_null());
    has("equipment", |piece| piece["created_at"] != piece["changed_at"] && !piece["retired_at"].is_null());
    has("batches", |batch| !batch["chill_plan"].is_null());
    has("entries", |entry| entry["batch"].is_null());
    has("entries", |entry| entry["kind"] == "amendment");

    let there = book().await;
    let batches = there.store.carry_book_in(read(&document).unwrap()).await.unwrap().unwrap();
    assert_eq!(batches, document["batches"].as_array().unwrap().len());
    let (one, other) = (written(&here.store).await.to_string(), written(&there.store).await.to_string());
    let at = one.bytes().zip(other.bytes()).position(|(one, other)| one != other).unwrap_or(one.len());
    assert!(
        one == other,
        "…{} is now …{}",
        &one[at.saturating_sub(80)..(at + 80).min(one.len())],
        &other[at.saturating_sub(80)..(at + 80).min(other.len())]
    );
    assert_eq!(there.store.check_summaries().await.unwrap().different, [0; 0]);
    assert_eq!(there.store.check_file().await.unwrap(), [""; 0]);
    // What is written next in either gets the same number.
    let next = recipe("Next");
    let (one, other) = (here.store.add_recipe(&next, NOON).await, there.store.add_recipe(&next, NOON).await);
    assert_eq!(one.unwrap(), other.unwrap());
}

#[tokio::test]
async fn a_book_with_records_takes_no_other_in() {
    let Book { store, folder: _folder } = book().await;
    store.add_recipe(&recipe("Mine"), NOON).await.unwrap();
    let document = written(&store).await;
    let faults = store.carry_book_in(read(&document).unwrap()).await.unwrap().unwrap_err();
    assert!(format!("{}", faults[0].why).contains("an empty one only"), "{faults:?}");
    assert_eq!(written(&store).await, document);
}

#[tokio::test]
async fn a_bad_book_is_refused_by_field_and_leaves_nothing() {
    let here = full().await;
    let document = written(&here.store).await;
    for (pointer, bad, field) in [
        ("/gylebook", json!(7), "gylebook"),
        ("/settings", json!("none"), "settings"),
        ("/check_lists/0/stage", json!("lunch"), "check_lists.0.stage"),
        ("/recipes/0/revisions/0/volume_l", json!(-1), "recipes.0.revisions.0.volume_l"),
        ("/recipes/0/revisions", json!([]), "recipes.0.revisions"),
        ("/recipes/1/id", json!(1), "recipes"),
        ("/recipes/0/id", json!(0), "recipes.0.id"),
        ("/equipment/0/kind", json!("spoon"), "equipment.0.kind"),
        ("/equipment/0/changed_at", json!("noon"), "equipment.0.changed_at"),
        ("/batches/0/volume_l", json!(0), "batches.0.volume_l"),
        ("/batches/0/equipment/0/care", json!(4), "batches.0.equipment.0.care"),
        ("/entries/0/batch", json!("one"), "entries.0.batch"),
        ("/entries/0/at", json!("2199-01-01T00:00:00Z"), "entries.0.at"),
        ("/entries", json!(3), "entries"),
    ] {
        let mut document = document.clone();
        *document.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = bad;
        let faults = read(&document).unwrap_err();
        assert_eq!(faults.iter().map(|fault| fault.field.as_str()).collect::<Vec<_>>(), [field], "{pointer}");
    }
    // What only holds together as a whole is found out before anything is written.
    for (pointer, bad) in [
        ("/batches/0/recipe", json!(99)),
        ("/batches/0/recipe_revision", json!(99)),
        ("/entries/9/batch", json!(99)),
        ("/entries/1/id", document["entries"][0]["id"].clone()),
    ] {
        let mut document = document.clone();
        *document.pointer_mut(pointer).unwrap() = bad;
        let there = book().await;
        assert!(there.store.carry_book_in(read(&document).unwrap()).await.unwrap().is_err(), "{pointer}");
        assert!(there.store.recipes("", false).await.unwrap().is_empty());
    }
}
