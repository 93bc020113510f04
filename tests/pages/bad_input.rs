//! What nobody should type, typed into every form: it comes back with a sentence
//! at its field and loses nothing. What is only odd is kept, and marked.

mod forms;
mod house;
mod odd;

use axum::http::StatusCode;

use crate::book::{Answer, TestBook, entry_form};
use forms::{EVERY_FORM, Form, Typed};

/// Words that blame or scold, or that a machine says.
const NEVER: [&str; 6] = ["invalid", "error", "please", "oops", "forbidden", "illegal"];

#[tokio::test]
async fn what_cannot_be_kept_comes_back_at_its_field_with_everything_typed() {
    let book = house::book().await;
    let mut tried = 0;
    for form in EVERY_FORM {
        for typed in form.bad {
            tried += 1;
            let page = book.get(form.page).await;
            let before = form.before.iter().filter(|(name, _)| *name != typed.field).copied();
            let sent: Vec<_> = before.chain([(typed.field, typed.text())]).collect();
            let again = book.send(&page, &form.form(), &sent).await;
            let case = format!("{} {} = {:?}", form.page, typed.field, shortened(typed.text()));
            assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "{case}");
            has_its_fault(&again, form, typed, &case);
            loses_nothing(&again, form, &sent, &case);
            speaks_kindly(&again, &case);
        }
    }
    assert!(tried >= 60, "{tried} values were tried");
    assert_eq!(house::state(&book).await, house::state(&house::book().await).await, "nothing of it was kept");
}

/// The summary on top leads to the field, and the field is described by its sentence.
fn has_its_fault(again: &Answer, form: &Form, typed: &Typed, case: &str) {
    let name = typed.fault.unwrap_or(typed.field);
    let control = format!("{} [name='{name}']", form.form());
    let mut ids = again.attributes(&control, "id");
    // Of a group of choices, the group is what is described.
    ids.extend(again.attributes(&format!("{} fieldset:has([name='{name}'])", form.form()), "id"));
    let linked = ids.iter().find(|id| again.has(&format!(".summary a[href='#{id}']")));
    let id = linked.unwrap_or_else(|| panic!("{case}: the summary leads to {name} ({ids:?})"));
    assert!(again.has(&format!("[id='{id}'][aria-invalid='true']")), "{case}: {id} is marked");
    let described = again.attributes(&format!("[id='{id}']"), "aria-describedby").join(" ");
    let sentences: Vec<String> =
        described.split(' ').flat_map(|by| again.texts(&format!(".field__fault[id='{by}']"))).collect();
    let [sentence] = &sentences[..] else { panic!("{case}: one sentence describes {id}, not {sentences:?}") };
    assert!(sentence.ends_with(['.', '?']), "{case}: a sentence, not {sentence:?}");
    assert!(again.texts(".summary a").iter().any(|told| told.ends_with(sentence)), "{case}: the summary says it too");
}

fn loses_nothing(again: &Answer, form: &Form, sent: &[(&str, &str)], case: &str) {
    let held = again.fields(&form.form());
    for (name, text) in sent {
        let is_there = held.iter().any(|(known, value)| known == name && value.replace("\r\n", "\n") == *text);
        let is_no_choice = again.has(&format!("select[name='{name}'], input[type='radio'][name='{name}']"))
            && !again.has(&format!("[name='{name}'] option[value='{text}'], [name='{name}'][value='{text}']"));
        let is_button = again.has(&format!("button[name='{name}']"));
        assert!(is_there || is_no_choice || is_button, "{case}: {name} still holds {:?}", shortened(text));
    }
}

fn speaks_kindly(page: &Answer, case: &str) {
    let words = page.texts("body").join(" ").to_lowercase();
    for never in NEVER {
        let found = words.split(|c: char| !c.is_alphabetic()).any(|word| word.starts_with(never));
        assert!(!found, "{case}: {never:?} is said on the page");
    }
}

fn shortened(text: &str) -> String {
    text.chars().take(40).collect()
}

#[tokio::test]
async fn another_volume_that_is_none_comes_back_too() {
    let book = house::book().await;
    for text in ["nothing", "0", "-3", "5000", "10 kg"] {
        let again = book.get(&format!("/recipes/1/scale?volume_l={}", text.replace(' ', "+"))).await;
        assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "{text}");
        assert_eq!(again.value("volume_l").as_deref(), Some(text));
        assert!(
            again.has("#volume_l[aria-describedby~='volume_l-fault']") && again.has(".summary a[href='#volume_l']")
        );
        speaks_kindly(&again, text);
    }
}

/// Every form of a page with a field to type in is in the table.
#[tokio::test]
async fn every_form_with_something_to_type_is_tried() {
    let book: TestBook = house::book().await;
    for page in EVERY_FORM.iter().map(|form| form.page) {
        let answer = book.get(page).await;
        assert_eq!(answer.status, StatusCode::OK, "{page}");
        // Both batches have the same pages.
        let same = |form: &&Form| {
            form.page.replace("/batches/1/", "/batches/2/") == page.replace("/batches/1/", "/batches/2/")
        };
        let of_page = || EVERY_FORM.iter().filter(same);
        let all =
            "main form[method='post']:has(input[type='text'], textarea), .bar form:has(input[type='text']), form.bar";
        // Items of a list and additions have a form each: one of them is tried.
        let each = ["check", "addition"].map(|kind| entry_form(kind, &[]));
        let tried = of_page().map(Form::form).chain(each);
        let known = tried.map(|form| format!(":not({form})")).collect::<String>();
        let untried = answer.texts(&format!(":is({all}){known}"));
        assert_eq!(untried, Vec::<String>::new(), "{page} has a form that no bad value was typed into");
    }
}
