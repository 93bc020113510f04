//! `/welcome/recipe` and `/welcome/batch`: the last two steps lead to the pages
//! where a recipe is written and a batch is started.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};

use crate::web::{App, AppError, Frame, Page};

pub(super) fn router() -> Router<App> {
    Router::new().route("/welcome/recipe", get(recipe)).route("/welcome/batch", get(batch))
}

#[derive(Template)]
#[template(path = "welcome/recipe.html")]
struct RecipePage {
    frame: Frame,
}

#[derive(Template)]
#[template(path = "welcome/batch.html")]
struct BatchPage {
    frame: Frame,
    /// How many recipes and pieces of equipment the book holds.
    recipes: usize,
    pieces: usize,
}

impl BatchPage {
    fn ready(&self) -> bool {
        self.recipes > 0
    }
}

async fn recipe(frame: Frame) -> Response {
    Page(RecipePage { frame }).into_response()
}

async fn batch(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let recipes = app.store.recipes("", false).await?.len();
    let pieces = app.store.equipment_list(None, false).await?.len();
    Ok(Page(BatchPage { frame, recipes, pieces }).into_response())
}
