//! What a brewer keeps beside the book: a copy of it, everything as JSON, tables
//! for a spreadsheet, and what became of the daily copies. Asking changes nothing.

use std::fs::File;
use std::io::{self, Read};

use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::{Router, routing::get};
use tokio::sync::mpsc::{self, Sender};
use tokio_stream::wrappers::ReceiverStream;

use super::figures_csv::figures_csv;
use super::page::{CSV_TYPE, csv_file, file};
use super::when::Moment;
use super::{App, AppError, Frame};
use crate::brewday::readings::{BookReadings, readings_csv};
use crate::store::{BackupError, DailyOutcome, Store, StoreError};

/// What a copy of the book is [IANA media types].
pub(super) const COPY_TYPE: &str = "application/vnd.sqlite3";
/// Read and sent at a time.
const PIECE_BYTES: usize = 64 * 1024;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/settings/copy", get(copy))
        .route("/settings/book.json", get(book))
        .route("/settings/figures.csv", get(figures))
        .route("/settings/readings.csv", get(readings))
        .route("/batches/{id}/batch.json", get(batch))
        .route("/batches/{id}/readings.csv", get(batch_readings))
}

/// The daily copies as the settings page tells them.
#[derive(Clone, Debug)]
pub struct Copies {
    /// The copies, the newest first.
    pub kept: Vec<CopyTold>,
    /// The folder they lie in; none without copies.
    pub folder: Option<String>,
    /// What came of the last try, where that needs saying.
    pub told: Option<String>,
    /// Why there is no newer copy, where one could not be made.
    pub trouble: Option<String>,
}

/// A daily copy.
#[derive(Clone, Debug)]
pub struct CopyTold {
    /// Its file.
    pub name: String,
    /// When it was made: "today", "yesterday", "5 days ago".
    pub age: String,
    /// Its size.
    pub size: String,
}

impl Copies {
    /// What is there now.
    #[must_use]
    pub fn of(store: &Store, frame: &Frame) -> Self {
        let copies = store.daily_copies();
        let today = frame.clock.now.to_offset(time::UtcOffset::UTC).date();
        let folder = copies.first().and_then(|copy| copy.path.parent()).map(|folder| folder.display().to_string());
        let kept = copies.iter().map(|copy| CopyTold {
            name: copy.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
            age: age((today - copy.day).whole_days()),
            size: size(copy.bytes),
        });
        let last = store.last_daily_copy();
        let at = |moment: Moment| moment.text;
        let (told, trouble) = match last {
            Some(last) => match last.outcome {
                DailyOutcome::Unchanged => {
                    (Some(format!("Nothing had changed since, {}.", at(frame.clock.ago(last.at)))), None)
                }
                DailyOutcome::Failed(why) => (None, Some(format!("{why} Tried {}.", at(frame.clock.ago(last.at))))),
                DailyOutcome::Made | DailyOutcome::Empty => (None, None),
            },
            None => (None, None),
        };
        Self { kept: kept.collect(), folder, told, trouble }
    }
}

async fn copy(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let (copy, bytes) = app.store.copy_to_send().await.map_err(no_copy)?;
    let name = format!("gylebook-{}.db", frame.clock.stamp());
    let length = [(header::CONTENT_LENGTH, bytes.to_string())];
    Ok((length, file(&name, COPY_TYPE, Body::from_stream(pieces(copy)))).into_response())
}

async fn book(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let book = app.store.carry_book_out().await?;
    let text = serde_json::to_string_pretty(&book).map_err(AppError::internal)? + "\n";
    Ok(file(&format!("gylebook-{}.json", frame.clock.stamp()), "application/json", text))
}

async fn figures(State(app): State<App>) -> Result<Response, AppError> {
    let ids = app.store.batch_ids().await?;
    let batches = app.store.compared(&ids).await?;
    Ok(csv_file("gylebook-figures.csv", figures_csv(&batches.values().collect::<Vec<_>>())))
}

