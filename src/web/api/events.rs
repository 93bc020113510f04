//! `/api/v1/batches/{id}/events`: the log as it grows, as server-sent events.

use std::{convert::Infallible, sync::Arc};

use axum::{
    extract::State,
    http::HeaderMap,
    response::{
        IntoResponse, Response,
        sse::{Event, KeepAlive, Sse},
    },
};
use serde::Serialize;
use tokio::sync::{broadcast::error::RecvError, mpsc};
use tokio_stream::wrappers::ReceiverStream;
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{
    App, AppError,
    asked::{Id, Part},
    schema,
};
use crate::{
    brewday::{BrewDay, LoggedEntry, summary::ChillFigures},
    store::{Change, StoreError},
};

/// Events that wait for a slow reader before the stream waits for it.
const WAITING: usize = 8;

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(show))
}

/// What an event of the name `entries` brings; its id is the last entry's `seq`.
#[derive(Serialize)]
struct Grown<'a> {
    seq: i64,
    entries: Vec<&'a LoggedEntry>,
    /// The chill as it stands with them, its verdict with it.
    chill: ChillFigures,
}

/// Follows a batch's log: an event `entries` for each time it has grown.
///
/// Its data is JSON: `seq`, the new `entries`, and the summary's `chill`. A reader that was
/// cut off sends `Last-Event-ID` (or `after`) and misses nothing; without either the
/// stream begins with what comes next.
#[utoipa::path(get, path = "/api/v1/batches/{id}/events", tag = "Log", operation_id = "follow_entries",
    params(schema::ById, schema::After, ("Last-Event-ID" = Option<i64>, Header, description = "The last event's id.")),
    responses((status = 200, content_type = "text/event-stream", body = String)))]
async fn show(State(app): State<App>, Id(id): Id, part: Part, headers: HeaderMap) -> Result<Response, AppError> {
    // Before the log is looked at, so that nothing falls between the two.
    let changes = app.store.changes();
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let resumed = headers.get("last-event-id").and_then(|seq| seq.to_str().ok()?.parse().ok());
    let seen = resumed.or(part.after).unwrap_or(day.seq());
    let (to, events) = mpsc::channel(WAITING);
    let stream = Stream { app, batch: id, seen, to };
    tokio::spawn(async move {
        if let Err(error) = stream.follow(changes).await {
            // The reader comes again by itself, from the last event it got.
            tracing::warn!(%error, batch = id, "an event stream was cut off");
        }
    });
    Ok(Sse::new(ReceiverStream::new(events)).keep_alive(KeepAlive::default()).into_response())
}

/// One open stream.
struct Stream {
    app: App,
    batch: i64,
    /// The last entry that was told.
    seen: i64,
    to: mpsc::Sender<Result<Event, Infallible>>,
}

impl Stream {
    /// Tells what is new until nobody listens or the server stops.
    async fn follow(mut self, mut changes: tokio::sync::broadcast::Receiver<Change>) -> Result<(), StoreError> {
        let app = self.app.clone();
        loop {
            let Some(day) = app.store.day(self.batch).await? else { return Ok(()) };
            if day.seq() > self.seen && !self.tell(day).await? {
                return Ok(());
            }
            tokio::select! {
                more = grown(&mut changes, self.batch) => if !more { return Ok(()) },
                () = self.to.closed() => return Ok(()),
                () = app.stopping() => return Ok(()),
            }
        }
    }

    /// Tells what the day has more. Whether anybody still listens.
    async fn tell(&mut self, day: Arc<BrewDay>) -> Result<bool, StoreError> {
        let entries = day.lines.iter().map(|line| &line.logged).filter(|logged| logged.seq > self.seen).collect();
        let chill = self.app.store.summary_of(&day).await?.unwrap_or_default().chill.clone();
        let grown = Grown { seq: day.seq(), entries, chill };
        self.seen = grown.seq;
        let event = Event::default().event("entries").id(grown.seq.to_string()).json_data(&grown);
        let event = event.map_err(|why| StoreError::Unreadable { what: "an event", why: why.to_string() })?;
        Ok(self.to.send(Ok(event)).await.is_ok())
    }
}

/// Waits until the batch's log has grown, or may have: one that fell behind
/// looks for itself. Whether there is more to come.
async fn grown(changes: &mut tokio::sync::broadcast::Receiver<Change>, batch: i64) -> bool {
    loop {
        match changes.recv().await {
            Ok(change) if change.batch != Some(batch) => {}
            Ok(_) | Err(RecvError::Lagged(_)) => return true,
            Err(RecvError::Closed) => return false,
        }
    }
}
