//! What a request asks for: a record's number, a part of a list, a body.

use std::{collections::BTreeMap, str::FromStr};

use axum::{
    Json,
    body::Bytes,
    extract::{FromRequest, FromRequestParts, Path, Query, Request, rejection::BytesRejection},
    http::{StatusCode, header, request::Parts},
    response::{IntoResponse, Response},
};
use serde::Serialize;
use serde_json::Value;

use super::{App, AppError};
use crate::{brewday::Fault, web::guard};

/// Records in a list where nothing else is asked for.
const LIMIT: i64 = 50;
/// The most records in a list.
pub(super) const LIMIT_MOST: i64 = 200;

/// The number in an address. One that can't be a number is of no record.
pub(super) struct Id(pub i64);

/// The part of a list that is asked for.
pub(super) struct Part {
    /// The last record of the part before.
    pub after: Option<i64>,
    /// At most so many records.
    pub limit: i64,
    /// Those put away instead of those in use.
    pub retired: bool,
}

/// A body of JSON.
pub(super) struct Sent(pub Value);

impl FromRequestParts<App> for Id {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, AppError> {
        let Path(id) = Path::from_request_parts(parts, app).await.map_err(|_| AppError::NotFound)?;
        Ok(Self(id))
    }
}

impl FromRequestParts<App> for Part {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, AppError> {
        let why = "The part of the address after the question mark can't be read.";
        let given = Query::<BTreeMap<String, String>>::try_from_uri(&parts.uri);
        let given = given.map_err(|_| AppError::Unreadable(why.into()))?.0;
        let mut faults = Vec::new();
        let part = Self {
            after: read(&given, "after", "A whole number from 0 is needed here.", |after| *after >= 0, &mut faults),
            limit: read(&given, "limit", "A whole number from 1 to 200 is needed here.", is_limit, &mut faults)
                .unwrap_or(LIMIT),
            retired: read(&given, "retired", "True or false is needed here.", |_| true, &mut faults).unwrap_or(false),
        };
        if faults.is_empty() { Ok(part) } else { Err(AppError::Faults(faults)) }
    }
}

fn is_limit(limit: &i64) -> bool {
    (1..=LIMIT_MOST).contains(limit)
}

fn read<T: FromStr>(
    given: &BTreeMap<String, String>,
    name: &str,
    wanted: &str,
    fits: impl Fn(&T) -> bool,
    faults: &mut Vec<Fault>,
) -> Option<T> {
    let read = given.get(name)?.parse().ok().filter(fits);
    if read.is_none() {
        faults.push(Fault::new(name, wanted));
    }
    read
}

impl Part {
    /// This part of all records, which are in the order of their numbers.
    pub(super) fn of<T>(&self, records: Vec<T>, id: impl Fn(&T) -> i64) -> Vec<T> {
        let rest = records.into_iter().filter(|record| self.after.is_none_or(|after| id(record) > after));
        rest.take(self.with_one_more()).collect()
    }

    /// How many records tell whether there is a next part as well.
    pub(super) fn with_one_more(&self) -> usize {
        usize::try_from(self.limit + 1).unwrap_or(usize::MAX)
    }

    /// The answer: the records, of which there may be one more than asked for,
    /// and where the next part is [RFC 8288].
    pub(super) fn answer<T: Serialize>(&self, path: &str, mut records: Vec<T>, id: impl Fn(&T) -> i64) -> Response {
        let has_next = records.len() >= self.with_one_more();
        records.truncate(self.with_one_more() - 1);
        let next = records.last().filter(|_| has_next).map(|last| {
            let retired = if self.retired { "&retired=true" } else { "" };
            format!("<{path}?limit={}&after={}{retired}>; rel=\"next\"", self.limit, id(last))
        });
        let records = Json(records);
        match next {
            Some(next) => ([(header::LINK, next)], records).into_response(),
            None => records.into_response(),
        }
    }
}

impl FromRequest<App> for Sent {
    type Rejection = AppError;

    async fn from_request(request: Request, app: &App) -> Result<Self, AppError> {
        if !guard::origin::is_json(request.headers()) {
            return Err(AppError::Status(StatusCode::UNSUPPORTED_MEDIA_TYPE));
        }
        let body = Bytes::from_request(request, app).await;
        let body = body.map_err(|rejection: BytesRejection| AppError::Status(rejection.status()))?;
        let read = serde_json::from_slice(&body);
        read.map(Self).map_err(|why| AppError::Unreadable(format!("What was sent can't be read as JSON: {why}.")))
    }
}
