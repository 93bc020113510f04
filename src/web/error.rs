//! Every refusal is a page with a way back, or a problem that names the field.
//!
//! A handler returns an [`AppError`]; what it says travels with the response to
//! one layer at the edge, which knows who asked: a person gets a page, a script
//! under `/api/` gets problem details [RFC 9457]. Bare refusals of the framework
//! (a method nobody answers, a body too large) get the same. What went wrong
//! inside is logged here, once, and never shown.

use std::any::Any;

use askama::Template;
use axum::{
    body::Body,
    extract::{FromRequestParts, Request, State},
    http::{HeaderValue, StatusCode, header, request::Parts, uri::Uri},
    middleware::Next,
    response::{Html, IntoResponse, Response},
};
use serde_json::json;

use super::App;
use super::guard::Caller;
use super::page::{Frame, Light};
use super::resend::Unkept;
use crate::brewday::Fault;
use crate::store::StoreError;

/// Why a request was not answered with what it asked for.
#[derive(Debug)]
pub enum AppError {
    /// 404: there is nothing at this address, or no record of this number.
    NotFound,
    /// 400: what was sent can't be read at all.
    Unreadable(String),
    /// 401: whoever asks was not let in.
    Unpaired,
    /// 403: the form was not shown to whoever sent it; it comes back with what was typed.
    Stale,
    /// 403: it may not be done from here.
    Refused(String),
    /// 409: the book stands otherwise than the request takes it to.
    Conflict(String),
    /// 421: asked for under a name that isn't this server's.
    Misdirected,
    /// 422: fields of a body are faulty. A page's form comes back itself instead.
    Faults(Vec<Fault>),
    /// 429: asked more often than anybody needs to.
    TooMany,
    /// 503: the book is busy; trying again helps.
    Busy,
    /// 507: the disk has no room for another entry.
    Full,
    /// 503: the book can be read but not written.
    ReadOnly,
    /// 503: no copy of the book could be made; the sentence says why.
    NoCopy(String),
    /// 503: the disk failed as the book was written or read.
    Disk,
    /// Any other status the framework refuses with.
    Status(StatusCode),
    /// 500: our own mistake.
    Internal(anyhow::Error),
}

/// What a refusal says, on its way to the edge.
#[derive(Clone, Debug)]
struct Told {
    status: StatusCode,
    title: &'static str,
    sentence: String,
    faults: Vec<Fault>,
}

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    frame: Frame,
    told: Told,
    back: Option<String>,
    unkept: Option<Unkept>,
    /// Whether pairing is what helps.
    unpaired: bool,
}

impl AppError {
    /// Our own mistake, with what is to be logged about it.
    pub fn internal(error: impl Into<anyhow::Error>) -> Self {
        Self::Internal(error.into())
    }

