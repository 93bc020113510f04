//! An event stream lasts as long as its reader's leave, and not for everybody
//! at once.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use axum::{
    body::{Body, BodyDataStream, Bytes},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use tokio::sync::mpsc;
use tokio_stream::{StreamExt, wrappers::ReceiverStream};

use super::caller::Caller;
use crate::web::{App, AppError};

/// Streams one device may have open: a browser opens six at most.
const STREAMS_MOST: usize = 12;

type Event = Result<Bytes, axum::Error>;

/// Who has how many streams open.
#[derive(Clone, Debug, Default)]
pub(crate) struct Streams(Arc<Mutex<HashMap<i64, usize>>>);

/// One open stream; given back when it is dropped.
struct Place {
    streams: Streams,
    device: i64,
}

impl Streams {
    fn take(&self, device: i64) -> Option<Place> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(device).or_default();
        if *count >= STREAMS_MOST {
            return None;
        }
        *count += 1;
        Some(Place { streams: self.clone(), device })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut open = self.streams.0.lock().unwrap_or_else(PoisonError::into_inner);
        match open.get_mut(&self.device) {
            Some(count) if *count > 1 => *count -= 1,
            _ => drop(open.remove(&self.device)),
        }
    }
}

/// Any answer as it is; a device's event stream with a place of its own, ended
/// with the device's leave.
pub(super) fn guard(app: &App, caller: &Caller, response: Response) -> Response {
    let kind = response.headers().get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    let is_stream = kind.is_some_and(|kind| kind.starts_with(b"text/event-stream"));
    let Some(device) = caller.device().filter(|_| is_stream) else { return response };
    let Some(place) = app.streams.take(device.id) else { return AppError::TooMany.into_response() };
    let (parts, body) = response.into_parts();
    let (to, events) = mpsc::channel(1);
    tokio::spawn(pass_on(app.clone(), device.id, body.into_data_stream(), to, place));
    Response::from_parts(parts, Body::from_stream(ReceiverStream::new(events)))
}

/// Passes events on until either side is done, or the device is ended.
async fn pass_on(app: App, device: i64, mut events: BodyDataStream, to: mpsc::Sender<Event>, _place: Place) {
    let ended = ended(&app, device);
    tokio::pin!(ended);
    loop {
        let event = tokio::select! {
            () = &mut ended => return,
            () = to.closed() => return,
            event = events.next() => event,
        };
        let Some(event) = event else { return };
        if to.send(event).await.is_err() {
            return;
        }
    }
}

/// Resolves once a device is let in no more.
async fn ended(app: &App, device: i64) {
    let mut ended = app.store.ended();
    while ended.changed().await.is_ok() {
        // Where the file can't be read it is ended too: it can come again.
        if !app.store.is_let_in(device, app.now()).await.unwrap_or(false) {
            return;
        }
    }
}
