//! `/batches/{id}/readings/import`: a thermometer's own log, brought into a batch.
//!
//! Three steps, each an address of its own: [`bring`] takes the file, [`preview`]
//! shows what its columns are taken for and what would come in, [`taken`] tells
//! how far it is and takes it out again. Until the second is confirmed nothing is
//! in the log; what its columns are stands in the address, so looking changes nothing.

mod bring;
mod columns;
mod preview;
mod taken;

use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use axum::{Router, response::Response};
use uuid::Uuid;

use super::{App, AppError};
use crate::brewday::logfile::MOST_BYTES;
use crate::store::LogFile;

/// A form round the file, and pasted text that takes three letters for some.
pub(crate) const FORM_MOST_BYTES: usize = MOST_BYTES + 1024 * 1024;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/batches/{id}/readings/import", get(bring::show).post(bring::create))
        .layer(DefaultBodyLimit::max(FORM_MOST_BYTES))
        .route("/batches/{id}/readings/import/{file}", get(preview::show).post(taken::create))
        .route("/batches/{id}/readings/import/{file}/refused.csv", get(preview::refused))
        .route("/batches/{id}/readings/import/{file}/undo", post(taken::undo))
}

/// Where a file is looked at.
fn address(batch: i64, file: Uuid) -> String {
    format!("/batches/{batch}/readings/import/{file}")
}

async fn found(app: &App, batch: i64, file: Uuid) -> Result<LogFile, AppError> {
    app.store.log_file(batch, file).await?.ok_or(AppError::NotFound)
}

fn back_to(batch: i64, file: Uuid) -> Response {
    super::see_other(&address(batch, file))
}
