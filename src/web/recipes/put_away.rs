//! Putting a recipe away, and taking it back. Its batches keep it either way.

use axum::{
    extract::{Path, State},
    response::Response,
};

use crate::web::{App, AppError, Frame, see_other};

pub(super) async fn put_away(State(app): State<App>, frame: Frame, Path(id): Path<i64>) -> Result<Response, AppError> {
    let found = app.store.retire_recipe(id, frame.clock.now).await?;
    if found { Ok(see_other(&format!("/recipes/{id}"))) } else { Err(AppError::NotFound) }
}

pub(super) async fn take_back(State(app): State<App>, Path(id): Path<i64>) -> Result<Response, AppError> {
    let found = app.store.unretire_recipe(id).await?;
    if found { Ok(see_other(&format!("/recipes/{id}"))) } else { Err(AppError::NotFound) }
}
