//! The six stages of a batch, each its own page, all entered the same way.
//!
//! A stage page holds several small forms. Each posts to the page it stands on,
//! carries its kind of entry and an id made beforehand (so that a double tap is
//! one entry), and comes back on that same page where something is wrong with
//! it. [`frame`] holds what the six have in common; a page adds its own forms,
//! figures and pictures.

mod boil;
mod chill;
mod clean;
mod correction;
pub mod frame;
mod mash;
pub mod panel;
mod pitch;
mod prepare;
mod sent;
pub mod timers;

use axum::{
    Router,
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;
use uuid::Uuid;

use super::{App, AppError, Frame, form::Form, guard::Caller, see_other};
use crate::brewday::choices::{Choice, Stage};
use frame::StageFrame;
pub use sent::AGO;
pub(crate) use sent::{phone_ahead, read_entry};

pub(crate) fn router() -> Router<App> {
    Router::new().route("/batches/{id}/{stage}", get(show).post(enter)).merge(chill::router())
}

/// What a stage page is told in its address.
#[derive(Deserialize)]
struct Asked {
    /// The entry that was just saved.
    saved: Option<Uuid>,
    /// Seconds by which the phone's clock ran ahead when it sent that.
    clock: Option<i64>,
}

async fn show(
    State(app): State<App>,
    Path((batch, stage)): Path<(i64, String)>,
    Query(asked): Query<Asked>,
    frame: Frame,
) -> Result<Response, AppError> {
    let stage = Stage::from_key(&stage).ok_or(AppError::NotFound)?;
    let page = StageFrame::load(&app, batch, stage, frame).await?.saved(asked.saved, asked.clock);
    page_of(&app, page).await
}

async fn enter(
    State(app): State<App>,
    Path((batch, stage)): Path<(i64, String)>,
    frame: Frame,
    caller: Caller,
    mut form: Form,
) -> Result<Response, AppError> {
    let stage = Stage::from_key(&stage).ok_or(AppError::NotFound)?;
    let scope = form.take("form").unwrap_or_default();
    chill::only_what_the_method_needs(&mut form);
    let ahead = phone_ahead(&form, frame.clock.now).whole_seconds();
    let (entry, form) = match read_entry(form, frame.clock.now) {
        Ok(read) => read,
        Err(form) => return again(&app, batch, stage, frame, &scope, form).await,
    };
    let id = entry.id;
    let receipt =
        app.store.append(Some(batch), vec![entry], caller.name(), frame.clock.now).await?.ok_or(AppError::NotFound)?;
    if let Some((_, fault)) = receipt.refused.into_iter().next() {
        return again(&app, batch, stage, frame, &scope, form.with_faults(vec![fault])).await;
    }
    let clock = if ahead == 0 { String::new() } else { format!("&clock={ahead}") };
    Ok(see_other(&format!("/batches/{batch}/{}?saved={id}{clock}", stage.key())))
}

/// The page with the form that needs another look, and everything typed in it.
async fn again(
    app: &App,
    batch: i64,
    stage: Stage,
    frame: Frame,
    scope: &str,
    form: Form,
) -> Result<Response, AppError> {
    let page = StageFrame::load(app, batch, stage, frame).await?.came_back(scope, form);
    let mut response = page_of(app, page).await?;
    *response.status_mut() = axum::http::StatusCode::UNPROCESSABLE_ENTITY;
    Ok(response)
}

async fn page_of(app: &App, page: StageFrame) -> Result<Response, AppError> {
    Ok(match page.stage {
        Stage::Prepare => prepare::page(app, page).await?.into_response(),
        Stage::Mash => mash::page(app, page).await?.into_response(),
        Stage::Boil => boil::page(app, page).await?.into_response(),
        Stage::Chill => chill::page(app, page).await?.into_response(),
        Stage::Pitch => pitch::page(page).into_response(),
        Stage::Clean => clean::page(page).into_response(),
    })
}
