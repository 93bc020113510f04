//! `/healthz`: whether the book can be written, for whatever keeps the server running.

use axum::{Router, extract::State, routing::get};

use super::{App, AppError};

pub(crate) fn router() -> Router<App> {
    Router::new().route("/healthz", get(show))
}

async fn show(State(app): State<App>) -> Result<&'static str, AppError> {
    app.store.ready().await?;
    Ok("ok\n")
}
