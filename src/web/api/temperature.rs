//! `/api/v1/temperature`: for a probe that knows no batch.

use axum::{extract::State, response::Response};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};
use uuid::Uuid;

use super::{App, AppError, asked::Sent, created, schema};
use crate::{brewday::Entry, web::guard::Caller};

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(create))
}

/// Where a probe's reading went.
#[derive(Serialize, ToSchema)]
struct Taken {
    /// The batch in progress.
    batch: i64,
    /// The entry the reading became.
    entry: Uuid,
}

/// Adds a reading to the one batch in progress.
///
/// A batch is in progress until its yeast is pitched. Where there is none, or more
/// than one, the reading is not kept: 409 says which.
#[utoipa::path(post, path = "/api/v1/temperature", tag = "Log", operation_id = "add_temperature",
    request_body = schema::NewTemperature, responses((status = 201, body = Taken)))]
async fn create(State(app): State<App>, caller: Caller, Sent(body): Sent) -> Result<Response, AppError> {
    let now = app.now();
    let reading = Entry::from_probe(&body, Uuid::now_v7(), now).map_err(AppError::Faults)?;
    let batch = the_one_in_progress(&app).await?;
    let taken = Taken { batch, entry: reading.id };
    let receipt = app.store.append(Some(batch), vec![reading], caller.name(), now).await?.ok_or(AppError::NotFound)?;
    match receipt.refused.into_iter().next() {
        Some((_, fault)) => Err(AppError::Faults(vec![fault])),
        None => Ok(created(format!("/api/v1/batches/{batch}/entries"), taken)),
    }
}

async fn the_one_in_progress(app: &App) -> Result<i64, AppError> {
    let why = match app.store.batches_in_progress().await?.as_slice() {
        [(batch, _)] => return Ok(*batch),
        [] => "No batch is in progress, so there is nowhere to keep this reading. Start a batch first.".to_owned(),
        several => {
            let names: Vec<String> = several.iter().take(5).map(|(batch, name)| format!("{batch} ({name})")).collect();
            let more = if several.len() > names.len() { " and more" } else { "" };
            format!(
                "{} batches are in progress, {}{more}: post the reading to the entries of the one it belongs to.",
                several.len(),
                names.join(", "),
            )
        }
    };
    Err(AppError::Conflict(why))
}
