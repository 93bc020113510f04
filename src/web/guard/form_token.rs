//! Every form carries a token made for whoever it was shown to.
//!
//! It is put into the forms of a page on its way out, and checked and taken off
//! what is posted on its way in: no page can forget it, and no handler ever sees
//! it. It is a seal of the book's own key, so a form left open on a phone still
//! counts after a restart. One that counts no longer (the device was paired anew)
//! comes back with everything that was typed and a token that does.

use axum::{
    body::{Body, Bytes, to_bytes},
    extract::{Request, State},
    http::{HeaderValue, StatusCode, header, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::caller::Caller;
use crate::web::{App, AppError, BODY_MOST_BYTES, log_files::FORM_MOST_BYTES, resend::Unkept};

/// The field's name, which no record has a field of.
pub const FIELD: &str = "form_token";
/// The most a stranger may send: a pairing form is a tenth of it.
const STRANGER_MOST_BYTES: usize = 4096;

const FILE_AGAIN: &str = "This page was opened before this device was paired anew, so the file was not taken. \
                          Nothing was changed: load the page anew and choose the file again.";

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let caller = Caller::of(request.extensions());
    let token = app.store.form_token(&caller.key());
    let (parts, body) = request.into_parts();
    // The interface takes JSON only, which no form can send; its origin was looked at.
    let response = if parts.method.is_safe() || parts.uri.path().starts_with("/api/") {
        next.run(Request::from_parts(parts, body)).await
    } else {
        match taken_off(&app, &caller, &parts, body).await {
            Ok(body) => next.run(Request::from_parts(parts, body)).await,
            Err(refused) => refused,
        }
    };
    with_token(response, &token).await
}

/// The body without its token, where that is the right one.
async fn taken_off(app: &App, caller: &Caller, parts: &Parts, body: Body) -> Result<Body, Response> {
    let most = if *caller == Caller::Stranger { STRANGER_MOST_BYTES } else { BODY_MOST_BYTES };
    let too_much = |_| AppError::Status(StatusCode::PAYLOAD_TOO_LARGE).into_response();
    let is_right = |token: &str| app.store.is_form_token(&caller.key(), token);
    let kind = parts.headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if let Some(boundary) = boundary(kind) {
        let most = if *caller == Caller::Stranger { STRANGER_MOST_BYTES } else { FORM_MOST_BYTES };
        let sent = to_bytes(body, most).await.map_err(too_much)?;
        return match first_part(&sent, boundary) {
            Some((token, rest)) if is_right(&token) => Ok(rest.into()),
            // A file can't be given back to be sent again.
            _ => Err(AppError::Refused(FILE_AGAIN.into()).into_response()),
        };
    }
    let sent = to_bytes(body, most).await.map_err(too_much)?;
    let (tokens, pairs): (Vec<_>, Vec<_>) =
        form_urlencoded::parse(&sent).into_owned().partition(|(name, _)| name == FIELD);
    match tokens.as_slice() {
        [(_, token)] if is_right(token) => {
            Ok(form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish().into())
        }
        _ => {
            let mut stale = AppError::Stale.into_response();
            stale.extensions_mut().insert(Unkept::of(parts, pairs));
            Err(stale)
        }
    }
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
    let end = after.windows(2).position(|two| two == b"\r\n")?;
    let token = std::str::from_utf8(&after[..end]).ok()?.to_owned();
    Some((token, sent.slice(head.len() + end + 2..)))
}

/// Puts the token into every form of a page that posts, and into one that comes
/// back with a refusal, whose page is made at the edge.
async fn with_token(mut response: Response, token: &str) -> Response {
    if let Some(unkept) = response.extensions_mut().get_mut::<Unkept>() {
        unkept.fields.insert(0, (FIELD.into(), token.into()));
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
        Ok(page) => Response::from_parts(parts, woven(page, token).into()),
        Err(_) => Response::from_parts(parts, page.into()),
    }
}

fn woven(page: &str, token: &str) -> String {
    let field = format!(r#"<input type="hidden" name="{FIELD}" value="{token}">"#);
    let mut woven = String::with_capacity(page.len() + 1024);
    let mut rest = page;
    // Texts and values are escaped, so that `<form` and `>` stand for nothing else.
    while let Some(at) = rest.find("<form") {
        let end = rest[at..].find('>').map_or(rest.len(), |end| at + end + 1);
        woven.push_str(&rest[..end]);
        if rest[at..end].contains(r#"method="post""#) {
            woven.push_str(&field);
        }
        rest = &rest[end..];
    }
    woven + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_that_posts_gets_the_token_and_no_other() {
        let page = r#"<p>&lt;form</p><form method="get" action="/"><input></form>
            <form class="a" method="post" action="/b?c=1&#38;d"><input name="x"></form><form id="e" method="post">"#;
        let woven = woven(page, "t0");
        assert_eq!(woven.matches("t0").count(), 2);
        let field = r#"<input type="hidden" name="form_token" value="t0">"#;
        assert!(woven.contains(&format!(r#"action="/b?c=1&#38;d">{field}<input name="x">"#)));
        assert!(woven.ends_with(&format!(r#"<form id="e" method="post">{field}"#)));
        assert_eq!(woven.replace(field, ""), page);
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
    }
}