    fn told(self) -> Told {
        let (status, title, sentence) = match self {
            Self::NotFound => (
                StatusCode::NOT_FOUND,
                "Nothing here",
                "There is no page or record at this address. It may have been typed or copied in part.".into(),
            ),
            Self::Unreadable(why) => (StatusCode::BAD_REQUEST, "This can't be read", why),
            Self::Unpaired => (
                StatusCode::UNAUTHORIZED,
                "This device is not let in",
                "This book opens only to devices that were paired with it, and this one is not, or is no longer. \
                 What you logged meanwhile waits on this device until it is."
                    .into(),
            ),
            Self::TooMany => (
                StatusCode::TOO_MANY_REQUESTS,
                "Slower",
                "This device asks more often than the book answers. Wait ten seconds and send it again.".into(),
            ),
            Self::Stale => (
                StatusCode::FORBIDDEN,
                "Send this again",
                "The page this was typed on was opened before this device was paired anew, so it was not kept yet. \
                 Nothing of it is lost: it is all here."
                    .into(),
            ),
            Self::Refused(why) => (StatusCode::FORBIDDEN, "Not done", why),
            Self::Conflict(why) => (StatusCode::CONFLICT, "Not done", why),
            Self::Misdirected => (
                StatusCode::MISDIRECTED_REQUEST,
                "Not this name",
                "This book answers to its address on your network, to localhost and to its .local name, \
                 and to no other. Use the address that was printed when it started."
                    .into(),
            ),
            Self::Faults(faults) => {
                return Told {
                    status: StatusCode::UNPROCESSABLE_ENTITY,
                    title: "Some fields need another look",
                    sentence: "Nothing was kept. Each field that needs another look is named.".into(),
                    faults,
                };
            }
            Self::Busy => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Busy just now",
                "The book is busy and this was not kept. Send it again in a moment.".into(),
            ),
            Self::Full => (
                StatusCode::INSUFFICIENT_STORAGE,
                "No room left",
                "The disk the book lies on is full, so this was not kept. Nothing kept before is lost: \
                 make room on that disk, and send it again."
                    .into(),
            ),
            Self::ReadOnly => (
                StatusCode::SERVICE_UNAVAILABLE,
                "The book can't be written",
                "The disk the book lies on can only be read just now, so this was not kept. Nothing kept before is \
                 lost: make the disk writable, and send it again."
                    .into(),
            ),
            Self::Disk => (
                StatusCode::SERVICE_UNAVAILABLE,
                "The disk did not take it",
                "The disk the book lies on failed just now, so this was not confirmed. Nothing confirmed before is \
                 lost: see that the disk is there, has room and can be written, and send it again. What did reach \
                 the book is not written twice."
                    .into(),
            ),
            Self::NoCopy(why) => (StatusCode::SERVICE_UNAVAILABLE, "No copy was made", why),
            Self::Status(status) => said_for(status),
            Self::Internal(error) => {
                tracing::error!(error = format!("{error:#}"), "a request could not be answered");
                said_for(StatusCode::INTERNAL_SERVER_ERROR)
            }
        };
        Told { status, title, sentence, faults: Vec::new() }
    }
}

impl From<StoreError> for AppError {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Busy(_) => Self::Busy,
            StoreError::Full(_) => Self::Full,
            StoreError::ReadOnly(_) => Self::ReadOnly,
            StoreError::Disk(why) => {
                tracing::error!(error = format!("{why:#}"), "the disk failed");
                Self::Disk
            }
            error => Self::internal(error),
        }
    }
}

impl From<anyhow::Error> for AppError {
    fn from(error: anyhow::Error) -> Self {
        Self::Internal(error)
    }
}

impl IntoResponse for AppError {
    fn into_response(self) -> Response {
        let told = self.told();
        let mut response = told.status.into_response();
        let said = match told.status {
            StatusCode::SERVICE_UNAVAILABLE => Some((header::RETRY_AFTER, "2")),
            StatusCode::TOO_MANY_REQUESTS => Some((header::RETRY_AFTER, "10")),
            StatusCode::UNAUTHORIZED => Some((header::WWW_AUTHENTICATE, "Bearer realm=\"gylebook\"")),
            _ => None,
        };
        if let Some((name, value)) = said {
            response.headers_mut().insert(name, HeaderValue::from_static(value));
        }
        response.extensions_mut().insert(told);
        response
    }
}

/// The answer after a handler panicked; the panic itself has been printed.
pub(crate) fn after_panic(_: Box<dyn Any + Send + 'static>) -> Response {
    AppError::Status(StatusCode::INTERNAL_SERVER_ERROR).into_response()
}

/// The layer at the edge: a page for a person, problem details for a script.
pub(crate) async fn as_page_or_problem(State(app): State<App>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let asked = parts.clone();
    let response = next.run(Request::from_parts(parts, body)).await;
    match told_by(&response) {
        Some(told) => answer(response, told, asked, &app).await,
        None => response,
    }
}

fn told_by(response: &Response) -> Option<Told> {
    if let Some(told) = response.extensions().get::<Told>() {
        return Some(told.clone());
    }
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    let is_bare = kind.is_none_or(|kind| kind.starts_with(b"text/plain"));
    let refused = status.is_client_error() || status.is_server_error();
    (refused && is_bare).then(|| AppError::Status(status).told())
}

