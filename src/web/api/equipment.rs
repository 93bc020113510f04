//! `/api/v1/equipment`.

use axum::{
    Json,
    extract::State,
    response::{IntoResponse, Response},
};
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
    brewday::{Equipment, EquipmentRecord},
    store::StoredEquipment,
};

const PATH: &str = "/api/v1/equipment";

/// What a piece's answer holds beside the piece: a PUT takes it back unread.
const ANSWERED: [&str; 5] = ["id", "care", "created_at", "changed_at", "retired"];

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(index, create)).routes(routes!(show, update))
}

/// A piece of equipment as it is described now, and the state it is in.
#[derive(Serialize, ToSchema)]
struct Piece {
    #[serde(flatten)]
    record: EquipmentRecord,
    /// When it was added.
    #[serde(with = "time::serde::rfc3339")]
    created_at: OffsetDateTime,
    /// When it was described as it is now.
    #[serde(with = "time::serde::rfc3339")]
    changed_at: OffsetDateTime,
    /// Whether it was put away.
    retired: bool,
}

/// The equipment in use, in the order it was added.
#[utoipa::path(get, path = PATH, tag = "Equipment", operation_id = "list_equipment",
    params(schema::Paging, schema::Retired), responses((status = 200, body = Vec<Piece>)))]
async fn index(State(app): State<App>, part: Part) -> Result<Response, AppError> {
    let mut all = app.store.equipment_list(None, part.retired).await?;
    all.sort_by_key(|piece| piece.record.id);
    let pieces = part.of(all, |piece| piece.record.id).into_iter().map(Piece::from).collect();
    Ok(part.answer(PATH, pieces, |piece: &Piece| piece.record.id))
}

/// Adds a piece of equipment.
#[utoipa::path(post, path = PATH, tag = "Equipment", operation_id = "add_equipment",
    request_body = schema::NewEquipment, responses((status = 201, body = Piece)))]
async fn create(State(app): State<App>, Sent(body): Sent) -> Result<Response, AppError> {
    let equipment = Equipment::from_body(&body).map_err(AppError::Faults)?;
    let id = app.store.add_equipment(&equipment, app.now()).await?;
    let piece = app.store.equipment(id).await?.ok_or(AppError::NotFound)?;
    Ok(created(format!("{PATH}/{id}"), Piece::from(piece)))
}

/// One piece of equipment.
#[utoipa::path(get, path = "/api/v1/equipment/{id}", tag = "Equipment", operation_id = "get_equipment",
    params(schema::ById), responses((status = 200, body = Piece)))]
async fn show(State(app): State<App>, Id(id): Id) -> Result<Response, AppError> {
    let piece = app.store.equipment(id).await?.ok_or(AppError::NotFound)?;
    Ok(Json(Piece::from(piece)).into_response())
}

/// Describes a piece of equipment anew. Batches keep the description they were started with.
#[utoipa::path(put, path = "/api/v1/equipment/{id}", tag = "Equipment", operation_id = "describe_equipment",
    params(schema::ById), request_body = schema::NewEquipment, responses((status = 200, body = Piece)))]
async fn update(State(app): State<App>, Id(id): Id, Sent(body): Sent) -> Result<Response, AppError> {
    let equipment = Equipment::from_body(&super::without(body, &ANSWERED)).map_err(AppError::Faults)?;
    if !app.store.change_equipment(id, &equipment, app.now()).await? {
        return Err(AppError::NotFound);
    }
    show(State(app), Id(id)).await
}

impl From<StoredEquipment> for Piece {
    fn from(stored: StoredEquipment) -> Self {
        let StoredEquipment { record, created_at, changed_at, retired } = stored;
        Self { record, created_at, changed_at, retired }
    }
}
