//! Every form carries a token made for whoever it was shown to.
//!
//! It is put into the forms of a page on its way out, and checked and taken off
//! what is posted on its way in: no page can forget it, and no handler ever sees
//! it. It is a seal of the book's own key, so a form left open on a phone still
//! counts after a restart. One that counts no longer (the device was paired anew)
//! comes back with everything that was typed and a token that does.
//!
//! Behind the seal and a dot stands a key that no other form has. With what is
//! typed into it, it makes the mark ([`Sent`]) by which a form that comes twice is
//! known.

use std::{convert::Infallible, fmt::Write};

use axum::{
    body::{Body, Bytes, to_bytes},
    extract::{FromRequestParts, Request, State},
    http::{HeaderValue, StatusCode, header, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};

use uuid::Uuid;

use super::caller::Caller;
use crate::{
    store::FormMark,
    web::{App, AppError, BODY_MOST_BYTES, log_files::FORM_MOST_BYTES, resend::Unkept},
};

/// The field's name, which no record has a field of.
pub const FIELD: &str = "form_token";
/// The most a stranger may send: a pairing form is a tenth of it.
const STRANGER_MOST_BYTES: usize = 4096;

const FILE_AGAIN: &str = "This page was opened before this device was paired anew, so the file was not taken. \
                          Nothing was changed: load the page anew and choose the file again.";

/// What stands between the seal and the form's own key.
const DOT: char = '.';

/// The form that is being answered; nothing where it had no key of its own. What
/// makes something asks for it and hands it to [`Store::once`](crate::store::Store::once).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sent(pub(crate) Option<FormMark>);

impl<S: Sync> FromRequestParts<S> for Sent {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(parts.extensions.get().copied().unwrap_or(Self(None)))
    }
}

/// A form's body without its token, the key that came with that, and what both make.
struct TakenOff {
    body: Bytes,
    key: String,
    sent: Sent,
}

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let caller = Caller::of(request.extensions());
    let seal = app.store.form_token(&caller.key());
    let (mut parts, body) = request.into_parts();
    // The interface takes JSON only, which no form can send; its origin was looked at.
    if parts.method.is_safe() || parts.uri.path().starts_with("/api/") {
        return with_token(next.run(Request::from_parts(parts, body)).await, &seal, None).await;
    }
    match taken_off(&app, &caller, &parts, body).await {
        Ok(TakenOff { body, key, sent }) => {
            parts.extensions.insert(sent);
            with_token(next.run(Request::from_parts(parts, body.into())).await, &seal, Some(&key)).await
        }
        Err(refused) => with_token(refused, &seal, None).await,
    }
}

/// The body without its token, where that is the right one.
async fn taken_off(app: &App, caller: &Caller, parts: &Parts, body: Body) -> Result<TakenOff, Response> {
    let most = if *caller == Caller::Stranger { STRANGER_MOST_BYTES } else { BODY_MOST_BYTES };
    let too_much = |_| AppError::Status(StatusCode::PAYLOAD_TOO_LARGE).into_response();
    let is_right = |token: &str| app.store.is_form_token(&caller.key(), seal_and_key(token).0);
    let off = |token: &str, body: Bytes, said: &[u8]| {
        let key = seal_and_key(token).1.to_owned();
        let mark = (!key.is_empty()).then(|| FormMark::of(&key, parts.uri.path(), said));
        TakenOff { body, key, sent: Sent(mark) }
    };
    let kind = parts.headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if let Some(boundary) = boundary(kind) {
        let most = if *caller == Caller::Stranger { STRANGER_MOST_BYTES } else { FORM_MOST_BYTES };
        let sent = to_bytes(body, most).await.map_err(too_much)?;
        return match first_part(&sent, boundary) {
            Some((token, rest)) if is_right(&token) => {
                let said = said_in(&rest, boundary);
                Ok(off(&token, rest, &said))
            }
            // A file can't be given back to be sent again.
            _ => Err(AppError::Refused(FILE_AGAIN.into()).into_response()),
        };
    }
    let sent = to_bytes(body, most).await.map_err(too_much)?;
    let (tokens, pairs): (Vec<_>, Vec<_>) =
        form_urlencoded::parse(&sent).into_owned().partition(|(name, _)| name == FIELD);
    match tokens.as_slice() {
        [(_, token)] if is_right(token) => {
            let body = Bytes::from(form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish());
            Ok(off(token, body.clone(), &body))
        }
        _ => {
            let mut stale = AppError::Stale.into_response();
            stale.extensions_mut().insert(Unkept::of(parts, pairs));
            Err(stale)
        }
    }
}

fn seal_and_key(token: &str) -> (&str, &str) {
    token.split_once(DOT).unwrap_or((token, ""))
}

/// The boundary of a form with files.
fn boundary(kind: &str) -> Option<&str> {
    let (kind, parameters) = kind.split_once(';')?;
    let is_multipart = kind.trim().eq_ignore_ascii_case("multipart/form-data");
    let boundary = parameters.split(';').find_map(|one| one.trim().strip_prefix("boundary="))?;
    is_multipart.then(|| boundary.trim_matches('"'))
}