async fn readings(State(app): State<App>) -> Result<Response, AppError> {
    let batches = app.store.batch_ids().await?;
    let (send, receive) = mpsc::channel(2);
    tokio::spawn(async move {
        // Whoever asked sees that a file that breaks off is none.
        if let Err(why) = send_readings(&app.store, &batches, &send).await {
            tracing::error!("the readings were sent in part: {why}");
            let _ = send.send(Err(io::Error::other(why))).await;
        }
    });
    let body = Body::from_stream(ReceiverStream::new(receive));
    Ok(file("gylebook-readings.csv", CSV_TYPE, body))
}

/// Sends the readings of these batches as they are read: ten years of them are larger than
/// all else the server holds.
async fn send_readings(store: &Store, batches: &[i64], send: &Sender<io::Result<Bytes>>) -> Result<(), StoreError> {
    let mut table = BookReadings::default();
    for batch in batches {
        if let Some(day) = store.day(*batch).await? {
            table.add(&day);
        }
        if table.bytes() >= PIECE_BYTES && send.send(Ok(table.take().into())).await.is_err() {
            return Ok(());
        }
    }
    let _ = send.send(Ok(table.take().into())).await;
    Ok(())
}

async fn batch(State(app): State<App>, Path(id): Path<i64>) -> Result<Response, AppError> {
    let carried = app.store.carry_out(id).await?.ok_or(AppError::NotFound)?;
    let text = serde_json::to_string_pretty(&carried).map_err(AppError::internal)? + "\n";
    Ok(file(&format!("batch-{id}.json"), "application/json", text))
}

async fn batch_readings(State(app): State<App>, Path(id): Path<i64>) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    Ok(csv_file(&format!("batch-{id}-readings.csv"), readings_csv(&day)))
}

/// A file, piece by piece, as fast as it is taken.
fn pieces(mut file: File) -> ReceiverStream<io::Result<Bytes>> {
    let (send, receive) = mpsc::channel(2);
    tokio::task::spawn_blocking(move || {
        loop {
            let mut piece = vec![0; PIECE_BYTES];
            let read = file.read(&mut piece).map(|bytes| {
                piece.truncate(bytes);
                Bytes::from(piece)
            });
            let is_last = !read.as_ref().is_ok_and(|piece| !piece.is_empty());
            // Whoever asked may have gone; the end itself needs no sending.
            if read.as_ref().is_ok_and(Bytes::is_empty) || send.blocking_send(read).is_err() || is_last {
                return;
            }
        }
    });
    ReceiverStream::new(receive)
}

/// Whoever asked can make room on the disk, or mend the book, and has to be told which.
fn no_copy(why: BackupError) -> AppError {
    tracing::warn!("no copy to send: {why}");
    AppError::NoCopy(why.to_string())
}

/// How many days ago, in words.
fn age(days: i64) -> String {
    match days {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        2.. => format!("{days}\u{a0}days ago"),
        // The clock stood ahead on that day, or stands back today.
        ..0 => "dated after today".to_owned(),
    }
}

/// A file's size in the unit it is best told in.
fn size(bytes: u64) -> String {
    let bytes = bytes as f64;
    match bytes {
        ..999_500.0 => format!("{:.0}\u{a0}kB", (bytes / 1e3).ceil()),
        ..9_950_000.0 => format!("{:.1}\u{a0}MB", bytes / 1e6),
        _ => format!("{:.0}\u{a0}MB", bytes / 1e6),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_and_ages_are_told_in_words() {
        assert_eq!(
            [0, 700, 512_000, 999_600, 4_321_000, 87_000_000].map(size),
            ["0\u{a0}kB", "1\u{a0}kB", "512\u{a0}kB", "1.0\u{a0}MB", "4.3\u{a0}MB", "87\u{a0}MB"]
        );
        assert_eq!([0, 1, 6, -3].map(age), ["today", "yesterday", "6\u{a0}days ago", "dated after today"]);
    }
}
