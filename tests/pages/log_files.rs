//! `/batches/{id}/readings/import`: a thermometer's log, from the file to the log and back.

use axum::http::StatusCode;
use gylebook::brewday::Settings;
use gylebook::brewday::choices::Place;

use crate::book::{Answer, TestBook};
use crate::day::{pale, start};

/// A book in a house of its own time, with a batch in it.
async fn house() -> (TestBook, i64) {
    let book = TestBook::open().await;
    let settings = Settings { time_zone: Some("Europe/Berlin".into()), ..book.store.settings().await.unwrap() };
    book.store.save_settings(&settings).await.unwrap();
    let batch = start(&book.store, pale("Probed")).await;
    (book, batch)
}

async fn brought(book: &TestBook, batch: i64, name: &str, bytes: &[u8]) -> (String, Answer) {
    let answer = book.post_file(&format!("/batches/{batch}/readings/import"), (name, bytes), "").await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.texts("main").join(" "));
    let address = answer.location.expect("to the file");
    let page = book.get(&address).await;
    assert_eq!(page.status, StatusCode::OK);
    (address, page)
}

async fn wort(book: &TestBook, batch: i64) -> Vec<(i64, f64)> {
    let day = book.store.day(batch).await.unwrap().unwrap();
    day.temperatures(Place::Wort).map(|one| (one.at.unix_timestamp(), one.temperature_c)).collect()
}

const LOG: &str = "Zeit;Temperatur (\u{b0}F)\r\n07.03.2026 14:42:00;149,0\r\n07.03.2026 14:42:30;140,0\r\n07.03.2026 14:43:00;ERR\r\n07.03.2026 14:43:30;131,0\r\n";

#[tokio::test]
async fn a_file_is_looked_at_brought_in_and_taken_out() {
    let (book, batch) = house().await;
    let (address, page) = brought(&book, batch, "probe <1>.csv", LOG.as_bytes()).await;
    let lead = page.texts(".lead").join(" ");
    assert!(lead.starts_with("probe <1>.csv: 3 readings from 7 March"), "{lead}");
    assert!(lead.contains("14:42") && lead.contains("14:43") && lead.contains("55.0 °C and 65.0 °C"), "{lead}");
    assert!(page.has("svg.chart-day"), "what would come in is drawn");
    assert_eq!(page.value("degrees").as_deref(), Some("f"));
    let refused = page.texts("#refused + ul li");
    assert_eq!(refused.len(), 1);
    assert!(refused[0].starts_with("Line 4.") && refused[0].contains("ERR"), "{refused:?}");
    let (_, table) = book.download(&format!("{address}/refused.csv")).await;
    assert!(String::from_utf8(table).unwrap().starts_with("line,why,text\r\n4,"));
    assert!(wort(&book, batch).await.is_empty(), "looking brings nothing in");

    let taken = book.send(&page, "form[method=post]", &[]).await;
    assert_eq!(taken.status, StatusCode::SEE_OTHER);
    // Berlin is an hour ahead of UTC in March.
    let wanted = [(1_772_890_920, 65.0), (1_772_890_950, 60.0), (1_772_891_010, 55.0)];
    assert_eq!(wort(&book, batch).await, wanted);
    // Once more, as a browser does that never got the answer.
    book.send(&page, "form[method=post]", &[]).await;
    assert_eq!(wort(&book, batch).await, wanted);
    let told = book.get(&address).await;
    assert!(told.texts("[role=status]").join(" ").contains("Brought in. 3 readings"), "{}", told.text);

    // The same file again adds nothing: every reading is held.
    let (_, again) = brought(&book, batch, "again.csv", LOG.as_bytes()).await;
    assert!(again.text.contains("No reading would come in"), "{}", again.texts("main").join(" "));
    assert!(again.text.contains("3 readings left out: they are in the log already"));

    let undone = book.send(&told, "form[method=post]", &[]).await;
    assert_eq!(undone.status, StatusCode::SEE_OTHER);
    assert!(wort(&book, batch).await.is_empty());
    assert!(book.get(&address).await.text.contains("taken out again"));
    // And in again from the file, since nothing of it stands.
    let (_, page) = brought(&book, batch, "again.csv", LOG.as_bytes()).await;
    book.send(&page, "form[method=post]", &[]).await;
    assert_eq!(wort(&book, batch).await, wanted);
    let files = book.get(&format!("/batches/{batch}/readings/import")).await.texts(".files li");
    assert!(files.iter().any(|file| file.contains("3 readings in the log")), "{files:?}");
}

