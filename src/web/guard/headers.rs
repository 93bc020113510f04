//! Headers on every answer, refusals and files included.

use axum::{
    http::{HeaderName, HeaderValue, header},
    response::Response,
};

/// Nothing but our own files; nothing inline; no frame around us.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
     font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; object-src 'none'; \
     frame-ancestors 'none'";

const ALWAYS: [(HeaderName, &str); 2] =
    [(header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY), (header::X_CONTENT_TYPE_OPTIONS, "nosniff")];

pub(crate) async fn add(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in ALWAYS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // `no-referrer` would make browsers send `Origin: null` with our own forms. Where an
    // address is a secret, a page says less itself.
    headers.entry(header::REFERRER_POLICY).or_insert(HeaderValue::from_static("same-origin"));
    // A page is true when it is asked for, and is nobody else's to keep.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}