async fn answer(bare: Response, told: Told, asked: Parts, app: &App) -> Response {
    let status = told.status;
    let unkept = bare.extensions().get().cloned();
    // What was refused before anybody was known was refused to a stranger.
    let is_stranger = bare.extensions().get::<Caller>().is_none_or(|caller| *caller == Caller::Stranger);
    let is_api = asked.uri.path().starts_with("/api/");
    let mut full = if is_api { problem(&told) } else { page(told, unkept, asked, app, is_stranger).await };
    *full.status_mut() = status;
    for name in [header::ALLOW, header::RETRY_AFTER, header::WWW_AUTHENTICATE] {
        if let Some(value) = bare.headers().get(&name) {
            full.headers_mut().insert(name, value.clone());
        }
    }
    full
}

async fn page(told: Told, unkept: Option<Unkept>, mut asked: Parts, app: &App, is_stranger: bool) -> Response {
    let fallback = format!("{}\n{}\n", told.title, told.sentence);
    let back = came_from(&asked);
    let bare = Frame::bare(Light::of(&asked));
    // A stranger is not told whose house this is; nor can a book that can't be read tell.
    let frame = if is_stranger { bare } else { Frame::from_request_parts(&mut asked, app).await.unwrap_or(bare) };
    let unpaired = told.status == StatusCode::UNAUTHORIZED;
    let page = ErrorPage { frame, told, back, unkept, unpaired };
    match page.render() {
        Ok(text) => Html(text).into_response(),
        Err(_) => fallback.into_response(),
    }
}

fn problem(told: &Told) -> Response {
    let faults: Vec<_> =
        told.faults.iter().map(|fault| json!({ "field": fault.field, "why": fault.why.to_string() })).collect();
    let mut body = json!({
        "type": "about:blank",
        "title": told.status.canonical_reason(),
        "status": told.status.as_u16(),
        "detail": told.sentence,
    });
    if let Some(first) = told.faults.first() {
        body["field"] = first.field.clone().into();
        body["errors"] = faults.into();
    }
    ([(header::CONTENT_TYPE, "application/problem+json")], Body::from(body.to_string())).into_response()
}

/// The page of ours the request came from, where the browser says so.
fn came_from(asked: &Parts) -> Option<String> {
    let referer: Uri = asked.headers.get(header::REFERER)?.to_str().ok()?.parse().ok()?;
    let host = asked.headers.get(header::HOST)?.to_str().ok()?;
    let path = referer.path_and_query()?.as_str();
    // `//name` would lead to another server.
    let ours = referer.authority()?.as_str() == host && !path.starts_with("//") && path != asked.uri.path();
    ours.then(|| path.to_owned())
}

fn said_for(status: StatusCode) -> (StatusCode, &'static str, String) {
    let (title, sentence) = match status {
        StatusCode::NOT_FOUND => return (status, "Nothing here", "There is nothing at this address.".into()),
        StatusCode::METHOD_NOT_ALLOWED => ("Not that way", "This address can't be used in that way."),
        StatusCode::PAYLOAD_TOO_LARGE => ("Too much at once", "More was sent than is taken at once (1 MB)."),
        StatusCode::UNSUPPORTED_MEDIA_TYPE => {
            ("This can't be read", "What was sent is of another kind than this address reads.")
        }
        StatusCode::SERVICE_UNAVAILABLE => {
            ("Busy just now", "This took too long and was stopped. Go back, look whether it was kept, and try again.")
        }
        _ if status.is_client_error() => {
            ("This can't be read", "What was sent can't be read as this address needs it.")
        }
        _ => (
            "This didn't work",
            "Something in the program itself went wrong. What was kept before is safe; what you just sent may not \
             have been kept. Go back, look, and send it again. If it happens again, the server's own log says more.",
        ),
    };
    (status, title, sentence.into())
}