#[tokio::test]
async fn a_date_that_may_be_two_is_asked_before_anything_comes_in() {
    let (book, batch) = house().await;
    let (address, page) = brought(&book, batch, "probe.csv", b"03/04/2026 14:42,65.3\n03/04/2026 14:43,60.1\n").await;
    assert!(page.has("#order"), "the order is asked for");
    assert!(!page.has("form[method=post]"), "nothing can come in before that");
    let told = book
        .get(&format!("{address}?time=1&temperature=2&form=date_time&order=dmy&degrees=c&place=wort&apart=0"))
        .await;
    assert!(told.texts(".lead").join(" ").contains("3 April"), "{:?}", told.texts(".lead"));
    let other = book
        .get(&format!("{address}?time=1&temperature=2&form=date_time&order=mdy&degrees=c&place=room&apart=0"))
        .await;
    assert!(other.texts(".lead").join(" ").contains("4 March"));
    book.send(&other, "form[method=post]", &[]).await;
    let day = book.store.day(batch).await.unwrap().unwrap();
    assert_eq!(day.temperatures(Place::Room).count(), 2, "as it was shown");
}

#[tokio::test]
async fn what_a_brewer_says_of_the_columns_counts() {
    let (book, batch) = house().await;
    let text = b"n,a,b\n0,10,65.3\n30,11,60.1\n60,12,55.0\n";
    let (address, _) = brought(&book, batch, "probe.csv", text).await;
    let asked = "time=1&form=seconds&temperature=3&degrees=c&place=mash&apart=60&start=2026-03-07T14:42&zone=UTC";
    let page = book.get(&format!("{address}?{asked}")).await;
    assert!(page.texts(".lead").join(" ").contains("2 readings"), "{:?}", page.texts(".lead"));
    assert!(page.text.contains("1 reading left out: closer together"));
    book.send(&page, "form[method=post]", &[]).await;
    let day = book.store.day(batch).await.unwrap().unwrap();
    let mash: Vec<_> = day.temperatures(Place::Mash).map(|one| (one.at.unix_timestamp(), one.temperature_c)).collect();
    assert_eq!(mash, [(1_772_894_520, 65.3), (1_772_894_580, 55.0)]);
    // A slip comes back with a sentence, and nothing is guessed over it.
    let (address, _) = brought(&book, batch, "probe.csv", text).await;
    let page = book.get(&format!("{address}?time=9&temperature=3&form=seconds&start=noon")).await;
    let slips = page.texts(".summary__list li");
    assert_eq!(slips.len(), 2, "{slips:?}");
}

#[tokio::test]
async fn text_can_be_pasted_and_what_is_no_table_comes_back() {
    let (book, batch) = house().await;
    let path = format!("/batches/{batch}/readings/import");
    let pasted = book.post_file(&path, ("", b""), "2026-03-07 14:42,65.3\r\n2026-03-07 14:43,60.1\r\n").await;
    let page = book.get(&pasted.location.expect("to the file")).await;
    assert!(page.texts(".lead").join(" ").contains("2 readings"), "{:?}", page.texts(".lead"));

    let nothing = book.post_file(&path, ("", b""), " ").await;
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(nothing.texts(".summary__list li").join(" ").contains("Choose the file"));
    let picture =
        book.post_file(&path, ("probe.csv", b"\x89PNG\x00\x01\x02\x03\x04\x05\x06\x07\x08\x0e\x0f"), "").await;
    assert_eq!(picture.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(picture.texts(".summary__list li").join(" ").contains("no table of text"));
    let large = book.post_file(&path, ("probe.csv", &vec![b'1'; 18 * 1024 * 1024]), "").await;
    assert_eq!(large.status, StatusCode::PAYLOAD_TOO_LARGE);
    let elsewhere = book.post_file("/batches/99/readings/import", ("probe.csv", LOG.as_bytes()), "").await;
    assert_eq!(elsewhere.status, StatusCode::NOT_FOUND);
    let missing = book.get(&format!("{path}/{}", uuid::Uuid::nil())).await;
    assert_eq!(missing.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_large_file_is_more_than_a_form_may_bring_otherwise() {
    let (book, batch) = house().await;
    let rows: String = (0..60_000)
        .map(|s| format!("{},{:.2},probe reading number {s}\n", 1_772_890_920 + s, 20.0 + f64::from(s) / 1e4))
        .collect();
    assert!(rows.len() > 2 * 1024 * 1024);
    let (_, page) = brought(&book, batch, "year.csv", rows.as_bytes()).await;
    // One every 30 s of 16 h 40 min shows the curve as well.
    assert_eq!(page.value("apart").as_deref(), Some("30"));
    assert!(page.texts(".lead").join(" ").contains("2,000 readings"), "{:?}", page.texts(".lead"));
}
