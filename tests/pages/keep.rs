//! What is taken out of the book: a copy, everything as JSON, tables, a record as one file.

use axum::http::header;
use gylebook::brewday::carried::CarriedBook;
use gylebook::store::Store;
use serde_json::{Value, json};
use time::OffsetDateTime;

use crate::book::TestBook;
use crate::day::{Log, ordinary, pale, start};

/// The strict reader of another crate: every row as wide as the heads, every line ended with CRLF.
fn table(bytes: &[u8]) -> (Vec<String>, Vec<Vec<String>>) {
    let text = std::str::from_utf8(bytes).expect("UTF-8");
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count(), "RFC 4180 ends lines with CRLF");
    let mut reader = csv::Reader::from_reader(bytes);
    let heads = reader.headers().expect("heads").iter().map(str::to_owned).collect();
    let rows = reader.records().map(|row| row.expect("a row").iter().map(str::to_owned).collect());
    (heads, rows.collect())
}

async fn brewed() -> (TestBook, i64) {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("=HYPERLINK(\"x\"), or so")).await;
    ordinary(batch).write(&book.store).await;
    (book, batch)
}

#[tokio::test]
async fn a_copy_is_a_whole_book_and_says_how_long_it_is() {
    let (book, batch) = brewed().await;
    let beside = || std::fs::read_dir(book.store.path().parent().unwrap()).unwrap().count();
    let before = beside();
    let (head, copy) = book.download("/settings/copy").await;
    assert_eq!(head[header::CONTENT_LENGTH], copy.len().to_string());
    assert!(head[header::CONTENT_DISPOSITION].to_str().unwrap().starts_with("attachment; filename=\"gylebook-20"));
    assert!(!head.contains_key(header::CONTENT_ENCODING), "compressed, its length would be lost");
    assert_eq!(beside(), before, "nothing is left beside the book");
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("got.db"), copy).unwrap();
    let got = Store::open(folder.path().join("got.db")).await.expect("a sound book");
    assert_eq!(got.carry_out(batch).await.unwrap(), book.store.carry_out(batch).await.unwrap());
}

#[tokio::test]
async fn the_whole_book_is_json_that_an_empty_book_takes_in() {
    let (book, _) = brewed().await;
    let (head, text) = book.download("/settings/book.json").await;
    assert_eq!(head[header::CONTENT_TYPE], "application/json");
    let body: Value = serde_json::from_slice(&text).expect("JSON");
    let carried = CarriedBook::from_body(&body, OffsetDateTime::now_utc()).expect("a sound document");
    let there = TestBook::open().await;
    there.store.carry_book_in(carried).await.unwrap().expect("taken in");
    assert_eq!(there.download("/settings/book.json").await.1, text);
}

#[tokio::test]
async fn tables_hold_every_batch_and_nothing_a_spreadsheet_would_run() {
    let (book, batch) = brewed().await;
    let second = start(&book.store, pale("Second")).await;
    let mut log = Log::of(second);
    log.at(1.0, json!({"kind": "temperature", "place": "room", "temperature_c": -3.5}));
    log.write(&book.store).await;

    let (heads, rows) = table(&book.download("/settings/figures.csv").await.1);
    assert_eq!(rows.len(), 2);
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("{name}: {heads:?}"));
    assert_eq!(rows[0][column("name")], "'=HYPERLINK(\"x\"), or so");
    let summary = book.store.summary(batch).await.unwrap().unwrap();
    let kept: f64 = rows[0][column("gravity.original_sg")].parse().expect("a number");
    assert_eq!(Some(kept), summary.gravity.original_sg);
    let numbers = rows.iter().flatten().filter(|cell| cell.starts_with('-'));
    assert!(numbers.clone().all(|cell| cell.parse::<f64>().is_ok()), "{:?}", numbers.collect::<Vec<_>>());

    let (heads, rows) = table(&book.download("/settings/readings.csv").await.1);
    assert_eq!(heads[..3], ["batch", "at", "kind"]);
    assert_eq!(rows.last().unwrap()[0], second.to_string());
    assert_eq!(rows.last().unwrap()[5], "-3.5", "a number below nought stays a number");
    let (heads, of_batch) = table(&book.download(&format!("/batches/{batch}/readings.csv")).await.1);
    assert_eq!((heads[0].as_str(), of_batch.len()), ("at", rows.len() - 1));
}

