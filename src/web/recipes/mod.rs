//! `/recipes…`: the list, a recipe with its prediction, and the forms that write one.
//!
//! Reading order: [`figures`] (what a recipe should give, as a page tells it),
//! [`entry`] (from the form's body to a recipe), [`form`] (the form as a page), then
//! one file for each page.

mod changes;
mod edit;
mod entry;
mod figures;
mod form;
mod list;
mod preview;
mod put_away;
mod scale;
mod sheet;
mod show;

use axum::{
    Router,
    routing::{get, post},
};

use super::{App, AppError};
use crate::store::RecipeRecord;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/recipes", get(list::index).post(edit::create))
        .route("/recipes/starter", post(list::take_starter))
        .route("/recipes/new", get(edit::new))
        .route("/recipes/preview", post(preview::preview))
        .route("/recipes/{id}", get(show::newest).post(edit::revise))
        .route("/recipes/{id}/edit", get(edit::edit))
        .route("/recipes/{id}/revisions/{number}", get(show::revision))
        .route("/recipes/{id}/scale", get(scale::show).post(scale::keep))
        .route("/recipes/{id}/put-away", post(put_away::put_away))
        .route("/recipes/{id}/take-back", post(put_away::take_back))
}

/// A recipe at its newest revision, or the page that says there is none.
async fn find(app: &App, id: i64) -> Result<RecipeRecord, AppError> {
    app.store.recipe(id).await?.ok_or(AppError::NotFound)
}

/// A recipe at one revision, or the page that says there is none.
async fn find_revision(app: &App, id: i64, number: i64) -> Result<RecipeRecord, AppError> {
    app.store.recipe_revision(id, number).await?.ok_or(AppError::NotFound)
}
