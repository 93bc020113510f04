//! `/batches/{id}/report.html`: the record as one file to pass on or to put away.
//!
//! Everything it needs is in it, so it opens from a folder, years from now and
//! without a network: styles are written in, pictures are drawn in, and it holds
//! neither a script nor a link.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;

use super::PaperHead;
use super::record::{self, LogLength, Record};
use crate::brewday::choices::Choice;
use crate::brewday::{BrewDay, Summary};
use crate::web::page::file;
use crate::web::when::Moment;
use crate::web::{App, AppError, Frame, assets};

/// The styles of the sheet, in the order the page links them.
const STYLES: [&str; 7] = ["tokens.css", "base.css", "parts.css", "tables.css", "chart.css", "sheet.css", "record.css"];
/// Those for paper alone.
const PAPER_STYLES: [&str; 2] = ["print.css", "paper.css"];

#[derive(Template)]
#[template(path = "sheet/report.html")]
struct Report {
    frame: Frame,
    paper: PaperHead,
    record: Record,
    written: Moment,
}

impl Report {
    fn style(&self) -> String {
        let screen: String = STYLES.iter().map(|name| styles(name)).collect();
        let paper: String = PAPER_STYLES.iter().map(|name| styles(name)).collect();
        format!("{screen}@media print {{\n{paper}}}\n")
    }
}

pub(super) async fn show(State(app): State<App>, Path(id): Path<i64>, frame: Frame) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let summary = app.store.summary(id).await?.ok_or(AppError::NotFound)?;
    let report = report(&day, summary, &frame).map_err(AppError::internal)?;
    Ok(file(&format!("batch-{id}.html"), "text/html; charset=utf-8", report))
}

/// A batch's record as one HTML document that needs nothing beside it.
///
/// # Errors
/// Never with a sound template.
pub fn report(day: &BrewDay, summary: Summary, frame: &Frame) -> Result<String, askama::Error> {
    let written = frame.clock.date(frame.clock.now);
    let frame = frame.on(day.brewed_at());
    let report = Report {
        paper: record::paper(day, &frame),
        record: Record::of(day, &summary, &frame, LogLength::Whole),
        written,
        frame,
    };
    report.render()
}

/// An embedded style sheet without its fonts, which are fetched: the reader's own stand in.
fn styles(name: &str) -> String {
    let text = assets::text(name).unwrap_or_default();
    let mut kept = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(at) = rest.find("@font-face") {
        kept.push_str(&rest[..at]);
        rest = rest[at..].split_once('}').map_or("", |(_, after)| after);
    }
    kept + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_style_fetches_anything_or_could_end_the_element_it_is_in() {
        for name in STYLES.iter().chain(&PAPER_STYLES) {
            let style = styles(name);
            assert!(style.len() > 500, "{name} is there");
            for word in ["url(", "@import", "@font-face", "</", "src:"] {
                assert!(!style.contains(word), "{name} has {word}");
            }
            assert_eq!(style.matches('{').count(), style.matches('}').count(), "{name} is whole");
        }
    }
}