/// The token of a form with files, which stands first in it, and the form without it.
fn first_part(sent: &Bytes, boundary: &str) -> Option<(String, Bytes)> {
    let head = format!("--{boundary}\r\nContent-Disposition: form-data; name=\"{FIELD}\"\r\n\r\n");
    let after = sent.strip_prefix(head.as_bytes())?;
    let end = place_of(after, b"\r\n")?;
    let token = std::str::from_utf8(&after[..end]).ok()?.to_owned();
    Some((token, sent.slice(head.len() + end + 2..)))
}

/// What a form with files says without its boundary, which a browser makes anew
/// each time it sends the same.
fn said_in(mut sent: &[u8], boundary: &str) -> Vec<u8> {
    let mut said = Vec::with_capacity(sent.len());
    let boundary = boundary.as_bytes();
    while let Some(at) = (!boundary.is_empty()).then(|| place_of(sent, boundary)).flatten() {
        said.extend_from_slice(&sent[..at]);
        sent = &sent[at + boundary.len()..];
    }
    said.extend_from_slice(sent);
    said
}

fn place_of(sent: &[u8], what: &[u8]) -> Option<usize> {
    sent.windows(what.len()).position(|here| here == what)
}

/// Puts the token into every form of a page that posts, and into one that comes
/// back with a refusal, whose page is made at the edge: that one keeps its key.
async fn with_token(mut response: Response, seal: &str, key: Option<&str>) -> Response {
    if let Some(unkept) = response.extensions_mut().get_mut::<Unkept>() {
        let token = match key {
            None | Some("") => seal.to_owned(),
            Some(key) => format!("{seal}{DOT}{key}"),
        };
        unkept.fields.insert(0, (FIELD.into(), token));
    }
    let is_page = response
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind: &HeaderValue| kind.as_bytes().starts_with(b"text/html"));
    if !is_page {
        return response;
    }
    let (parts, body) = response.into_parts();
    let page = match to_bytes(body, usize::MAX).await {
        Ok(page) => page,
        Err(error) => return AppError::internal(error).into_response(),
    };
    match std::str::from_utf8(&page) {
        Ok(page) => Response::from_parts(parts, woven(page, seal, &Uuid::new_v4()).into()),
        Err(_) => Response::from_parts(parts, page.into()),
    }
}

fn woven(page: &str, seal: &str, page_key: &Uuid) -> String {
    let mut form = 0;
    let mut woven = String::with_capacity(page.len() + 1024);
    let mut rest = page;
    // Texts and values are escaped, so that `<form` and `>` stand for nothing else.
    while let Some(at) = rest.find("<form") {
        let end = rest[at..].find('>').map_or(rest.len(), |end| at + end + 1);
        woven.push_str(&rest[..end]);
        if rest[at..end].contains(r#"method="post""#) {
            form += 1;
            // A String takes whatever is written to it.
            let _ = write!(
                woven,
                r#"<input type="hidden" name="{FIELD}" value="{seal}{DOT}{}-{form}">"#,
                page_key.simple()
            );
        }
        rest = &rest[end..];
    }
    woven + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_that_posts_gets_a_token_with_a_key_of_its_own_and_no_other_does() {
        let page = r#"<p>&lt;form</p><form method="get" action="/"><input></form>
            <form class="a" method="post" action="/b?c=1&#38;d"><input name="x"></form><form id="e" method="post">"#;
        let woven = woven(page, "t0", &Uuid::from_u128(0xabc));
        assert_eq!(woven.matches("t0").count(), 2);
        let field = |form| {
            let key = format!("00000000000000000000000000000abc-{form}");
            format!(r#"<input type="hidden" name="form_token" value="t0.{key}">"#)
        };
        assert!(woven.contains(&format!(r#"action="/b?c=1&#38;d">{}<input name="x">"#, field(1))));
        assert!(woven.ends_with(&format!(r#"<form id="e" method="post">{}"#, field(2))));
        assert_eq!(woven.replace(&field(1), "").replace(&field(2), ""), page);
    }

    #[test]
    fn the_token_is_cut_off_a_form_with_files() {
        // As a browser writes it [RFC-7578].
        let kind = "multipart/form-data; boundary=----x7";
        assert_eq!(boundary(kind), Some("----x7"));
        assert_eq!(boundary("multipart/form-data; boundary=\"q\""), Some("q"));
        assert_eq!(boundary("application/x-www-form-urlencoded"), None);
        let rest =
            "------x7\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.csv\"\r\n\r\n1\r\n------x7--\r\n";
        let part = "------x7\r\nContent-Disposition: form-data; name=\"form_token\"\r\n\r\nabc\r\n";
        let (token, without) = first_part(&Bytes::from(format!("{part}{rest}")), "----x7").expect("a token");
        assert_eq!((token.as_str(), without.as_ref()), ("abc", rest.as_bytes()));
        assert_eq!(first_part(&Bytes::from(rest), "----x7"), None);
        assert_eq!(first_part(&Bytes::from("------x7\r\n"), "----x7"), None);
        // The same file chosen and sent twice.
        let again = rest.replace("----x7", "----y8");
        assert_eq!(said_in(rest.as_bytes(), "----x7"), said_in(again.as_bytes(), "----y8"));
        assert_ne!(said_in(rest.as_bytes(), "----x7"), said_in(rest.replace("1\r\n", "2\r\n").as_bytes(), "----x7"));
    }
}
