//! What a thermometer is known to show too much: taken off the figures, not off the log.

use gylebook::brewday::Equipment;
use serde_json::{Value, json};

use crate::book::{TestBook, entry_form};
use crate::day::{Log, MORNING, ordinary, pale, start, start_on};

/// An ordinary day on a coil, a kettle and these thermometers.
async fn brewed_with(thermometers: &[Value]) -> (TestBook, i64) {
    let book = TestBook::open().await;
    let plain = start(&book.store, pale("Lantern Row Pale")).await;
    let mut equipment: Vec<i64> =
        book.store.batch(plain).await.expect("readable").expect("a batch").equipment.iter().map(|one| one.id).collect();
    for body in thermometers {
        let piece = Equipment::from_body(body).expect("sound equipment");
        equipment.push(book.store.add_equipment(&piece, MORNING).await.expect("kept"));
    }
    let batch = start_on(&book.store, 1, equipment).await;
    ordinary(batch).write(&book.store).await;
    (book, batch)
}

fn thermometer(name: &str, offset: f64) -> Value {
    json!({"name": name, "kind": "thermometer", "offset": offset})
}

#[tokio::test]
async fn figures_are_corrected_and_the_log_says_so_and_keeps_what_was_read() {
    let (book, batch) = brewed_with(&[thermometer("Dial", 0.4)]).await;
    let log = book.get(&format!("/batches/{batch}/chill")).await.texts(".log__row");
    let wort = log.iter().find(|row| row.contains("19.1 °C")).expect("as it was read");
    assert!(wort.contains("Wort, shown as 19.1 °C") && wort.ends_with("18.7 °C"), "{wort}");
    let pitch = book.get(&format!("/batches/{batch}/pitch")).await;
    let clearance = pitch.texts(".clearance__one").join(" ");
    assert!(clearance.contains("18.6 °C, range 17.0 °C to 21.0 °C"), "{clearance}");
    let note = pitch.texts(".panel__hint").join(" ");
    assert!(note.contains("Your thermometer shows 0.4 °C too much") && note.contains("corrected by −0.4 °C"), "{note}");
    assert!(book.get(&format!("/batches/{batch}/sheet")).await.text.contains("Your thermometer shows"));
    let entries = book.get(&format!("/api/v1/batches/{batch}/entries")).await.text;
    assert!(entries.contains("\"wort_c\":19.0") || entries.contains("\"wort_c\":19"), "entries stay as they were read");
    let summary = book.get(&format!("/api/v1/batches/{batch}")).await.json()["summary"].clone();
    assert!((summary["pitch"]["wort_c"].as_f64().expect("pitched") - 18.6).abs() < 1e-9);
    assert!((summary["instruments"]["thermometer_correction_c"].as_f64().expect("a number") + 0.4).abs() < 1e-9);
}

#[tokio::test]
async fn a_form_is_filled_with_what_the_thermometer_shows_so_nothing_is_corrected_twice() {
    let book = TestBook::open().await;
    let piece = Equipment::from_body(&thermometer("Dial", 0.4)).expect("sound");
    start(&book.store, pale("Lantern Row Pale")).await;
    let dial = book.store.add_equipment(&piece, MORNING).await.expect("kept");
    let batch = start_on(&book.store, 1, vec![dial]).await;
    let mut log = Log::of(batch);
    log.at(0.0, json!({"kind": "flame_out"}));
    log.at(30.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 19.4}));
    log.write(&book.store).await;
    let page = book.get(&format!("/batches/{batch}/pitch")).await;
    let filled = page.fields(&entry_form("pitched", &[]));
    let wort = filled.iter().find(|(name, _)| name == "wort_c").map(|(_, text)| text.as_str());
    assert_eq!(wort, Some("19.4"), "{filled:?}");
}

#[tokio::test]
async fn two_thermometers_that_differ_correct_nothing_and_the_page_says_so() {
    let (book, batch) = brewed_with(&[thermometer("Dial", 0.4), thermometer("Probe", 0.0)]).await;
    let pitch = book.get(&format!("/batches/{batch}/pitch")).await;
    assert!(pitch.texts(".clearance__one").join(" ").contains("19.0 °C, range"));
    let note = pitch.texts(".panel__hint").join(" ");
    assert!(
        note.contains("This batch has thermometers that differ") && note.contains("nothing is taken off"),
        "{note}"
    );
    assert!(!pitch.text.contains("corrected by"));
}
