//! `/welcome…`: from an empty book to the first batch, or past any step of it.

use axum::http::StatusCode;
use gylebook::brewday::choices::EquipmentKind;

use crate::book::{Answer, TestBook};

async fn names(book: &TestBook) -> Vec<String> {
    let list = book.store.equipment_list(None, false).await.expect("read");
    list.into_iter().map(|stored| stored.record.equipment.name).collect()
}

/// The set as it is offered, with these texts typed into it.
fn set(page: &Answer, typed: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut fields = page.fields("main form");
    fields.retain(|(name, _)| !typed.iter().any(|(known, _)| known == name));
    fields.extend(typed.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    fields
}

#[tokio::test]
async fn a_newcomer_is_led_from_the_units_to_the_first_batch() {
    let book = TestBook::open().await;
    let page = book.get("/welcome").await;
    assert_eq!(page.texts("[aria-current=step]"), ["Units"]);
    let next = book.post_form("/welcome", &page.fields("main form")).await;
    assert_eq!(next.location.as_deref(), Some("/welcome/equipment"));

    let page = book.get("/welcome/equipment").await;
    let next = book.post_form("/welcome/equipment", &set(&page, &[])).await;
    assert_eq!(next.location.as_deref(), Some("/welcome/recipe"));
    let kinds: Vec<EquipmentKind> = {
        let list = book.store.equipment_list(None, false).await.expect("read");
        list.into_iter().map(|stored| stored.record.equipment.kind).collect()
    };
    assert_eq!(kinds.iter().filter(|kind| **kind == EquipmentKind::Bucket).count(), 3);
    assert_eq!(kinds.len(), 11);

    for _ in 0..2 {
        let next = book.post_form::<&str, &str>("/welcome/recipe", &[]).await;
        assert_eq!(next.location.as_deref(), Some("/welcome/batch"));
    }
    assert_eq!(book.store.recipes("", false).await.expect("read").len(), 1, "sent twice, taken once");
    let page = book.get("/welcome/batch").await;
    assert_eq!(page.texts(".actions .button")[0], "Start the first batch");
    assert!(book.get("/batches/new").await.status.is_success(), "and that is a page");
}

#[tokio::test]
async fn every_step_can_be_passed_over() {
    let book = TestBook::open().await;
    let page = book.get("/welcome").await;
    assert!(page.has("button[formaction='/welcome/skip']"));
    let next = book.post_form::<&str, &str>("/welcome/skip", &[]).await;
    assert_eq!(next.location.as_deref(), Some("/welcome/equipment"));
    assert!(book.store.settings().await.expect("read").welcomed, "the book opens from now on");
    for (path, next) in
        [("/welcome/equipment", "/welcome/recipe"), ("/welcome/recipe", "/welcome/batch"), ("/welcome/batch", "/")]
    {
        assert!(book.get(path).await.has(&format!("main .actions a[href='{next}']")), "{path} leads on to {next}");
    }
    assert_eq!(book.get("/").await.status, StatusCode::OK);
}

#[tokio::test]
async fn the_set_is_changed_before_it_is_taken_and_taken_once() {
    let book = TestBook::open().await;
    let page = book.get("/welcome/equipment").await;
    let sent =
        set(&page, &[("pieces.0.left_out", "yes"), ("pieces.1.name", "Big pot"), ("pieces.1.volume_l", "12 gal")]);
    for _ in 0..2 {
        assert_eq!(book.post_form("/welcome/equipment", &sent).await.status, StatusCode::SEE_OTHER);
    }
    let names = names(&book).await;
    assert_eq!(names.len(), 10);
    assert!(names.contains(&"Big pot".to_owned()) && !names.contains(&"Mash vessel".to_owned()));
    let pot = book.store.equipment_list(Some(EquipmentKind::Kettle), false).await.expect("read").remove(0);
    // 12 US gallons of 3.785411784 L [NIST SP 811].
    assert!((pot.record.equipment.volume_l.expect("kept") - 45.424_941_408).abs() < 1e-9);
    assert_eq!(pot.record.equipment.typed.get("volume_l").map(String::as_str), Some("12 gal"));
    // Now they are in the book, the page shows them and leads on.
    let page = book.get("/welcome/equipment").await;
    assert_eq!(page.texts("h1"), ["You brew with these"]);
}

#[tokio::test]
async fn a_bad_figure_of_the_set_comes_back_in_its_opened_piece() {
    let book = TestBook::open().await;
    let page = book.get("/welcome/equipment").await;
    let again = book
        .post_form(
            "/welcome/equipment",
            &set(&page, &[("pieces.1.boil_off_l_per_h", "lots"), ("pieces.3.volume_l", "5 gal")]),
        )
        .await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.texts(".field__fault")[0].starts_with("“lots” is no number"));
    assert_eq!(again.texts("details[open] summary b"), ["Kettle"]);
    assert_eq!(again.texts("details summary .note")[3], "5 gal");
    assert_eq!(again.value("pieces.1.boil_off_l_per_h").as_deref(), Some("lots"));
    assert!(names(&book).await.is_empty());
}
