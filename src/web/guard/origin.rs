//! Whatever changes something has to come from a page of ours.
//!
//! Browsers send `Origin` with every request that is not a plain read. It has to
//! be this very server, port included: cookies and `SameSite` ignore ports, and
//! another service on the same machine is not us. A script sends none; it is let
//! through where it brings JSON, which no browser form can send.

use axum::{
    extract::{Request, State},
    http::{HeaderMap, StatusCode, header, uri::Authority},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::host;
use crate::web::{App, AppError};

/// How the server is spoken to, and the port that an origin and a host then leave out.
type Scheme = (&'static str, u16);
const HTTP: Scheme = ("http://", 80);
const HTTPS: Scheme = ("https://", 443);

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let scheme = if app.options.is_secure() { HTTPS } else { HTTP };
    let comes_from_us = || host::asked_of(&parts).is_some_and(|host| may_change(&parts.headers, &host, scheme));
    if parts.method.is_safe() || comes_from_us() {
        next.run(Request::from_parts(parts, body)).await
    } else if parts.uri.path().starts_with("/api/") && is_no_browser(&parts.headers) && !is_json(&parts.headers) {
        // Refused all the same, but a script is told what it can do about it.
        AppError::Status(StatusCode::UNSUPPORTED_MEDIA_TYPE).into_response()
    } else {
        let why = "This was sent from a page that isn't part of this book, so nothing was changed. \
                   Open the book itself and do it there.";
        AppError::Refused(why.into()).into_response()
    }
}

fn may_change(headers: &HeaderMap, host: &Authority, scheme: Scheme) -> bool {
    let mut origins = headers.get_all(header::ORIGIN).iter();
    match (origins.next(), origins.next()) {
        (None, _) => is_a_script(headers),
        (Some(origin), None) => origin.to_str().is_ok_and(|origin| is_of(origin, host, scheme)),
        _ => false,
    }
}

/// `http://host:port` of this server and nothing more.
fn is_of(origin: &str, host: &Authority, (scheme, port): Scheme) -> bool {
    let Some(named) = origin.strip_prefix(scheme) else { return false };
    // Nothing may stand after it, and nobody before it.
    let Ok(of) = named.parse::<Authority>() else { return false };
    host::is_host_and_port(&of)
        && of.host().eq_ignore_ascii_case(host.host())
        && of.port_u16().unwrap_or(port) == host.port_u16().unwrap_or(port)
}

/// JSON, and none of what a browser adds by itself.
fn is_a_script(headers: &HeaderMap) -> bool {
    is_json(headers) && is_no_browser(headers)
}

/// Whether what is sent says it is JSON.
pub(crate) fn is_json(headers: &HeaderMap) -> bool {
    headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).is_some_and(|kind| {
        kind.split(';').next().is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/json"))
    })
}

fn is_no_browser(headers: &HeaderMap) -> bool {
    !["origin", "sec-fetch-site", "sec-fetch-mode"].iter().any(|name| headers.contains_key(*name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lets_through(origin: Option<&str>, content_type: Option<&str>) -> bool {
        let mut headers = HeaderMap::new();
        if let Some(origin) = origin {
            headers.insert(header::ORIGIN, origin.parse().expect("a header"));
        }
        if let Some(kind) = content_type {
            headers.insert(header::CONTENT_TYPE, kind.parse().expect("a header"));
        }
        may_change(&headers, &"192.168.1.20:4710".parse().expect("an authority"), HTTP)
    }

    const FORM: Option<&str> = Some("application/x-www-form-urlencoded");
    const JSON: Option<&str> = Some("application/json");

    #[test]
    fn our_own_pages_may_change_things() {
        assert!(lets_through(Some("http://192.168.1.20:4710"), FORM));
        assert!(lets_through(Some("http://192.168.1.20:4710"), JSON));
    }

    #[test]
    fn no_other_origin_may() {
        for origin in [
            "null",
            "http://evil.example",
            "http://evil.example:4710",
            "http://192.168.1.20",
            "http://192.168.1.20:80",
            "http://192.168.1.20:8080",
            "https://192.168.1.20:4710",
            "http://192.168.1.21:4710",
            "http://localhost:4710",
            "http://192.168.1.20:4710/",
            "http://192.168.1.20:4710.evil.example",
            "http://x@192.168.1.20:4710",
            "file://",
            "192.168.1.20:4710",
            "",
        ] {
            assert!(!lets_through(Some(origin), FORM), "{origin} as a form");
            assert!(!lets_through(Some(origin), JSON), "{origin} as JSON");
        }
    }

    #[test]
    fn without_an_origin_only_json_may() {
        assert!(lets_through(None, JSON));
        assert!(lets_through(None, Some("application/json; charset=utf-8")));
        assert!(!lets_through(None, FORM));
        assert!(!lets_through(None, Some("text/plain")));
        assert!(!lets_through(None, Some("multipart/form-data; boundary=x")));
        assert!(!lets_through(None, None));
    }

    #[test]
    fn the_port_a_browser_leaves_out_is_eighty() {
        let host: Authority = "brewery.local".parse().expect("an authority");
        assert!(is_of("http://brewery.local", &host, HTTP));
        assert!(is_of("http://Brewery.Local", &host, HTTP));
        assert!(!is_of("http://brewery.local:4710", &host, HTTP));
        assert!(is_of("https://brewery.local:443", &host, HTTPS));
        assert!(!is_of("http://brewery.local", &host, HTTPS));
    }

    #[test]
    fn a_browser_that_hides_its_origin_is_no_script() {
        let mut headers = HeaderMap::new();
        headers.insert(header::CONTENT_TYPE, "application/json".parse().expect("a header"));
        headers.insert("sec-fetch-site", "cross-site".parse().expect("a header"));
        assert!(!may_change(&headers, &"127.0.0.1:4710".parse().expect("an authority"), HTTP));
    }
}
