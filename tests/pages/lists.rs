//! `/settings/lists`: the check lists edited with buttons alone.

use axum::http::StatusCode;
use gylebook::brewday::{
    CheckLists,
    choices::{CareAct, EquipmentKind, Stage},
};

use crate::book::{Answer, TestBook};

const PATH: &str = "/settings/lists";
const FORM: &str = "form[action='/settings/lists']";

/// Presses a button of the form as it stands, with these texts typed before.
async fn press(book: &TestBook, page: &Answer, button: Option<&str>, typed: &[(&str, &str)]) -> Answer {
    let mut fields = page.fields(FORM);
    for (name, text) in &mut fields {
        if let Some((_, typed)) = typed.iter().find(|(known, _)| known == name) {
            *text = (*typed).to_owned();
        }
    }
    if let Some(button) = button {
        assert!(page.has(&format!("button[name=row][value='{button}']")), "there is a button {button}");
        fields.push(("row".into(), button.into()));
    }
    book.post_form(PATH, &fields).await
}

async fn kept(book: &TestBook) -> CheckLists {
    book.store.check_lists().await.expect("read")
}

#[tokio::test]
async fn lists_sent_back_as_they_are_are_the_lists_as_they_were() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    assert!(page.text.contains("A batch keeps the lists it was started with"));
    let answer = press(&book, &page, None, &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(kept(&book).await, CheckLists::defaults());
}

#[tokio::test]
async fn lines_are_added_moved_and_removed_and_kept_only_when_asked() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    let page = press(&book, &page, Some("add-lists.1.items"), &[]).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.texts(".bar [role=status]")[0].starts_with("Not kept yet"));
    let typed = [
        ("lists.1.items.6.text", "Coil weighed\nbefore the flush"),
        ("lists.1.items.6.equipment", "coil"),
        ("lists.1.items.6.act", "drained"),
        ("lists.1.items.0.text", "Fermenter sanitised, lid too"),
    ];
    let page = press(&book, &page, Some("up-lists.1.items-6"), &typed).await;
    let page = press(&book, &page, Some("remove-lists.1.items-4"), &[]).await;
    let page = press(&book, &page, Some("down-lists-0"), &[]).await;
    assert_eq!(kept(&book).await, CheckLists::defaults(), "nothing was kept so far");
    press(&book, &page, None, &[("lists.0.stage", "pitch")]).await;

    let lists = kept(&book).await;
    let names: Vec<&str> = lists.0.iter().map(|list| list.name.as_str()).collect();
    assert_eq!(names, ["Before the chill", "Before the brew", "Clean and put away"]);
    let list = &lists.0[0];
    assert_eq!(list.stage, Stage::Pitch);
    let keys: Vec<&str> = list.items.iter().map(|item| item.key.as_str()).collect();
    let new = "coil_weighed_before_the_flush";
    assert_eq!(
        keys,
        ["fermenter_sanitised", "hoses_sanitised", "airlock_sanitised", "baths_filled", new, "gloves_ready"]
    );
    assert_eq!(list.items[0].text, "Fermenter sanitised, lid too");
    let item = &list.items[4];
    assert_eq!(item.text, "Coil weighed before the flush");
    assert_eq!((item.equipment, item.act), (Some(EquipmentKind::Coil), Some(CareAct::Drained)));
}

#[tokio::test]
async fn a_line_or_a_list_taken_out_comes_back_before_anything_is_kept() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    assert!(!page.has("button[value=back]"), "nothing was taken out");
    let given = page.fields(FORM);
    for button in ["remove-lists.1.items-2", "remove-lists-0"] {
        let without = press(&book, &page, Some(button), &[("lists.0.name", "Mine")]).await;
        let told = &without.texts(".bar [role=status]")[0];
        let what = if button.ends_with('2') { &page.texts("#list-1 .lines__one textarea")[2] } else { "Mine" };
        assert_eq!(told, &format!("Taken out: {what}."));
        // Its button stands in the bar, outside of the form it belongs to.
        let mut fields = without.fields(FORM);
        fields.push(("row".into(), "back".into()));
        let back = book.post_form(PATH, &fields).await;
        let mut wanted = given.clone();
        wanted.iter_mut().filter(|(name, _)| name == "lists.0.name").for_each(|(_, text)| *text = "Mine".into());
        assert_eq!(back.fields(FORM), wanted, "{button}");
        assert!(!back.has("button[value=back]"));
        // Kept without it, nothing of it is kept.
        press(&book, &without, None, &[]).await;
        assert_ne!(kept(&book).await, CheckLists::defaults(), "{button}");
    }
}

