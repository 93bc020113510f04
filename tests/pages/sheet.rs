//! `/batches/{id}/sheet` and `…/blank`, as markup; `tests/paper` prints them.

use axum::http::StatusCode;
use serde_json::json;

use crate::book::TestBook;
use crate::day::{Log, ordinary, pale, recipe, start};

#[tokio::test]
async fn a_record_tells_the_day_and_what_was_put_right() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let mut log = ordinary(batch);
    let misread = log.at(241.0, json!({"kind": "temperature", "place": "room", "temperature_c": 91}));
    let twice = log.at(242.0, json!({"kind": "ice_added", "ice_kg": 2}));
    log.at(
        243.0,
        json!({"kind": "amendment", "of": misread, "why": "misread",
        "replacement": {"kind": "temperature", "place": "room", "temperature_c": 19}}),
    );
    log.at(244.0, json!({"kind": "amendment", "of": twice, "void": true, "why": "logged twice"}));
    log.write(&book.store).await;

    let page = book.get(&format!("/batches/{batch}/sheet")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts("h1"), ["Batch 1 Lantern Row Pale"]);
    assert!(page.has(".chart-cooling"), "the cooling curve is drawn");
    let marks = page.texts(".dated__mark");
    assert!(marks.contains(&"was 91.0 °C, misread".to_owned()), "{marks:?}");
    assert!(marks.contains(&"struck out: logged twice".to_owned()), "{marks:?}");
    assert!(page.texts(".ticked__one").iter().any(|item| item.ends_with("skipped, electric kettle")));
    // 16 wort readings make a table, and none of them a line.
    assert_eq!(page.texts(".cells__one").len(), 16);
    assert!(!page.texts(".dated__one").iter().any(|line| line.contains("Wort ")));
    // A pH with a note keeps its line and its note.
    assert!(page.texts(".dated__one").iter().any(|line| line.contains("5.4") && line.contains("After ten minutes")));
    let unknown = page.texts(".unknown li").join(" ");
    assert!(unknown.contains("First wort"), "a figure that is missing says why: {unknown}");
    // Stage, start and end stand together, not as lines.
    assert!(page.texts(".spans__one").contains(&"Mash 09:00 to 10:35".to_owned()), "{:?}", page.texts(".spans__one"));
}

#[tokio::test]
async fn a_record_of_nothing_yet_says_what_would_be_there() {
    let book = TestBook::open().await;
    let batch = start(&book.store, recipe("Bare", json!([]), json!([]))).await;
    let page = book.get(&format!("/batches/{batch}/sheet")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.has(".wholeday"), "there is no day to draw");
    assert!(page.text.contains("No curve: it is drawn from the flame-out"));
    assert!(page.text.contains("Nothing is written in the log yet."));
}

#[tokio::test]
async fn a_blank_sheet_has_the_targets_and_a_box_for_every_reading() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let page = book.get(&format!("/batches/{batch}/sheet/blank")).await;
    assert_eq!(page.status, StatusCode::OK);
    let rows = page.texts(".desk__readings tbody tr");
    for (what, planned) in [
        ("Strike water", "13.5 L at"),
        ("Rest 1", "66.0 °C, 60 min"),
        ("Hot flush on", "77.0 °C or hotter"),
        ("Into fermenter", "20.0 L, 1.0"),
        ("Pitch", "19.0 °C (17.0 to 21.0)"),
    ] {
        assert!(rows.iter().any(|row| row.starts_with(&format!("{what}{planned}"))), "{what}: {rows:?}");
    }
    let weighed = page.texts(".weigh__one");
    assert_eq!(
        weighed,
        [
            "Pale malt 4.5 kg",
            "60 min Bittering hop 5 % α, pellet 40 g",
            "Flame-out Late hop 6 % α, pellet 30 g",
            "House ale ale, liquid 200 billion cells"
        ]
    );
    // The lists of the batch, each item with its box.
    assert_eq!(page.texts(".lists h2"), ["Before the brew", "Before the chill", "Clean and put away"]);
    assert_eq!(page.texts(".lists__item").len(), 24);
    assert!(page.texts(".paper__date")[0].starts_with("Date"), "before the day the date is written by hand");
}

#[tokio::test]
async fn a_blank_sheet_of_a_bare_recipe_leaves_room_for_what_goes_in() {
    let book = TestBook::open().await;
    let batch = start(&book.store, recipe("Bare", json!([]), json!([]))).await;
    let page = book.get(&format!("/batches/{batch}/sheet/blank")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts(".desk__recipe .rules__one").len(), 8);
    assert!(!page.text.contains("NaN") && !page.text.contains("inf"));
}

#[tokio::test]
async fn a_probe_that_sent_thousands_fills_no_book() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Probed")).await;
    let mut log = Log::of(batch);
    log.at(0.0, json!({"kind": "flame_out"}));
    for second in 0..900 {
        let celsius = 20.0 + 78.0 * (-f64::from(second) / 300.0).exp();
        log.at(f64::from(second) / 30.0, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
    }
    log.write(&book.store).await;
    let page = book.get(&format!("/batches/{batch}/sheet")).await;
    assert_eq!(page.texts(".cells__one").len(), 60);
    assert!(page.text.contains("60 of 900 readings"));
}

#[tokio::test]
async fn there_is_no_sheet_of_a_batch_that_is_not_in_the_book() {
    let book = TestBook::open().await;
    for path in ["/batches/7/sheet", "/batches/7/sheet/blank"] {
        assert_eq!(book.get(path).await.status, StatusCode::NOT_FOUND);
    }
}
