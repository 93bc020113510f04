//! `/api/v1/batches`.

use axum::{Json, extract::State, response::Response};
use serde::Serialize;
use time::OffsetDateTime;
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{
    App, AppError,
    asked::{Id, Part, Sent},
    created, schema,
};
use crate::{
    brewday::{Batch, BatchState, Summary, batch::NewBatch},
    store::LedgerRow,
    web::shelf::lasting,
};

const PATH: &str = "/api/v1/batches";

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(index, create)).routes(routes!(show))
}

/// A batch: what it was started with, and every figure its log gives.
#[derive(Serialize, ToSchema)]
struct BatchRecord {
    #[serde(flatten)]
    batch: Batch,
    state: BatchState,
    /// When the day itself began.
    #[serde(with = "time::serde::rfc3339")]
    brewed_at: OffsetDateTime,
    summary: Summary,
}

/// A batch in the list: the figures batches are told apart by.
#[derive(Serialize, ToSchema)]
struct BatchLine {
    id: i64,
    name: String,
    recipe_id: i64,
    recipe_revision: i64,
    recipe_name: String,
    /// Wort meant to go into the fermenter, at 20 °C.
    volume_l: f64,
    state: BatchState,
    /// When it was started in the book.
    #[serde(with = "time::serde::rfc3339")]
    created_at: OffsetDateTime,
    /// When the day itself began.
    #[serde(with = "time::serde::rfc3339")]
    brewed_at: OffsetDateTime,
    original_sg: Option<f64>,
    into_fermenter_l: Option<f64>,
    abv_pct: Option<f64>,
    minutes_to_settled: Option<f64>,
    standard_chill_min: Option<f64>,
}

/// The batches, newest first.
#[utoipa::path(get, path = PATH, tag = "Batches", operation_id = "list_batches",
    params(schema::Paging), responses((status = 200, body = Vec<BatchLine>)))]
async fn index(State(app): State<App>, part: Part) -> Result<Response, AppError> {
    let rows = app.store.newest_batches(part.after, part.limit + 1).await?;
    Ok(part.answer(PATH, rows.into_iter().map(BatchLine::from).collect(), |line: &BatchLine| line.id))
}

/// Starts a batch, from the newest revision of its recipe.
#[utoipa::path(post, path = PATH, tag = "Batches", operation_id = "start_batch",
    request_body = schema::NewBatch, responses((status = 201, body = BatchRecord)))]
async fn create(State(app): State<App>, Sent(body): Sent) -> Result<Response, AppError> {
    let new = NewBatch::from_body(&body).map_err(AppError::Faults)?;
    let id = app.store.start_batch(&new, app.now()).await?.map_err(AppError::Faults)?;
    Ok(created(format!("{PATH}/{id}"), record(&app, id).await?))
}

/// One batch.
#[utoipa::path(get, path = "/api/v1/batches/{id}", tag = "Batches", operation_id = "get_batch",
    params(schema::ById), responses((status = 200, body = BatchRecord)))]
async fn show(State(app): State<App>, Id(id): Id) -> Result<Response, AppError> {
    Ok(lasting(Json(record(&app, id).await?)))
}

async fn record(app: &App, id: i64) -> Result<BatchRecord, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let summary = app.store.summary(id).await?.ok_or(AppError::NotFound)?;
    Ok(BatchRecord { batch: day.batch.clone(), state: day.state(), brewed_at: day.brewed_at(), summary })
}

impl From<LedgerRow> for BatchLine {
    fn from(row: LedgerRow) -> Self {
        Self {
            id: row.batch,
            name: row.name,
            recipe_id: row.recipe_id,
            recipe_revision: row.recipe_revision,
            recipe_name: row.recipe,
            volume_l: row.volume_l,
            state: row.state,
            created_at: row.started_at,
            brewed_at: row.brewed_at,
            original_sg: row.original_sg,
            into_fermenter_l: row.into_fermenter_l,
            abv_pct: row.abv_pct,
            minutes_to_settled: row.minutes_to_settled,
            standard_chill_min: row.standard_chill_min,
        }
    }
}
