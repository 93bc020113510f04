//! `/settings/devices`: who may come in, and who did.
//!
//! [`door`] opens and closes the one way in; a device or a probe is named, or
//! ended, here. A probe's token is told in the answer to the form that made it,
//! and nowhere else.

mod door;
mod qr;

pub use door::Shown;
pub use qr::Qr;

use askama::Template;
use axum::{
    Form as Plain, Router,
    extract::{Path, State},
    response::{IntoResponse, Response},
    routing::{get, post},
};
use axum_extra::extract::CookieJar;
use serde::Deserialize;
use time::Duration;

use super::{
    App, AppError, Frame, Page,
    guard::{Caller, Sent, session},
    see_other,
    when::Moment,
};
use crate::store::{DEVICE_NAME_CHARS, Device, DeviceKind, IDLE_FOR, LET_IN_FOR};
use door::Open;

const HERE: &str = "/settings/devices";

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/settings/devices", get(show))
        .route("/settings/devices/end", post(end_all))
        .route("/settings/devices/leave", post(leave))
        .route("/settings/devices/probes", post(create_probe))
        .route("/settings/devices/{id}", post(rename))
        .route("/settings/devices/{id}/end", post(end))
        .merge(door::router())
}

#[derive(Template)]
#[template(path = "devices/list.html")]
struct DevicesPage {
    frame: Frame,
    caller: Caller,
    lan: bool,
    open: Open,
    people: Vec<Row>,
    probes: Vec<Row>,
    /// A probe that was made just now, with its token.
    made: Option<(String, String)>,
    /// Where a probe posts to.
    address: String,
}

/// A device as the page lists it.
struct Row {
    device: Device,
    paired: Moment,
    seen: Moment,
    is_here: bool,
}

#[derive(Deserialize)]
struct Named {
    #[serde(default)]
    name: String,
}

impl DevicesPage {
    async fn read(app: &App, frame: Frame, caller: Caller) -> Result<Self, AppError> {
        let now = frame.clock.now;
        let row = |device: Device| Row {
            paired: frame.clock.day_and_time(device.paired_at),
            seen: frame.clock.day_and_time(device.seen_at),
            is_here: caller.device().is_some_and(|here| here.id == device.id),
            device,
        };
        let devices = app.store.devices(now).await?;
        let (people, probes) = devices.into_iter().partition::<Vec<_>, _>(|one| one.kind == DeviceKind::Person);
        Ok(Self {
            lan: app.options.lan,
            open: Open::now(app, &frame).await?,
            people: people.into_iter().map(row).collect(),
            probes: probes.into_iter().map(row).collect(),
            made: None,
            address: app.options.address.clone().unwrap_or_else(|| "http://127.0.0.1:4710".into()),
            caller,
            frame,
        })
    }

    fn name_most(&self) -> usize {
        DEVICE_NAME_CHARS
    }

    fn days(span: Duration) -> i64 {
        span.whole_days()
    }

    fn idle_days(&self) -> i64 {
        Self::days(IDLE_FOR)
    }

    fn most_days(&self) -> i64 {
        Self::days(LET_IN_FOR)
    }

    fn is_at_the_machine(&self) -> bool {
        self.caller == Caller::Owner
    }
}

async fn show(State(app): State<App>, frame: Frame, caller: Caller) -> Result<Response, AppError> {
    Ok(Page(DevicesPage::read(&app, frame, caller).await?).into_response())
}

async fn create_probe(
    State(app): State<App>,
    frame: Frame,
    caller: Caller,
    Sent(mark): Sent,
    Plain(named): Plain<Named>,
) -> Result<Response, AppError> {
    let name = name_of(&named.name).unwrap_or_else(|| "Probe".into());
    let token = app.store.once(mark).add_probe(&name, app.now()).await?;
    tracing::info!(?name, "a probe was given a token");
    let page = DevicesPage::read(&app, frame, caller).await?;
    Ok(Page(DevicesPage { made: Some((name, token)), ..page }).into_response())
}

async fn rename(State(app): State<App>, Path(id): Path<i64>, Plain(named): Plain<Named>) -> Result<Response, AppError> {
    // A name left empty is left as it was.
    if let Some(name) = name_of(&named.name)
        && !app.store.rename_device(id, &name).await?
    {
        return Err(AppError::NotFound);
    }
    Ok(see_other(HERE))
}

async fn end(State(app): State<App>, Path(id): Path<i64>) -> Result<Response, AppError> {
    app.store.end_devices(Some(id)).await?;
    tracing::info!(device = id, "a device was ended");
    Ok(see_other(HERE))
}

async fn end_all(State(app): State<App>) -> Result<Response, AppError> {
    let ended = app.store.end_devices(None).await?;
    tracing::info!(ended, "all devices were ended");
    Ok(see_other(HERE))
}

/// Ends the very device that asks, and takes its cookie back.
async fn leave(State(app): State<App>, caller: Caller) -> Result<Response, AppError> {
    if let Some(device) = caller.device() {
        app.store.end_devices(Some(device.id)).await?;
        tracing::info!(device = device.id, "a device left");
    }
    Ok((CookieJar::new().add(session::no_cookie(&app)), see_other("/pair")).into_response())
}

/// A name as it was typed, without what no name has; nothing where nothing is left.
pub(super) fn name_of(typed: &str) -> Option<String> {
    let plain: String = typed.chars().filter(|letter| !letter.is_control()).collect();
    let name: String = plain.trim().chars().take(DEVICE_NAME_CHARS).collect();
    (!name.is_empty()).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::name_of;

    #[test]
    fn a_name_is_plain_and_short() {
        assert_eq!(name_of("  Kettle phone "), Some("Kettle phone".into()));
        assert_eq!(name_of("a\r\nb\u{1b}[31m"), Some("ab[31m".into()));
        assert_eq!(name_of(" \n "), None);
        assert_eq!(name_of(&"é".repeat(90)).unwrap().chars().count(), 40);
    }
}
