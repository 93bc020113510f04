//! `/settings/devices/door`: the one way in, opened for ten minutes and closed.

use std::sync::{Arc, Mutex, PoisonError};

use axum::{Router, extract::State, response::Response, routing::post};
use time::OffsetDateTime;

use super::{HERE, Qr};
use crate::store::Invitation;
use crate::web::{App, AppError, Frame, see_other, when::Moment};

pub(super) fn router() -> Router<App> {
    Router::new().route("/settings/devices/door", post(open)).route("/settings/devices/door/close", post(close))
}

/// What the way in that was opened last is opened with. It is kept in memory
/// only, to be shown again when the page is loaded again.
#[derive(Clone, Debug, Default)]
pub struct Shown(Arc<Mutex<Option<Invitation>>>);

impl Shown {
    fn keep(&self, invitation: Option<Invitation>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = invitation;
    }

    fn of(&self, closes_at: OffsetDateTime) -> Option<Invitation> {
        let shown = self.0.lock().unwrap_or_else(PoisonError::into_inner).clone();
        shown.filter(|shown| shown.closes_at == closes_at)
    }
}

/// The way in, as the page shows it.
pub(super) enum Open {
    /// None is open.
    Closed,
    /// One is, but its code and link were told elsewhere.
    Elsewhere { until: Moment },
    /// One is, by these.
    Here { until: Moment, link: String, qr: Box<Qr>, code: Option<String> },
}

impl Open {
    pub(super) async fn now(app: &App, frame: &Frame) -> Result<Self, AppError> {
        let Some(door) = app.store.open_door(frame.clock.now).await? else { return Ok(Self::Closed) };
        let until = frame.clock.short(door.closes_at);
        let shown = app.shown.of(door.closes_at).zip(app.options.address.as_ref());
        let Some((shown, address)) = shown else { return Ok(Self::Elsewhere { until }) };
        let link = format!("{address}/pair/{}", shown.link);
        let qr = Box::new(Qr::of(&link).map_err(AppError::internal)?);
        let digits = shown.code.filter(|_| door.tries_left > 0);
        let code = digits.map(|code| format!("{} {}", &code[..3], &code[3..]));
        Ok(Self::Here { until, link, qr, code })
    }
}

async fn open(State(app): State<App>) -> Result<Response, AppError> {
    if !app.options.lan {
        let why = "Only this computer can reach the book. Start it with `gylebook serve --lan` to let devices in.";
        return Err(AppError::Conflict(why.into()));
    }
    let invitation = app.store.invite(true, app.now()).await?;
    tracing::info!("a way in was opened for ten minutes");
    app.shown.keep(Some(invitation));
    Ok(see_other(HERE))
}

async fn close(State(app): State<App>) -> Result<Response, AppError> {
    app.store.close_door().await?;
    app.shown.keep(None);
    Ok(see_other(HERE))
}
