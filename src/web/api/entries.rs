//! `/api/v1/batches/{id}/entries`: the log, read and written.

use std::collections::HashMap;

use axum::{
    Json,
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Serialize;
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime};
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};
use uuid::Uuid;

use super::{
    App, AppError,
    asked::{Id, Part, Sent},
    schema,
};
use crate::brewday::{
    Entry, Fault, LoggedEntry, entry,
    fields::{Field, Reader},
};
use crate::web::guard::Caller;

/// The most entries in one post: a long day in one go.
pub(super) const ENTRIES_MOST: usize = 1000;

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(index, append))
}

/// What became of the entries of a post. Each is in exactly one of the three.
#[derive(Default, Serialize, ToSchema)]
struct Receipt {
    /// On disk now.
    accepted: Vec<String>,
    /// On disk before: sending an entry again changes nothing.
    held: Vec<String>,
    /// Not taken; one row for each thing that is wrong.
    refused: Vec<Refusal>,
}

/// Why an entry was not taken.
#[derive(Serialize, ToSchema)]
struct Refusal {
    /// As it was given; null where there was none to be read.
    id: Option<String>,
    /// The path of the field.
    field: String,
    /// What is wrong with it, in a sentence.
    why: String,
}

/// A batch's entries in the order they were received.
#[utoipa::path(get, path = "/api/v1/batches/{id}/entries", tag = "Log", operation_id = "list_entries",
    params(schema::ById, schema::After), responses((status = 200, body = Vec<schema::LoggedEntry>)))]
async fn index(State(app): State<App>, Id(id): Id, part: Part) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let after = part.after.unwrap_or(0);
    let log: Vec<&LoggedEntry> =
        day.lines.iter().map(|line| &line.logged).filter(|logged| logged.seq > after).collect();
    Ok(Json(log).into_response())
}

/// Appends entries. Each is taken whole or not at all; the answer comes after
/// what was accepted is on disk.
#[utoipa::path(post, path = "/api/v1/batches/{id}/entries", tag = "Log", operation_id = "append_entries",
    params(schema::ById), request_body = schema::NewEntries, responses((status = 200, body = Receipt)))]
async fn append(State(app): State<App>, Id(id): Id, caller: Caller, Sent(body): Sent) -> Result<Response, AppError> {
    let now = app.now();
    let mut read = Reader::new(&body);
    let envelope = read_envelope(&mut read);
    let (sent_at, bodies) = read.finish(envelope).map_err(AppError::Faults)?;
    let clock_error = sent_at.map_or(Duration::ZERO, |sent_at| entry::clock_error(sent_at, now));

    let mut receipt = Receipt::default();
    let mut given = HashMap::new();
    let mut entries = Vec::with_capacity(bodies.len());
    for body in bodies {
        match Entry::from_body(body, now, clock_error) {
            Ok(entry) => {
                given.insert(entry.id, id_of(body));
                entries.push(entry);
            }
            Err(faults) => receipt.refused.extend(faults.iter().map(|fault| Refusal::of(id_of(body), fault))),
        }
    }
    let kept = app.store.append(Some(id), entries, caller.name(), now).await?.ok_or(AppError::NotFound)?;
    // A phone finds its own entries by the ids as it writes them.
    let as_given = |id: Uuid| given.get(&id).cloned().flatten().unwrap_or_else(|| id.to_string());
    receipt.accepted.extend(kept.accepted.into_iter().map(as_given));
    receipt.held.extend(kept.held.into_iter().map(as_given));
    receipt.refused.extend(kept.refused.iter().map(|(id, fault)| Refusal::of(Some(as_given(*id)), fault)));
    Ok(Json(receipt).into_response())
}

/// The fields of a post of entries.
pub(super) fn fields() -> Vec<Field> {
    Reader::fields(&json!({}), |read| {
        read_envelope(read);
    })
}

fn read_envelope<'a>(read: &mut Reader<'a>) -> (Option<OffsetDateTime>, &'a [Value]) {
    (read.maybe_time("sent_at"), read.values("entries", ENTRIES_MOST))
}

fn id_of(body: &Value) -> Option<String> {
    body.get("id")?.as_str().map(str::to_owned)
}

impl Refusal {
    fn of(id: Option<String>, fault: &Fault) -> Self {
        Self { id, field: fault.field.clone(), why: fault.why.to_string() }
    }
}
