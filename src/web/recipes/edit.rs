//! `/recipes/new` and `/recipes/{id}/edit`: the form that writes a recipe.
//!
//! Its buttons for rows and for the figures send the form as it stands; it comes
//! back whole, with nothing kept. Only "Keep" writes.

use axum::{
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use serde_json::{Value, json};

use super::{entry, figures::House, find, find_revision, form::FormPage};
use crate::{
    brewday::{Recipe, Typed},
    store::RecipeRecord,
    web::{Again, App, AppError, Frame, Page, form::Form, guard::Sent, see_other},
};

/// What a form is begun with.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Begin {
    /// A new recipe: the one it is to be like.
    from: Option<i64>,
    /// The revision of it; the newest where none is named.
    revision: Option<i64>,
}

pub(super) async fn new(
    State(app): State<App>,
    frame: Frame,
    Query(begin): Query<Begin>,
) -> Result<Response, AppError> {
    let body = match (begin.from, begin.revision) {
        (Some(id), Some(number)) => copy_of(find_revision(&app, id, number).await?.recipe),
        (Some(id), None) => copy_of(find(&app, id).await?.recipe),
        _ => beginning(),
    };
    let form = Form::filled(&frame, &body);
    Ok(Page(FormPage::new(frame, form, None, &House::load(&app).await?)).into_response())
}

pub(super) async fn edit(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Query(begin): Query<Begin>,
) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    let recipe = match begin.revision {
        Some(number) => find_revision(&app, id, number).await?.recipe,
        None => record.recipe.clone(),
    };
    let form = Form::filled(&frame, &body_of(&recipe));
    Ok(Page(FormPage::new(frame, form, Some(record), &House::load(&app).await?)).into_response())
}

pub(super) async fn create(
    State(app): State<App>,
    frame: Frame,
    Sent(mark): Sent,
    mut form: Form,
) -> Result<Response, AppError> {
    if let Some(button) = pressed(&mut form) {
        return shown_again(&app, frame, form, None, &button).await;
    }
    let recipe = match form.read(entry::read) {
        Ok(recipe) => recipe,
        Err(form) => return refused(&app, frame, form, None).await,
    };
    let id = app.store.once(mark).add_recipe(&recipe, frame.clock.now).await?;
    Ok(see_other(&format!("/recipes/{id}")))
}

pub(super) async fn revise(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Sent(mark): Sent,
    mut form: Form,
) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    if let Some(button) = pressed(&mut form) {
        return shown_again(&app, frame, form, Some(record), &button).await;
    }
    let untouched = form.says_the_same(&Form::filled(&frame, &body_of(&record.recipe)));
    let recipe = match form.read(entry::read) {
        Ok(recipe) => recipe,
        Err(form) => return refused(&app, frame, form, Some(record)).await,
    };
    // Another revision that says the same would only be in the way.
    if !untouched && !says_the_same(&recipe, &record.recipe) {
        app.store.once(mark).revise_recipe(id, &recipe, frame.clock.now).await?;
    }
    Ok(see_other(&format!("/recipes/{id}")))
}

/// The button that was pressed, where it is another than "Keep".
fn pressed(form: &mut Form) -> Option<String> {
    form.take_row_button().or_else(|| form.take("figures"))
}

async fn shown_again(
    app: &App,
    frame: Frame,
    form: Form,
    of: Option<RecipeRecord>,
    button: &str,
) -> Result<Response, AppError> {
    let mut page = FormPage::new(frame, form, of, &House::load(app).await?);
    page.blank = button.strip_prefix("add-").unwrap_or_default().to_owned();
    Ok(Page(page).into_response())
}

async fn refused(app: &App, frame: Frame, form: Form, of: Option<RecipeRecord>) -> Result<Response, AppError> {
    Ok(Again(FormPage::new(frame, form, of, &House::load(app).await?)).into_response())
}

/// Whether two recipes mean the same, however it was typed.
fn says_the_same(one: &Recipe, other: &Recipe) -> bool {
    let meant = |recipe: &Recipe| Recipe { typed: Typed::new(), ..recipe.clone() };
    meant(one) == meant(other)
}

fn body_of(recipe: &Recipe) -> Value {
    serde_json::to_value(recipe).unwrap_or_default()
}

fn copy_of(mut recipe: Recipe) -> Value {
    recipe.name = format!("{}, again", recipe.name);
    body_of(&recipe)
}

/// What most recipes begin with (common practice, no source).
fn beginning() -> Value {
    json!({ "boil_min": 60.0, "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0 })
}
