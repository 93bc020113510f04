//! `/compare`, as a brewer without scripts uses it, and its files.

use axum::http::StatusCode;
use gylebook::brewday::{Equipment, Recipe};
use serde_json::json;

use crate::book::TestBook;
use crate::day::{MORNING, ordinary, pale, start_on};

/// A book with so many batches of one recipe, all brewed on one coil.
async fn brewed(count: i64) -> TestBook {
    let book = TestBook::open().await;
    let recipe = Recipe::from_body(&pale("=Lantern Row, Pale")).expect("a sound recipe");
    let recipe = book.store.add_recipe(&recipe, MORNING).await.expect("kept");
    let coil = Equipment::from_body(&json!({"name": "Copper coil", "kind": "coil", "pass_min": 10})).expect("a coil");
    let coil = book.store.add_equipment(&coil, MORNING).await.expect("kept");
    for _ in 0..count {
        let batch = start_on(&book.store, recipe, vec![coil]).await;
        ordinary(batch).write(&book.store).await;
    }
    book
}

fn query(batches: impl Iterator<Item = i64>) -> String {
    batches.map(|batch| format!("batch={batch}")).collect::<Vec<_>>().join("&")
}

#[tokio::test]
async fn without_two_batches_the_page_asks_for_them() {
    let book = TestBook::open().await;
    let page = book.get("/compare").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts("h1"), ["Compare batches"]);
    assert!(page.text.contains("Nothing to compare yet"));

    let book = brewed(2).await;
    let page = book.get("/compare?batch=2").await;
    assert!(page.texts(".lead")[0].contains("has nothing to stand beside yet"));
    assert_eq!(page.fields("form.chooser"), [("batch".to_owned(), "2".to_owned())], "the one stays ticked");
}

#[tokio::test]
async fn a_few_batches_share_one_frame_and_each_is_a_column() {
    let book = brewed(3).await;
    let page = book.get("/compare?batch=3&batch=1&batch=77&batch=x&batch=3").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts("h1"), ["2 batches side by side"]);
    assert!(page.text.contains("There are no batches “x” and 77 in the book"));
    assert!(page.has(".chart-overlay"), "both are laid over one another");
    // The standard chill stands first, and the page says it alone is comparable.
    assert_eq!(page.texts("h2")[0], "Standard chill");
    assert!(page.texts(".standard p")[0].contains("only this one can be compared between a January and a July batch"));
    assert_eq!(page.texts(".standard__one").len(), 2);
    let heads = page.texts(".figuretable thead th");
    assert!(heads[1].starts_with("3 ") && heads[2].starts_with("1 "), "in the order asked for: {heads:?}");
    assert_eq!(page.texts(".figuretable__group")[0], "Chill: how long");
    assert!(page.texts(".figuretable tbody th").iter().any(|figure| figure == "Conductance in bath 1, W/K"));
    // What held each back and what would have helped it, in a sentence with minutes.
    let told = page.texts(".standard__limit");
    assert!(told.iter().all(|told| told.contains("held back by") && told.contains("would have saved")), "{told:?}");
    assert!(page.texts(".figuretable tbody th").iter().any(|figure| figure == "Held back by"));
}

#[tokio::test]
async fn fifty_batches_are_rows_with_a_frame_each() {
    let book = brewed(50).await;
    let page = book.get(&format!("/compare?{}", query(1..=50))).await;
    assert_eq!(page.status, StatusCode::OK);
    // Eight small frames to a picture, so that paper can break between them.
    assert_eq!(page.attributes(".chart-panels", "viewBox").len(), 7);
    assert_eq!(page.texts(".standard__one").len(), 50);
    assert_eq!(page.texts(".figuretable tbody tr").len() % 50, 0);
    let presets = page.texts("section .actions a.button");
    assert_eq!(presets[..2], ["Last five", "Last five with the copper coil"]);
    let beyond = book.get(&format!("/compare?{}", query(1..=64))).await;
    assert!(beyond.text.contains("The first 60 batches are shown; 4 more were asked for."));
}

#[tokio::test]
async fn the_file_is_read_by_another_reader_and_runs_no_formula() {
    let book = brewed(2).await;
    let file = book.get("/compare.csv?batch=2&batch=1").await;
    assert_eq!(file.status, StatusCode::OK);
    // The csv crate is the outside reader: strict about the number of cells.
    let mut reader = csv::Reader::from_reader(file.text.as_bytes());
    let heads = reader.headers().expect("heads").clone();
    let place = |name: &str| heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("{name}: {heads:?}"));
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 2);
    assert_eq!(&rows[0][place("batch")], "2");
    // OWASP, "CSV Injection": a cell that begins with = gets an apostrophe.
    assert_eq!(&rows[0][place("name")], "'=Lantern Row, Pale");
    let summary = book.store.summary(2).await.expect("readable").expect("there");
    let standard = summary.chill.standard_chill_min.expect("the coil is known");
    assert_eq!(rows[0][place("chill.standard_chill_min")].parse::<f64>().expect("a number"), standard);
    assert_eq!(&rows[0][place("gravity.first_wort_sg")], "", "what is not known is empty");
    let first = summary.chill.stages[0].conductance_w_per_k.expect("a fit");
    assert_eq!(rows[0][place("chill.stages.0.conductance_w_per_k")].parse::<f64>().expect("a number"), first);
    assert_eq!(&rows[0][place("chilled_with")], "Copper coil");
    assert!(rows[0][place("would_have_helped_most")].contains("would have saved"));
    // A figure below nil is a number, not a formula.
    let gap = summary.extract.account_gap_kg;
    assert_eq!(rows[0][place("extract.account_gap_kg")].parse::<f64>().ok(), gap);
    assert!(file.text.contains("\r\n"));

    let curves = book.get("/compare/curves.csv?batch=2&batch=1").await;
    let mut reader = csv::Reader::from_reader(curves.text.as_bytes());
    assert_eq!(reader.records().filter(Result::is_ok).count(), 32);
}
