//! Odd but possible: taken as it is, and marked in the log for a second look.

use axum::http::StatusCode;
use serde_json::json;

use super::house;
use crate::book::entry_form;

/// The stage, the kind of entry, what is typed, and what the log says of it.
type Odd = (&'static str, &'static str, &'static [(&'static str, &'static str)], &'static str);

const ODD: &[Odd] = &[
    ("mash", "temperature", &[("place", "mash"), ("temperature_c", "20")], "A mash this cool is unusual"),
    (
        "mash",
        "gravity",
        &[("point", "pre_boil"), ("instrument", "hydrometer"), ("reading", "1.050"), ("temperature_c", "70")],
        "let it cool",
    ),
    (
        "boil",
        "gravity",
        &[("point", "post_boil"), ("instrument", "hydrometer"), ("reading", "1.040"), ("temperature_c", "20")],
        "The gravity fell during the boil",
    ),
    ("pitch", "pitched", &[("yeast", "Ale yeast"), ("wort_c", "45")], "Yeast in a wort this hot will not live"),
];

#[tokio::test]
async fn what_is_odd_but_possible_is_kept_and_marked() {
    let book = house::book().await;
    for (stage, kind, typed, marked) in ODD {
        let path = format!("/batches/2/{stage}");
        let page = book.get(&path).await;
        let carried: Vec<_> = typed.iter().filter(|(name, _)| ["point", "place"].contains(name)).copied().collect();
        let kept = book.send(&page, &entry_form(kind, &carried), typed).await;
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{kind} {typed:?}");
        is_marked(&book, &path, marked).await;
    }
}

#[tokio::test]
async fn what_is_odd_about_a_chill_is_kept_and_marked() {
    let book = house::book().await;
    let entry = |minute: u8, mut body: serde_json::Value| {
        body["id"] = json!(uuid::Uuid::now_v7());
        body["at"] = json!(format!("2025-03-15T11:{minute:02}:00Z"));
        body
    };
    let wort = |minute, celsius: f64| {
        entry(minute, json!({ "kind": "temperature", "place": "wort", "temperature_c": celsius }))
    };
    let entries = [
        entry(0, json!({ "kind": "flame_out" })),
        entry(1, json!({ "kind": "boil_started" })),
        entry(2, json!({ "kind": "flush_started", "temperature_c": 90 })),
        entry(40, json!({ "kind": "flush_finished" })),
        entry(41, json!({ "kind": "cooling_started", "method": "ice_bath", "water_l": 6, "water_c": 70, "ice_kg": 1 })),
        wort(42, 40.0),
        wort(45, 48.0),
        entry(46, json!({ "kind": "ice_added", "ice_kg": 60 })),
    ];
    house::log(&book, 2, &entries).await;
    for marked in [
        "The flame went out before the boil began.",
        "A flush of more than half an hour",
        "Cooling water this hot cools little.",
        "The wort warmed while it was being cooled",
        "That is a lot of ice.",
    ] {
        is_marked(&book, "/batches/2", marked).await;
    }
}

async fn is_marked(book: &crate::book::TestBook, path: &str, marked: &str) {
    let odd = book.get(path).await.texts(".log__one .log__more--odd");
    assert!(odd.iter().any(|told| told.contains(marked)), "{path}: {marked:?} in {odd:?}");
}
