//! `/recipes`: every recipe with what it should give.

use std::collections::BTreeMap;

use askama::Template;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use time::OffsetDateTime;

use super::figures::{Figures, House};
use crate::{
    brewday::plausible::Dimension,
    store::RecipeRecord,
    web::{App, AppError, Frame, Page, guard::Sent, see_other, starter, when::Moment},
};

#[derive(Template)]
#[template(path = "recipes/list.html")]
struct ListPage {
    frame: Frame,
    wanted: Wanted,
    recipes: Vec<Line>,
}

/// Which recipes are wanted.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Wanted {
    /// Any part of the name.
    q: String,
    /// `yes` for those that were put away.
    away: String,
}

impl Wanted {
    fn away(&self) -> bool {
        self.away == "yes"
    }

    fn everything(&self) -> bool {
        self.q.trim().is_empty() && !self.away()
    }
}

/// One recipe in the list.
struct Line {
    id: i64,
    name: String,
    /// Style and volume.
    about: String,
    brief: Vec<String>,
    brewed: Option<Moment>,
}

impl Line {
    fn new(record: &RecipeRecord, brewed: &BTreeMap<i64, OffsetDateTime>, figures: Figures, frame: &Frame) -> Self {
        let volume = frame.show(record.recipe.volume_l, Dimension::Volume).to_string();
        let about = record.recipe.style.iter().chain([&volume]).map(String::as_str).collect::<Vec<_>>().join(" · ");
        Self {
            id: record.id,
            name: record.recipe.name.clone(),
            about,
            brief: figures.brief,
            brewed: brewed.get(&record.id).map(|at| frame.clock.date(*at)),
        }
    }
}

pub(super) async fn index(
    State(app): State<App>,
    frame: Frame,
    Query(wanted): Query<Wanted>,
) -> Result<Response, AppError> {
    let house = House::load(&app).await?;
    let brewed = app.store.recipes_last_brewed().await?;
    let records = app.store.recipes(wanted.q.trim(), wanted.away()).await?;
    let line = |record: &RecipeRecord| Line::new(record, &brewed, Figures::of(&record.recipe, &house, &frame), &frame);
    let recipes = records.iter().map(line).collect();
    Ok(Page(ListPage { frame, wanted, recipes }).into_response())
}

pub(super) async fn take_starter(State(app): State<App>, frame: Frame, Sent(mark): Sent) -> Result<Response, AppError> {
    let id = app.store.once(mark).add_recipe(&starter::recipe(), frame.clock.now).await?;
    Ok(see_other(&format!("/recipes/{id}")))
}
