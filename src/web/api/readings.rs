//! `/api/v1/batches/{id}/readings.csv`: every temperature that stands, for a spreadsheet.

use axum::{
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use csv::{Terminator, WriterBuilder};
use time::format_description::well_known::Rfc3339;
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{App, AppError, asked::Id, schema};
use crate::brewday::{Body, BrewDay, choices::Choice, spreadsheet::harmless};

const COLUMNS: [&str; 6] = ["seq", "at", "minutes_since_flame_out", "place", "temperature_c", "note"];

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(show))
}

/// The temperatures that stand, in the order they were read, as CSV [RFC 4180].
///
/// Columns: `seq`, `at` (RFC 3339), `minutes_since_flame_out` (empty before it is logged),
/// `place`, `temperature_c`, `note`. A note that a spreadsheet would run as a
/// formula has an apostrophe before it.
#[utoipa::path(get, path = "/api/v1/batches/{id}/readings.csv", tag = "Log", operation_id = "get_readings",
    params(schema::ById), responses((status = 200, content_type = "text/csv", body = String)))]
async fn show(State(app): State<App>, Id(id): Id) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let table = readings(&day).map_err(AppError::internal)?;
    let name = format!("attachment; filename=\"batch-{id}-readings.csv\"");
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8; header=present".to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, table).into_response())
}

fn readings(day: &BrewDay) -> anyhow::Result<Vec<u8>> {
    let mut table = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    table.write_record(COLUMNS)?;
    let flame_out = day.flame_out();
    for entry in &day.standing {
        let Body::Temperature { place, temperature_c } = entry.body else { continue };
        let since = flame_out.map(|flame_out| format!("{:.3}", (entry.at - flame_out).as_seconds_f64() / 60.0));
        table.write_record([
            entry.seq.to_string(),
            entry.at.format(&Rfc3339)?,
            since.unwrap_or_default(),
            place.key().to_owned(),
            temperature_c.to_string(),
            harmless(entry.note.as_deref().unwrap_or_default()),
        ])?;
    }
    Ok(table.into_inner()?)
}
