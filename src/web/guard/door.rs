//! Nobody without leave.
//!
//! Whoever sits at the machine needs none: a request from a loopback address,
//! under a loopback name, is the owner's. (A proxy on the same machine would make
//! everybody look like that, so whatever says it was passed on is not.) Every
//! other request has to bring a device's cookie or a probe's token, but for the
//! pairing page itself, the files that are the same in every copy of the
//! program, and the word whether it runs.

use std::net::{IpAddr, SocketAddr};

use axum::{
    extract::{ConnectInfo, Request, State},
    http::{Method, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};
use time::OffsetDateTime;

use super::{caller::Caller, host, session, streams};
use crate::web::{App, AppError};

/// What a proxy adds to a request it passes on.
const PASSED_ON: [&str; 4] = ["forwarded", "x-forwarded-for", "x-real-ip", "via"];

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let (mut parts, body) = request.into_parts();
    let caller = match caller(&app, &parts).await {
        Ok(caller) => caller,
        Err(error) => return error.into_response(),
    };
    if let Some(refused) = refusal(&app, &caller, &parts) {
        return refused.into_response();
    }
    let is_health = parts.uri.path() == "/healthz";
    parts.extensions.insert(caller.clone());
    let mut response = next.run(Request::from_parts(parts, body)).await;
    // The page of a refusal is made at the edge, and is for whoever asked.
    response.extensions_mut().insert(caller.clone());
    if is_health && caller == Caller::Stranger && !response.status().is_success() {
        // Why it does not run well is the brewer's own business.
        return AppError::Busy.into_response();
    }
    streams::guard(&app, &caller, response)
}

/// The address a request comes from, as the connection has it.
pub(crate) fn peer(parts: &Parts) -> Option<IpAddr> {
    parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(peer)| peer.ip().to_canonical())
}

async fn caller(app: &App, parts: &Parts) -> Result<Caller, AppError> {
    let now = app.now();
    if let Some(token) = session::bearer(&parts.headers) {
        // Whoever tries to prove something is believed no more than that.
        let device = app.store.device_of(token, now).await?;
        let probe = device.map(Caller::Device).filter(Caller::is_probe);
        return Ok(seen(app, probe.unwrap_or(Caller::Stranger), now));
    }
    if is_owner(app, parts) {
        return Ok(Caller::Owner);
    }
    let Some(token) = session::token(app, &parts.headers) else { return Ok(Caller::Stranger) };
    let device = app.store.device_of(&token, now).await?.map(Caller::Device);
    Ok(seen(app, device.filter(|device| !device.is_probe()).unwrap_or(Caller::Stranger), now))
}

/// Notes when a device was seen, without keeping it waiting.
fn seen(app: &App, caller: Caller, now: OffsetDateTime) -> Caller {
    if let Caller::Device(device) = &caller {
        let (store, device) = (app.store.clone(), device.clone());
        tokio::spawn(async move {
            if let Err(error) = store.seen(&device, now).await {
                tracing::debug!(%error, "when a device was seen is not kept");
            }
        });
    }
    caller
}

fn is_owner(app: &App, parts: &Parts) -> bool {
    // Without --lan only this machine can reach the book at all.
    !app.options.lan
        || (peer(parts).is_some_and(|peer| peer.is_loopback())
            && host::asked_of(parts).is_some_and(|host| host::is_loopback(host.host()))
            && !PASSED_ON.iter().any(|name| parts.headers.contains_key(*name)))
}

fn refusal(app: &App, caller: &Caller, parts: &Parts) -> Option<AppError> {
    let path = parts.uri.path();
    let tries_bearer = session::bearer(&parts.headers).is_some();
    match caller {
        Caller::Stranger if tries_bearer || !is_open(&parts.method, path) => {
            if app.options.lan || tries_bearer {
                let peer = peer(parts).map(|peer| peer.to_string());
                tracing::info!(peer, method = %parts.method, "a request without leave was refused");
            }
            Some(AppError::Unpaired)
        }
        caller if caller.is_probe() && (parts.method != Method::POST || path != "/api/v1/temperature") => {
            let why = "A probe's token is for posting temperatures to /api/v1/temperature, and for nothing else.";
            Some(AppError::Refused(why.into()))
        }
        _ => None,
    }
}

/// What anybody may ask for.
fn is_open(method: &Method, path: &str) -> bool {
    let is_pairing = path == "/pair" || path.starts_with("/pair/");
    if method.is_safe() {
        is_pairing || path == "/healthz" || path.starts_with("/static/")
    } else {
        method == Method::POST && path == "/pair"
    }
}
