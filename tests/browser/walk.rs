//! The way through the book: one address of each kind of page.

use std::collections::{BTreeSet, VecDeque};

use anyhow::Result;
use serde_json::Value;

use crate::{server::Server, tab::Tab};

/// Pages no link leads to in a book that is in use.
const DOORS: [&str; 4] = ["/welcome", "/welcome/equipment", "/welcome/recipe", "/welcome/batch"];

/// Where a link leads, with what is a number or an id in it made alike: pages of
/// one kind hold the same forms.
fn kind_of(path: &str) -> String {
    let is_id = |part: &str| part.chars().any(|c| c.is_ascii_digit());
    path.split('/').map(|part| if is_id(part) { "#" } else { part }).collect::<Vec<_>>().join("/")
}

/// One address of each kind of page, found by following every link.
///
/// # Errors
/// A page can't be reached.
pub async fn pages(tab: &Tab, server: &Server) -> Result<Vec<String>> {
    let mut known = BTreeSet::new();
    let mut waiting: VecDeque<String> = ["/"].into_iter().chain(DOORS).map(str::to_owned).collect();
    known.extend(waiting.iter().cloned());
    let mut pages = Vec::new();
    while let Some(path) = waiting.pop_front() {
        tab.client.goto(&server.page(&path)).await?;
        let links =
            "[...document.querySelectorAll('a[href]:not([download])')].map((link) => link.getAttribute('href'))";
        for link in tab.ask(links).await?.as_array().into_iter().flatten().filter_map(Value::as_str) {
            let link = link.split('#').next().unwrap_or_default();
            let is_page = link.starts_with('/') && !link.starts_with("/api") && !link.ends_with(".csv");
            if is_page && known.insert(kind_of(link)) {
                waiting.push_back(link.to_owned());
            }
        }
        pages.push(path);
    }
    Ok(pages)
}

/// Those of them with a form.
///
/// # Errors
/// A page can't be reached.
pub async fn pages_with_forms(tab: &Tab, server: &Server) -> Result<Vec<String>> {
    let mut found = Vec::new();
    for path in pages(tab, server).await? {
        tab.client.goto(&server.page(&path)).await?;
        if tab.ask("document.forms.length > 0").await? == true {
            found.push(path);
        }
    }
    Ok(found)
}
