//! Batches: starting one, the page that tells the whole of it, and putting an
//! entry right.

mod entry;
mod new;
mod show;

use axum::Router;
use axum::routing::get;

use super::App;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/batches/new", get(new::show).post(new::create))
        .route("/batches/{id}", get(show::show).post(show::rename))
        .route("/batches/{id}/entries/{entry}", get(entry::show).post(entry::amend))
}
