//! The sheets as a printer gets them: real pages from a real browser, on A4 and on
//! Letter. Needs `chromium`, and `pdftotext`, `pdfinfo` and `pdftoppm` (poppler).
//!
//! What is checked: how many pages, that nothing is cut off at the edges or printed
//! over something else, that the head stands on every page, that no row is cut in
//! two, and that grey is all it takes.

#[path = "../pages/day.rs"]
mod day;
mod printer;

use day::{Log, ordinary, pale, recipe, start};
use printer::{Paper, Printer, Sheet};
use serde_json::{Value, json};

const BOTH: [Paper; 2] = [Paper::A4, Paper::Letter];

/// A recipe of forty rows, each with an amount no other row has.
fn huge() -> Value {
    let malts: Vec<Value> = (0..20)
        .map(|n| json!({"name": format!("Malt {n:02}"), "mass_kg": 1.001 + f64::from(n) / 100.0, "yield_pct": 80, "moisture_pct": 4, "colour_ebc": 7, "use": "mash"}))
        .collect();
    let hops: Vec<Value> = (0..20)
        .map(|n| json!({"name": format!("Hop {n:02}"), "mass_kg": f64::from(101 + n) / 1000.0, "alpha_pct": 5, "form": "pellet", "use": "boil", "min": 60 - n}))
        .collect();
    recipe("A very long evening", json!(malts), json!(hops))
}

/// What every printed page has to be, whatever is on it.
fn is_sound(sheet: &Sheet, name: &str) {
    sheet.is_on_its_paper();
    sheet.is_inside_the_margins();
    sheet.has_no_words_over_one_another();
    sheet.is_grey();
    for (index, page) in sheet.pages().iter().enumerate() {
        assert!(page.contains(name), "{} page {} has no head:\n{page}", sheet.what(), index + 1);
        assert!(
            !page.contains("Settings") && !page.contains("Print"),
            "{}: the way round the book is printed",
            sheet.what()
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_ordinary_day_is_one_page_before_and_one_after() {
    let printer = Printer::open().await;
    let batch = start(&printer.store, pale("Lantern Row Pale")).await;
    ordinary(batch).write(&printer.store).await;
    for paper in BOTH {
        for path in ["sheet", "sheet/blank"] {
            let sheet = printer.print(&format!("/batches/{batch}/{path}"), paper).await;
            is_sound(&sheet, "Batch 1");
            assert_eq!(sheet.pages().len(), 1, "{}", sheet.what());
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mash_of_many_rests_is_one_page_too() {
    let printer = Printer::open().await;
    let mut body = pale("Long Mash Lager");
    body["mash_rests"] = json!([
        {"temperature_c": 52, "min": 15}, {"temperature_c": 63, "min": 40}, {"temperature_c": 72, "min": 20},
        {"temperature_c": 76, "min": 10}, {"temperature_c": 78, "min": 10},
    ]);
    let batch = start(&printer.store, body).await;
    for paper in BOTH {
        let sheet = printer.print(&format!("/batches/{batch}/sheet/blank"), paper).await;
        is_sound(&sheet, "Batch 1");
        assert_eq!(sheet.pages().len(), 1, "{}", sheet.what());
        assert!(sheet.pages()[0].contains("Rest 5"), "{}", sheet.what());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_report_prints_like_the_sheet_it_is() {
    let printer = Printer::open().await;
    let batch = start(&printer.store, pale("Lantern Row Pale")).await;
    ordinary(batch).write(&printer.store).await;
    for paper in BOTH {
        let report = printer.print_report(batch, paper).await;
        is_sound(&report, "Batch 1");
        assert!(report.pages().len() <= 2, "{}", report.what());
        assert!(report.pages().concat().contains("Cooling curve"));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_printed_before_the_day_and_after_it() {
    let printer = Printer::open().await;
    let batch = start(&printer.store, pale("Lantern Row Pale")).await;
    ordinary(batch).write(&printer.store).await;
    let blank = printer.print(&format!("/batches/{batch}/sheet/blank"), Paper::A4).await;
    for words in [
        "Strike water",
        "13.5 L at",
        "Hot flush on",
        "Bittering hop",
        "Before the chill",
        "Coil blown dry",
        "Stirred",
        "Take care",
    ] {
        assert!(blank.pages()[0].contains(words), "{words}");
    }
    let record = printer.print(&format!("/batches/{batch}/sheet"), Paper::A4).await;
    for words in
        ["Cooling curve", "minutes since flame-out", "Standard chill", "± ", "skipped, electric kettle", "Copper coil"]
    {
        assert!(record.pages()[0].contains(words), "{words}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_huge_recipe_takes_a_second_page_and_cuts_no_row() {
    let printer = Printer::open().await;
    let batch = start(&printer.store, huge()).await;
    let mut log = ordinary(batch);
    for minute in 0..70 {
        log.at(250.0 + f64::from(minute), json!({"kind": "note", "note": format!("Remark {minute:02} of a long evening, ending in word{minute:02}.")}));
    }
    log.write(&printer.store).await;
    for paper in BOTH {
        for path in ["sheet", "sheet/blank"] {
            let sheet = printer.print(&format!("/batches/{batch}/{path}"), paper).await;
            is_sound(&sheet, "Batch 1");
            let pages = sheet.pages();
            assert!((2..=3).contains(&pages.len()), "{} pages, {}", pages.len(), sheet.what());
            let together = |one: &str, other: &str| {
                let page =
                    pages.iter().position(|page| page.contains(one)).unwrap_or_else(|| panic!("{one} is not printed"));
                assert!(pages[page].contains(other), "{one} is cut from {other}, {}", sheet.what());
            };
            for n in 0..20 {
                together(&format!("Malt {n:02}"), &format!("1.{:03} kg", 1 + 10 * n));
                together(&format!("Hop {n:02}"), &format!("{} g", 101 + n));
            }
            if path == "sheet" {
                (0..70).for_each(|n| together(&format!("Remark {n:02}"), &format!("word{n:02}")));
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_yet_and_a_thousand_readings_are_each_a_page() {
    let printer = Printer::open().await;
    let bare = start(&printer.store, recipe("Bare", json!([]), json!([]))).await;
    let probed = start(&printer.store, pale("Probed")).await;
    let mut log = Log::of(probed);
    log.at(0.0, json!({"kind": "flame_out"}));
    for second in 0..1000 {
        let celsius = 20.0 + 78.0 * (-f64::from(second) / 300.0).exp();
        log.at(f64::from(second) / 30.0, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
    }
    log.write(&printer.store).await;
    for (batch, name) in [(bare, "Bare"), (probed, "Probed")] {
        for path in ["sheet", "sheet/blank"] {
            let sheet = printer.print(&format!("/batches/{batch}/{path}"), Paper::Letter).await;
            is_sound(&sheet, name);
            assert_eq!(sheet.pages().len(), 1, "{}", sheet.what());
        }
    }
}