#[tokio::test]
async fn the_readings_of_a_large_book_come_in_pieces_and_none_is_missing() {
    let (book, _) = brewed().await;
    let long = start(&book.store, pale("A probe's day")).await;
    let mut log = Log::of(long);
    for minute in 0..2500_u32 {
        let read = json!({"kind": "temperature", "place": "room", "temperature_c": f64::from(minute) / 100.0});
        log.at(f64::from(minute) / 10.0, read);
    }
    log.write(&book.store).await;
    let last = start(&book.store, pale("After it")).await;
    let mut log = Log::of(last);
    log.at(1.0, json!({"kind": "temperature", "place": "room", "temperature_c": 7}));
    log.write(&book.store).await;

    let (_, text) = book.download("/settings/readings.csv").await;
    assert!(text.len() > 96 * 1024, "{} bytes are one piece", text.len());
    let (_, rows) = table(&text);
    let of_long: Vec<f64> =
        rows.iter().filter(|row| row[0] == long.to_string()).map(|row| row[5].parse().expect("a number")).collect();
    let wanted: Vec<f64> = (0..2500_u32).map(|minute| f64::from(minute) / 100.0).collect();
    assert_eq!(of_long, wanted);
    assert_eq!(rows.last().map(|row| row[0].clone()), Some(last.to_string()));
}

#[tokio::test]
async fn the_settings_page_tells_of_its_copies_and_of_one_that_failed() {
    let (book, _) = brewed().await;
    let page = book.get("/settings").await;
    assert!(page.text.contains("There is no copy yet."), "no copies so far");
    book.store.copy_of_the_day(OffsetDateTime::now_utc()).await;
    let page = book.get("/settings").await;
    let row = page.texts("#copies ~ .tablebox tbody tr").join(" ");
    assert!(row.starts_with("0001-20") && row.contains("today") && row.ends_with("kB"), "{row}");
    assert!(page.text.contains("gylebook restore FILE"));

    // The folder is gone and a file stands in its place, as a disk that refuses would have it.
    let copies = format!("{}.copies", book.store.path().display());
    std::fs::remove_dir_all(&copies).unwrap();
    std::fs::write(&copies, "").unwrap();
    book.store.copy_of_the_day(OffsetDateTime::now_utc()).await;
    let told = book.get("/settings").await.texts("[role=status]").join(" ");
    assert!(told.contains("No copy of today.") && told.contains("could not be written"), "{told}");
}

#[tokio::test]
async fn a_report_needs_nothing_beside_it() {
    let (book, batch) = brewed().await;
    let (head, text) = book.download(&format!("/batches/{batch}/report.html")).await;
    assert!(head[header::CONTENT_DISPOSITION].to_str().unwrap().starts_with("attachment"));
    let text = String::from_utf8(text).expect("UTF-8");
    let page = crate::book::Answer::of(&text);
    for element in [
        "script",
        "link",
        "img",
        "iframe",
        "object",
        "embed",
        "form",
        "a",
        "base",
        "[src]",
        "[href]",
        "[style]",
        "[onclick]",
    ] {
        assert!(!page.has(element), "{element} is in the report");
    }
    assert!(page.has("svg.chart-cooling"), "the curve is drawn in it");
    // The whole log: the readings that the sheet puts into a table are lines here.
    let lines = page.texts(".dated__one").len();
    let day = book.store.day(batch).await.unwrap().unwrap();
    assert_eq!(lines, day.standing.len());
    assert_eq!(page.texts("h1").len(), 1);
}
