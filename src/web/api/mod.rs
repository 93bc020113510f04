//! `/api/v1`: the same book for scripts, probes and whoever takes it further.
//!
//! One file for each resource, its `router()` first. Bodies are read by the
//! records' own readers, so a script and a page are held to the same rules; what
//! is refused is told as problem details [RFC 9457] that name the field. The
//! description at `/api/v1/openapi.json` is made from the handlers and from those
//! readers ([`openapi`]).

mod asked;
mod batches;
mod chill_plan;
mod entries;
mod equipment;
mod events;
mod openapi;
mod readings;
mod recipes;
mod schema;
mod temperature;

use axum::{
    Json, Router,
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use serde::Serialize;
use serde_json::Value;
use utoipa_axum::router::OpenApiRouter;

use super::{App, AppError};

pub(crate) fn router() -> Router<App> {
    let (routes, described) = OpenApiRouter::default()
        .merge(recipes::router())
        .merge(equipment::router())
        .merge(batches::router())
        .merge(entries::router())
        .merge(events::router())
        .merge(readings::router())
        .merge(temperature::router())
        .merge(chill_plan::router())
        .merge(openapi::router())
        .split_for_parts();
    routes.layer(openapi::layer(described))
}

/// A body without what only an answer holds: a record can be sent back as it
/// was answered, with a field of it changed.
fn without(mut body: Value, answered: &[&str]) -> Value {
    if let Some(fields) = body.as_object_mut() {
        fields.retain(|name, _| !answered.contains(&name.as_str()));
    }
    body
}

/// The answer to a POST that added a record: the record, and where it is.
fn created(address: String, record: impl Serialize) -> Response {
    (StatusCode::CREATED, [(header::LOCATION, address)], Json(record)).into_response()
}
