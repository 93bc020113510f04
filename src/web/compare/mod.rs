//! `/compare?batch=1&batch=2`: chills side by side, and every other figure after.
//!
//! Reading order: [`chosen`] (the batches of an address), [`table`] (their
//! figures in rows or columns), [`choose`] (what else could be compared).

mod choose;
mod chosen;
mod table;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::Response;
use axum::{Router, routing::get};

use super::chart::{MOST_TOGETHER, Overlay, Picture, Run, Table};
use super::figures_csv;
use super::page::csv_file;
use super::shelf::lasting;
use super::{App, AppError, Frame, Page};
use crate::brewday::plausible::Dimension;
use crate::science::chilling::standard;
use crate::science::gravity;
use crate::science::units::Temperature;
use choose::Chooser;
use chosen::Chosen;
use table::{Figures, UnknownOf};

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/compare", get(show))
        .route("/compare.csv", get(figures_csv))
        .route("/compare/curves.csv", get(curves_csv))
}

#[derive(Template)]
#[template(path = "compare/show.html")]
struct ComparePage {
    frame: Frame,
    chooser: Chooser,
    /// None with fewer than two batches: there is nothing to compare them with.
    comparison: Option<Comparison>,
    /// What was asked for and can't be shown, in sentences.
    left_out: Vec<String>,
    /// The one batch that was chosen, where it was one.
    alone: Option<String>,
}

/// Two batches or more, side by side.
struct Comparison {
    heads: Vec<BatchLink>,
    pictures: Vec<Picture>,
    numbers: Table,
    /// What the picture does not show, in sentences.
    notes: Vec<String>,
    figures: Figures,
    unknown: Vec<UnknownOf>,
    /// What the standard chill stands for.
    standard_is: String,
    query: String,
}

/// A batch as the head of its column or row.
struct BatchLink {
    id: i64,
    name: String,
    brewed: String,
    chiller: Option<String>,
    limited_by: &'static str,
    would_help: String,
}

async fn show(State(app): State<App>, RawQuery(query): RawQuery, frame: Frame) -> Result<Response, AppError> {
    let mut chosen = Chosen::load(&app, query.as_deref()).await?;
    if chosen.batches.len() <= MOST_TOGETHER {
        chosen = chosen.with_readings(&app).await?;
    }
    let chooser = Chooser::load(&app, &frame, &chosen.ids()).await?;
    Ok(lasting(Page(ComparePage {
        left_out: chosen.left_out(),
        alone: chosen.alone(),
        comparison: (chosen.batches.len() > 1).then(|| Comparison::of(&chosen, &frame)),
        chooser,
        frame,
    })))
}

async fn figures_csv(State(app): State<App>, RawQuery(query): RawQuery) -> Result<Response, AppError> {
    let chosen = Chosen::load(&app, query.as_deref()).await?;
    let batches: Vec<_> = chosen.batches.iter().map(|batch| &batch.kept).collect();
    Ok(csv_file("figures.csv", figures_csv::figures_csv(&batches)))
}

async fn curves_csv(State(app): State<App>, RawQuery(query): RawQuery, frame: Frame) -> Result<Response, AppError> {
    let chosen = Chosen::load(&app, query.as_deref()).await?.with_readings(&app).await?;
    let curves = chosen.curves(&frame);
    Ok(csv_file("chills.csv", overlay("Chills", &frame, &runs(&chosen, &curves)).csv()))
}

impl Comparison {
    fn of(chosen: &Chosen, frame: &Frame) -> Self {
        let mut curves = chosen.curves(frame);
        let numbers = overlay("The same chills in numbers", frame, &runs(chosen, &curves)).table();
        let cut = curves.cut_to_comparable(frame);
        let title = format!("{} chills, from flame-out", chosen.batches.len());
        let heads = chosen.batches.iter().map(|batch| BatchLink {
            id: batch.id(),
            name: batch.kept.name.clone(),
            brewed: frame.clock.date(batch.kept.brewed_at).text,
            chiller: batch.kept.chiller.clone(),
            limited_by: batch.limited_by(),
            would_help: batch.would_help(),
        });
        Self {
            heads: heads.collect(),
            pictures: overlay(&title, frame, &runs(chosen, &curves)).pictures(),
            numbers,
            notes: chosen.not_aligned().into_iter().chain(cut).collect(),
            figures: Figures::of(chosen, frame),
            unknown: table::unknown(chosen, frame),
            standard_is: standard_is(frame),
            query: chosen.query(),
        }
    }

    /// Whether each batch is a column; beyond a few, each is a row.
    fn in_columns(&self) -> bool {
        self.heads.len() <= MOST_TOGETHER
    }

    /// Columns of the table with a batch in each.
    fn columns(&self) -> usize {
        self.heads.len() + 1
    }
}

/// "20.0 L of 12.0 °P wort from 95 °C to 20 °C against water held at 12 °C"
fn standard_is(frame: &Frame) -> String {
    let volume = frame.show(standard::VOLUME.litres(), Dimension::Volume);
    let gravity = frame.show(gravity::specific_gravity(standard::STRENGTH).ratio(), Dimension::Gravity);
    let mark = |at: Temperature| frame.mark(at.celsius());
    let [from, to, coolant] = [standard::FROM, standard::TO, standard::COOLANT].map(mark);
    format!("{volume} of {gravity} wort from {from} to {to} against water held at {coolant}")
}

fn overlay<'a>(title: &'a str, frame: &Frame, runs: &'a [Run<'a>]) -> Overlay<'a> {
    Overlay { title, unit: frame.degree_unit(), runs }
}

fn runs<'a>(chosen: &'a Chosen, curves: &'a chosen::Curves) -> Vec<Run<'a>> {
    let batches = chosen.batches.iter().zip(&curves.0);
    batches.map(|(batch, readings)| Run { name: &batch.name, label: &batch.label, readings }).collect()
}
