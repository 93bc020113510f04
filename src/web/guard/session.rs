//! What a device proves itself with: a cookie, or a bearer token.

use axum::http::{HeaderMap, header};
use axum_extra::extract::{
    CookieJar,
    cookie::{Cookie, SameSite},
};

use crate::{store::LET_IN_FOR, web::App};

/// A name that no other program on this machine uses: cookies ignore ports.
const NAME: &str = "gylebook_device";
/// Over TLS the name itself keeps it to this host, this path and to TLS.
const NAME_SECURE: &str = "__Host-gylebook_device";

/// The name of a device's cookie.
fn cookie_name(app: &App) -> &'static str {
    if app.options.is_secure() { NAME_SECURE } else { NAME }
}

/// The cookie that lets a device in from now on.
pub(crate) fn cookie(app: &App, token: String) -> Cookie<'static> {
    Cookie::build((cookie_name(app), token))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(app.options.is_secure())
        .max_age(LET_IN_FOR)
        .build()
}

/// Takes the cookie back from the device.
pub(crate) fn no_cookie(app: &App) -> Cookie<'static> {
    let mut cookie = cookie(app, String::new());
    cookie.make_removal();
    cookie
}

/// The token a request brings in its cookie.
pub(super) fn token(app: &App, headers: &HeaderMap) -> Option<String> {
    CookieJar::from_headers(headers).get(cookie_name(app)).map(|cookie| cookie.value().to_owned())
}

/// The bearer token of a request [RFC-6750], which may be none that anybody has.
/// What proves something to others (a password for a proxy, say) is not for us.
pub(super) fn bearer(headers: &HeaderMap) -> Option<&str> {
    const SCHEME: &str = "bearer";
    let mut given = headers.get_all(header::AUTHORIZATION).iter().map(|value| value.to_str().unwrap_or_default());
    let is_bearer = |value: &&str| value.get(..SCHEME.len()).is_some_and(|scheme| scheme.eq_ignore_ascii_case(SCHEME));
    let first = given.find(is_bearer)?;
    Some(if given.next().is_none() { first[SCHEME.len()..].trim() } else { "" })
}
