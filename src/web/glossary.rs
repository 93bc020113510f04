//! `/glossary`: every figure explained in a sentence, with its formula and its
//! sources. All of it is data of the science; here it is only laid out.

use askama::Template;
use axum::{
    Router,
    response::{IntoResponse, Response},
    routing::get,
};

use super::{App, Frame, Page};
use crate::science::{
    bibliography::{BIBLIOGRAPHY, Source, Status},
    glossary::{self, Figure, mathml},
};

pub(crate) fn router() -> Router<App> {
    Router::new().route("/glossary", get(index))
}

#[derive(Template)]
#[template(path = "glossary.html")]
struct GlossaryPage {
    frame: Frame,
    entries: Vec<Entry>,
}

/// One figure on the page.
struct Entry {
    figure: &'static Figure,
    /// Where links to it lead.
    anchors: Vec<String>,
}

impl Entry {
    fn href(&self) -> String {
        format!("#{}", self.anchors.first().map_or("", String::as_str))
    }

    /// Symbols as they stand in the formula, with what they mean.
    fn symbols(&self) -> Vec<(String, &'static str)> {
        self.figure.symbols.iter().map(|(symbol, words)| (mathml::inline(symbol), *words)).collect()
    }
}

impl GlossaryPage {
    fn sources(&self) -> &'static [Source] {
        BIBLIOGRAPHY
    }
}

/// Where links to a figure lead: by its whole key (`gravity.original_sg`), and by
/// its name alone (`original_sg`) where no other entry has that.
#[must_use]
pub fn anchors(key: &str) -> Vec<String> {
    let name = name_of(key);
    let has_it = |figure: &&Figure| figure.keys.iter().any(|known| name_of(known) == name);
    let alone = glossary::figures().filter(has_it).count() < 2;
    [key, name].into_iter().take(if alone { 2 } else { 1 }).map(str::to_owned).collect()
}

/// What a source's own line says of how far it was followed back.
#[must_use]
pub fn followed(status: &Status) -> &'static str {
    match status {
        Status::Confirmed => "read in the source",
        Status::SecondHand => "read where it is quoted",
        Status::FromMemory => "from memory, checked another way",
    }
}

fn name_of(key: &str) -> &str {
    key.rsplit('.').next().unwrap_or(key)
}

async fn index(frame: Frame) -> Response {
    let entry = |figure: &'static Figure| {
        let mut all: Vec<String> = Vec::new();
        for anchor in figure.keys.iter().flat_map(|key| anchors(key)) {
            // A figure of each stage and of the whole chill have one name in one entry.
            if !all.contains(&anchor) {
                all.push(anchor);
            }
        }
        Entry { figure, anchors: all }
    };
    Page(GlossaryPage { frame, entries: glossary::figures().map(entry).collect() }).into_response()
}
