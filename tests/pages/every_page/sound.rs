//! What every page has to be, whatever is on it.

use std::collections::BTreeSet;

use crate::book::Answer;

/// Checks a page as a reader with a screen reader, or without scripts, needs it.
pub(super) fn check(page: &Answer, address: &str) {
    assert_eq!(page.texts("h1").len(), 1, "{address} has one heading above all others: {:?}", page.texts("h1"));
    let title = page.texts("title").join("");
    assert!(title.contains(" · ") && !title.starts_with(" ·"), "{address} has a title: {title:?}");
    assert_eq!(page.attributes("html", "lang"), ["en-GB"], "{address}");
    assert_eq!(page.attributes("main", "id"), ["main"], "{address} has one main part to skip to");
    ids_are_unique(page, address);
    references_hold(page, address);
    everything_has_a_name(page, address);
    nothing_is_half_made(page, address);
}

fn ids_are_unique(page: &Answer, address: &str) {
    let mut known = BTreeSet::new();
    for id in page.attributes("[id]", "id") {
        assert!(!id.is_empty() && !id.contains(' '), "{address}: an id is one word, not {id:?}");
        assert!(known.insert(id.clone()), "{address}: two elements are called {id}");
    }
}

/// Whatever names another element names one that is there.
fn references_hold(page: &Answer, address: &str) {
    let ids: BTreeSet<String> = page.attributes("[id]", "id").into_iter().collect();
    for name in ["for", "aria-describedby", "aria-labelledby", "aria-controls", "form", "list"] {
        for named in page.attributes(&format!("[{name}]"), name) {
            for id in named.split_whitespace() {
                assert!(ids.contains(id), "{address}: {name} names {id}, which is not there");
            }
        }
    }
}

/// Fields, buttons, links, pictures and tables can be told apart by ear.
fn everything_has_a_name(page: &Answer, address: &str) {
    let labelled: BTreeSet<String> = page.attributes("label[for]", "for").into_iter().collect();
    let field = ":is(input:not([type='hidden']), select, textarea):not([aria-label], [aria-labelledby], label *)";
    for id in page.attributes(field, "id") {
        assert!(labelled.contains(&id), "{address}: the field {id} has a label");
    }
    let nameless = page.attributes(&format!("{field}:not([id])"), "name");
    assert!(nameless.is_empty(), "{address}: these fields have no label: {nameless:?}");
    for element in ["a[href]", "button", "summary", "legend", "label", "th[scope]"] {
        let own = format!("{element}:not([aria-label], :has([aria-label], [aria-labelledby], svg, img, input))");
        assert!(!page.texts(&own).iter().any(String::is_empty), "{address}: a {element} says nothing");
    }
    assert!(
        !page.has("img:not([alt]), svg[role='img']:not([aria-label], [aria-labelledby], :has(title))"),
        "{address}"
    );
    assert!(!page.has("form:not([action]), form:not([method])"), "{address}: a form says where it goes, and how");
    assert!(!page.has("a[href='']:not([download])"), "{address}: a link leads somewhere");
}

/// No template was left unfilled, and no figure is a machine's word for none.
fn nothing_is_half_made(page: &Answer, address: &str) {
    for mark in ["{{", "{%", "{#"] {
        assert!(!page.text.contains(mark), "{address}: {mark} was left in the page");
    }
    let words = page.texts("body").join(" ");
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    for word in words.split(|c: char| !is_part(c)) {
        assert!(
            !["NaN", "inf", "None", "Some", "null", "undefined"].contains(&word),
            "{address}: {word} is on the page"
        );
    }
    assert!(!words.contains("-0.0") && !words.contains("−0 "), "{address}: no zero has a sign");
    // Names with marks in them are shown, not obeyed.
    assert!(!page.has("x-mark"), "{address}: what a brewer typed became part of the page");
}