#[tokio::test]
async fn a_list_is_added_and_one_removed() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    let page = press(&book, &page, Some("add-lists"), &[]).await;
    let page = press(
        &book,
        &page,
        Some("remove-lists-0"),
        &[("lists.3.name", "Before lighting the burner"), ("lists.3.stage", "boil")],
    )
    .await;
    press(&book, &page, None, &[]).await;
    let lists = kept(&book).await;
    let names: Vec<&str> = lists.0.iter().map(|list| list.name.as_str()).collect();
    assert_eq!(names, ["Before the chill", "Clean and put away", "Before lighting the burner"]);
    assert_eq!(lists.0[2].stage, Stage::Boil);
}

#[tokio::test]
async fn a_line_that_says_half_of_its_care_comes_back_with_what_was_typed() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    for (field, text, faulty, sentence) in [
        ("lists.0.items.2.equipment", "coil", "lists.0.items.2.act", "Choose what the tick says was done to it."),
        ("lists.0.items.2.act", "rinsed", "lists.0.items.2.equipment", "Choose what this was done to."),
        ("lists.0.items.2.text", "", "lists.0.items.2.text", "This is needed."),
        ("lists.0.name", "", "lists.0.name", "This is needed."),
        ("lists.0.stage", "lunch", "lists.0.stage", "Choose one of these."),
    ] {
        let again = press(&book, &page, None, &[(field, text)]).await;
        assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
        assert_eq!(again.texts(".field__fault"), [sentence], "{field}");
        assert!(again.has(&format!(".summary a[href='#{faulty}']")), "{field}");
        if text != "lunch" {
            assert!(again.fields(FORM).contains(&(field.to_owned(), text.to_owned())), "{field}");
        }
    }
    assert_eq!(kept(&book).await, CheckLists::defaults());
}

#[tokio::test]
async fn what_was_kept_can_be_taken_back_now_and_later() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    assert!(!page.has("form[action='/settings/lists/before']"), "nothing was changed yet");
    let fewer = press(&book, &page, Some("remove-lists.0.items-1"), &[]).await;
    assert!(!fewer.has("form[action='/settings/lists/before']"), "nothing is kept yet");
    press(&book, &fewer, None, &[]).await;
    assert_eq!(kept(&book).await.0[0].items.len(), CheckLists::defaults().0[0].items.len() - 1);
    // At once, from the page that says it is kept.
    let told = book.get("/settings/lists?kept=lists").await;
    let undo = "form.actions[action='/settings/lists/before'] button";
    let number = &told.attributes(undo, "value")[0];
    let back = book.post_form("/settings/lists/before", &[("number", number)]).await;
    assert_eq!(back.status, StatusCode::SEE_OTHER);
    assert_eq!(kept(&book).await, CheckLists::defaults());
    // And later, also what was dropped for the defaults.
    let page = book.get(PATH).await;
    press(&book, &page, None, &[("lists.0.name", "Mine")]).await;
    book.post_form::<&str, &str>("/settings/lists/defaults", &[]).await;
    let page = book.get(PATH).await;
    let offered = page.attributes(".before button", "value");
    assert_eq!(offered.len(), 4);
    assert_eq!(page.texts(".before__one .note")[0], "3 lists, 24 lines");
    book.post_form("/settings/lists/before", &[("number", &offered[0])]).await;
    assert_eq!(kept(&book).await.0[0].name, "Mine");
    let gone = book.post_form("/settings/lists/before", &[("number", "99")]).await;
    assert_eq!(gone.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn there_is_a_way_back_to_the_lists_the_book_came_with() {
    let book = TestBook::open().await;
    let page = book.get(PATH).await;
    press(&book, &page, None, &[("lists.0.name", "Mine")]).await;
    assert_eq!(kept(&book).await.0[0].name, "Mine");
    book.post_form::<&str, &str>("/settings/lists/defaults", &[]).await;
    assert_eq!(kept(&book).await, CheckLists::defaults());
}
