//! What a coil's page says of its batches, and its file.

use axum::http::StatusCode;
use gylebook::brewday::{Equipment, Recipe};
use serde_json::json;

use crate::book::TestBook;
use crate::day::{MORNING, ordinary, pale, start_on};

/// A book with a coil and so many batches chilled with it.
async fn brewed(count: usize, name: &str) -> (TestBook, i64) {
    let book = TestBook::open().await;
    let recipe = Recipe::from_body(&pale(name)).expect("a sound recipe");
    let recipe = book.store.add_recipe(&recipe, MORNING).await.expect("kept");
    let coil = Equipment::from_body(&json!({"name": "Copper coil", "kind": "coil", "pass_min": 10})).expect("a coil");
    let coil = book.store.add_equipment(&coil, MORNING).await.expect("kept");
    for _ in 0..count {
        let batch = start_on(&book.store, recipe, vec![coil]).await;
        ordinary(batch).write(&book.store).await;
    }
    (book, coil)
}

#[tokio::test]
async fn a_coil_without_batches_says_nothing_of_them() {
    let (book, coil) = brewed(0, "Pale").await;
    let page = book.get(&format!("/equipment/{coil}")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.has("#batches"));
    let file = book.get(&format!("/equipment/{coil}/batches.csv")).await;
    assert_eq!((file.status, file.text.lines().count()), (StatusCode::OK, 1));
    assert_eq!(book.get("/equipment/99/batches.csv").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn one_batch_is_a_figure_and_no_trend() {
    let (book, coil) = brewed(1, "Pale").await;
    let page = book.get(&format!("/equipment/{coil}")).await;
    assert!(page.has(".chart-trend") && page.has("#batches"));
    assert!(page.text.contains("there is one so far"), "four are needed to tell a fall");
    assert!(page.text.contains("as its one batch tells"));
    assert!(!page.text.contains("/compare?"), "one batch has nothing to stand beside");
}

#[tokio::test]
async fn each_batch_has_its_k_stage_by_stage_and_older_ones_are_folded() {
    let (book, coil) = brewed(8, "=Pale").await;
    let page = book.get(&format!("/equipment/{coil}")).await;
    assert_eq!(page.texts(".coil tbody").len(), 8);
    assert_eq!(page.texts("details .coil tbody").len(), 2);
    assert!(page.texts(".coil__words")[0].starts_with("bath 1 "), "{:?}", page.texts(".coil__words"));
    assert!(page.text.contains("the median of its last 5 batches"));
    // Eight batches alike: no fall that is more than chance.
    assert!(page.text.contains("does not fall by more than chance"));

    let file = book.get(&format!("/equipment/{coil}/batches.csv")).await;
    let mut reader = csv::Reader::from_reader(file.text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    // Each batch as a whole and its three stages.
    assert_eq!(rows.len(), 8 * 4);
    assert_eq!((&rows[0][1], &rows[0][3], &rows[1][3]), ("'=Pale", "all", "bath 1"));
    let summary = book.store.summary(1).await.expect("readable").expect("there");
    assert_eq!(rows[0][4].parse::<f64>().ok(), summary.chill.conductance_w_per_k);
}
