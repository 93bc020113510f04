//! Every page there is, in an empty book, in a year of brewing and in a book
//! filled to its limits: each opens, is soundly built, and links to what is there.
//!
//! The pages are held against the source: a GET route that is not visited here,
//! and a template that none of these pages was made with, fail.

mod books;
mod routes;
mod sound;
mod templates;
mod units;

use std::collections::{BTreeMap, BTreeSet};

use axum::http::StatusCode;

use crate::book::{Answer, TestBook};
use books::Contents;

/// What was found at each address.
type Visited = BTreeMap<String, Answer>;

/// Opens every address of every route, and checks each page.
async fn visit(book: &TestBook, contents: &Contents) -> Visited {
    let mut visited = Visited::new();
    for route in routes::get_routes() {
        let addresses = contents.addresses(&route);
        assert!(!addresses.is_empty(), "{route} is visited: say in books.rs with what");
        for (address, wanted) in addresses {
            let page = book.get(&address).await;
            assert_eq!(page.status, wanted, "{address}: {}", page.texts("main p").join(" "));
            if page.text.starts_with("<!doctype html>") {
                sound::check(&page, &address);
            }
            visited.insert(address, page);
        }
    }
    visited
}

/// Follows every link of the pages, one step, and the place in the page it leads to.
async fn follow(book: &TestBook, visited: &mut Visited) {
    let pages: Vec<(String, Vec<String>)> =
        visited.iter().map(|(address, page)| (address.clone(), links(address, page))).collect();
    let mut broken = BTreeSet::new();
    for (from, links) in pages {
        for link in links {
            let (address, place) = link.split_once('#').unwrap_or((&link, ""));
            if !visited.contains_key(address) {
                visited.insert(address.to_owned(), book.get(address).await);
            }
            let there = &visited[address];
            let is_there = address == from || there.status == StatusCode::OK || there.status == StatusCode::SEE_OTHER;
            let has_place = place.is_empty() || there.has(&format!("[id='{place}']"));
            if !(is_there && has_place) {
                broken.insert(format!("{from} → {link} ({})", there.status));
            }
        }
    }
    assert!(broken.is_empty(), "links that lead nowhere:\n{}", broken.into_iter().collect::<Vec<_>>().join("\n"));
}

/// Where a page leads within the book. Of a log's many entries one stands for all.
fn links(from: &str, page: &Answer) -> Vec<String> {
    let here = from.split('?').next().unwrap_or_default();
    let all = page.attributes("a[href], link[href]", "href").into_iter().chain(page.attributes("script[src]", "src"));
    let mut entries = 0;
    all.filter(|href| !href.starts_with("http"))
        .map(|href| match href.chars().next() {
            Some('#') => format!("{from}{href}"),
            Some('?') => format!("{here}{href}"),
            _ => href,
        })
        .filter(|href| {
            entries += usize::from(href.contains("/entries/"));
            !href.contains("/entries/") || entries <= 1
        })
        .collect()
}

#[tokio::test]
async fn an_empty_book_opens_everywhere() {
    let book = TestBook::open().await;
    assert_eq!(book.get("/").await.location.as_deref(), Some("/welcome"), "a newcomer is led in");
    book.post_form::<&str, &str>("/welcome/skip", &[]).await;
    let mut visited = visit(&book, &Contents::nothing()).await;
    follow(&book, &mut visited).await;
}

#[tokio::test]
async fn a_year_of_brewing_opens_everywhere_and_shows_every_template() {
    let (book, contents) = books::year().await;
    let mut visited = visit(&book, &contents).await;
    follow(&book, &mut visited).await;

    // Some templates are only for a book without records, and for what comes back from a form.
    let empty = TestBook::open().await;
    empty.post_form::<&str, &str>("/welcome/skip", &[]).await;
    for (address, page) in visit(&empty, &Contents::nothing()).await {
        visited.insert(format!("empty {address}"), page);
    }
    visited.insert("came back".into(), book.post_form("/settings", &[("house", "")]).await);
    let stale = book.post_form("/settings", &[("form_token", "of another device"), ("house", "Yard")]).await;
    visited.insert("stale".into(), stale);
    let log = ("probe.csv", &b"2026-03-07 14:42,65.3\n2026-03-07 14:43,60.1\n"[..]);
    let brought = book.post_file("/batches/1/readings/import", log, "").await.location.expect("to the file");
    book.send(&book.get(&brought).await, "form[method=post]", &[]).await;
    visited.insert("taken in".into(), book.get(&brought).await);
    let recipe = book.get("/recipes/1/edit").await;
    visited.insert("preview".into(), book.post_form("/recipes/preview", &recipe.fields("#recipe")).await);
    templates::all_seen(&visited);
}

#[tokio::test]
async fn a_book_filled_to_its_limits_opens_everywhere() {
    let (book, contents) = books::overfull().await;
    let mut visited = visit(&book, &contents).await;
    follow(&book, &mut visited).await;
}

#[tokio::test]
async fn a_house_that_chose_other_units_reads_no_metric_ones() {
    let (book, contents) = books::year().await;
    book.speak(units::OTHER).await;
    let visited = visit(&book, &contents).await;
    let pages = visited
        .iter()
        .filter(|(address, page)| page.text.starts_with("<!doctype html>") && !units::is_about_units(address));
    let own = units::own_words(&book.store).await;
    let strays: BTreeSet<String> = pages
        .flat_map(|(address, page)| units::strays(page, &own).into_iter().map(move |line| format!("{address}: {line}")))
        .collect();
    assert!(strays.is_empty(), "not in the house's units:\n{}", strays.into_iter().collect::<Vec<_>>().join("\n"));
}
