//! `/pair`: how a device comes in, by the one-time link or by six digits.
//!
//! Opening the link changes nothing: the page says what pairing means and asks
//! for the device's name, and only its button uses the link up. The page is for
//! strangers, so nothing of the book is on it.

use askama::Template;
use axum::{
    Form as Plain, Router,
    extract::{Path, State},
    http::{HeaderMap, HeaderValue, StatusCode, header, request::Parts},
    response::{IntoResponse, Response},
    routing::get,
};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::{
    App, AppError, Frame, Page,
    devices::name_of,
    guard::{Caller, Sent, door, session},
    page::Light,
    see_other,
};
use crate::store::{DEVICE_NAME_CHARS, NotLetIn, Way};

pub(crate) fn router() -> Router<App> {
    Router::new().route("/pair", get(show).post(create)).route("/pair/{link}", get(show_link))
}

#[derive(Template)]
#[template(path = "pair.html")]
struct PairPage {
    frame: Frame,
    /// What stands after `/pair/` in the link, where it came with one that is open.
    link: Option<String>,
    /// Why it did not work the last time.
    why: Option<String>,
    name: String,
    /// The name it is paired under already; the machine itself needs none.
    known_as: Option<String>,
    is_secure: bool,
}

impl PairPage {
    fn name_most(&self) -> usize {
        DEVICE_NAME_CHARS
    }
}

#[derive(Deserialize)]
struct Asked {
    #[serde(default)]
    link: String,
    #[serde(default)]
    code: String,
    #[serde(default)]
    name: String,
}

async fn show(State(app): State<App>, caller: Caller, parts: Parts) -> Response {
    page(&app, &caller, &parts, None, None, guessed_name(&parts.headers)).into_response()
}

async fn show_link(
    State(app): State<App>,
    caller: Caller,
    Path(link): Path<String>,
    parts: Parts,
) -> Result<Response, AppError> {
    let is_open = app.store.is_invited(&link, app.now()).await?;
    let why = (!is_open).then(|| told(NotLetIn::Closed));
    let page = page(&app, &caller, &parts, is_open.then_some(link), why, guessed_name(&parts.headers));
    // The link is not told on to the files of the page.
    Ok(([(header::REFERRER_POLICY, HeaderValue::from_static("origin"))], page).into_response())
}

async fn create(
    State(app): State<App>,
    caller: Caller,
    parts: Parts,
    Sent(mark): Sent,
    Plain(asked): Plain<Asked>,
) -> Result<Response, AppError> {
    let now = app.now();
    let name = name_of(&asked.name).unwrap_or_else(|| guessed_name(&parts.headers));
    let code: String = asked.code.chars().filter(char::is_ascii_digit).collect();
    let way = if asked.link.is_empty() { Way::Code(&code) } else { Way::Link(&asked.link) };
    let peer = door::peer(&parts).map(|peer| peer.to_string());
    match app.store.once(mark).let_in(way, &name, now).await? {
        Ok(token) => {
            // Quoted, so that a name can't write a line of its own.
            tracing::info!(peer, ?name, "a device was paired");
            let jar = CookieJar::new().add(session::cookie(&app, token));
            Ok((jar, see_other("/")).into_response())
        }
        Err(why) => {
            tracing::warn!(peer, ?why, "a device was not paired");
            let page = page(&app, &caller, &parts, None, Some(told(why)), name);
            let status = match why {
                NotLetIn::Held(_) => StatusCode::TOO_MANY_REQUESTS,
                NotLetIn::Closed | NotLetIn::Wrong(_) => StatusCode::UNPROCESSABLE_ENTITY,
            };
            Ok((status, page).into_response())
        }
    }
}

fn page(
    app: &App,
    caller: &Caller,
    parts: &Parts,
    link: Option<String>,
    why: Option<String>,
    name: String,
) -> impl IntoResponse + use<> {
    let known_as = match caller {
        Caller::Owner => Some("this computer".into()),
        caller => caller.name().map(str::to_owned),
    };
    let frame = Frame::bare(Light::of(parts));
    Page(PairPage { frame, link, why, name, known_as, is_secure: app.options.is_secure() })
}

fn told(why: NotLetIn) -> String {
    match why {
        NotLetIn::Closed => "This way in is closed: a link and a code work once, and for ten minutes. \
                             Ask for a new one at the computer that keeps the book."
            .into(),
        NotLetIn::Wrong(0) => "That was not the code, five times now, so it works no longer. \
                               Ask for a new one at the computer that keeps the book."
            .into(),
        NotLetIn::Wrong(1) => "That is not the code. One try is left.".into(),
        NotLetIn::Wrong(left) => format!("That is not the code. {left} tries are left."),
        NotLetIn::Held(_) => "Too many wrong codes were tried, so none is looked at for five minutes. \
                              The link in the square picture works all the same."
            .into(),
    }
}

/// What to call a device, from what its browser says of it.
fn guessed_name(headers: &HeaderMap) -> String {
    let said = headers.get(header::USER_AGENT).and_then(|said| said.to_str().ok()).unwrap_or_default();
    let known = [
        ("iPhone", "iPhone"),
        ("iPad", "iPad"),
        ("Android", if said.contains("Mobile") { "Android phone" } else { "Android tablet" }),
        ("Windows", "Windows computer"),
        ("Macintosh", "Mac"),
        ("Linux", "Linux computer"),
    ];
    known.iter().find(|(mark, _)| said.contains(mark)).map_or("Phone", |(_, name)| name).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_device_is_named_for_what_it_is() {
        let name = |said: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::USER_AGENT, said.parse().unwrap());
            guessed_name(&headers)
        };
        assert_eq!(name("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15"), "iPhone");
        assert_eq!(name("Mozilla/5.0 (Linux; Android 14; Pixel 8) Mobile Safari/537.36"), "Android phone");
        assert_eq!(name("Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101"), "Linux computer");
        assert_eq!(guessed_name(&HeaderMap::new()), "Phone");
    }
}
