//! `/welcome/recipe` and `/welcome/batch`: a recipe to begin with, and the way to
//! the page where a batch is started.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};

use crate::{
    store::RecipeRecord,
    web::{App, AppError, Frame, Page, guard::Sent, see_other, starter},
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/welcome/recipe", get(recipe).post(take_recipe)).route("/welcome/batch", get(batch))
}

#[derive(Template)]
#[template(path = "welcome/recipe.html")]
struct RecipePage {
    frame: Frame,
    /// What is in the book already, by name.
    recipes: Vec<RecipeRecord>,
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

async fn recipe(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let recipes = app.store.recipes("", false).await?;
    Ok(Page(RecipePage { frame, recipes }).into_response())
}

async fn take_recipe(State(app): State<App>, frame: Frame, Sent(mark): Sent) -> Result<Response, AppError> {
    let recipe = starter::recipe();
    // Sent twice, it is still taken once.
    let held = app.store.recipes("", false).await?.iter().any(|held| held.recipe.name == recipe.name);
    if !held {
        app.store.once(mark).add_recipe(&recipe, frame.clock.now).await?;
    }
    Ok(see_other("/welcome/batch"))
}

async fn batch(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let recipes = app.store.recipes("", false).await?.len();
    let pieces = app.store.equipment_list(None, false).await?.len();
    Ok(Page(BatchPage { frame, recipes, pieces }).into_response())
}
