//! Paper: the blank sheet that goes to the kettle, and the record that is kept.
//!
//! Both are printed by the browser, on the paper that lies in the printer. What
//! stands on them is told once, here: [`recipe`] for what goes in, [`blank`] for
//! the rules to write on, [`record`] for what was written, [`report`](mod@report)
//! for the same as a file of its own. A sheet keeps the
//! day's own clock: times of the brewing day stand alone, others with their date.

mod bath_plan;
mod blank;
mod checks;
mod equipment;
mod readings;
mod recipe;
mod record;
mod report;
mod wort;

use axum::{Router, routing::get};

use super::when::Moment;
use super::{App, Frame};
use crate::brewday::plausible::Dimension;
use crate::brewday::{BatchState, BrewDay};

pub use report::report;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/batches/{id}/sheet", get(record::show))
        .route("/batches/{id}/sheet/blank", get(blank::show))
        .route("/batches/{id}/report.html", get(report::show))
}

/// What stands on top of every printed page.
#[derive(Clone, Debug)]
struct PaperHead {
    /// What the sheet is: "Brew sheet", or the record and how far it goes.
    kind: String,
    batch: i64,
    name: String,
    recipe: String,
    revision: i64,
    volume: String,
    /// None before anything was brewed: the date is then written by hand.
    brewed: Option<Moment>,
    house: String,
}

impl PaperHead {
    fn of(kind: impl Into<String>, day: &BrewDay, frame: &Frame) -> Self {
        let brewed = (day.state() != BatchState::Planned).then(|| frame.clock.date(day.brewed_at()));
        Self {
            kind: kind.into(),
            batch: day.batch.id,
            name: day.batch.name.clone(),
            recipe: day.batch.recipe.name.clone(),
            revision: day.batch.recipe_revision,
            volume: frame.show(day.batch.volume_l, Dimension::Volume).to_string(),
            brewed,
            house: frame.settings.house.clone(),
        }
    }
}
