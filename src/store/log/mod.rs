//! Reading the log. Writing it is in [`append`](self::append).

mod append;

use std::sync::Arc;

use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};
use sqlx::{SqliteConnection, SqliteExecutor};
use uuid::Uuid;

pub(super) use append::Append;
pub use append::Receipt;

use super::{Result, Store, batches, from_json, from_ms};
use crate::brewday::choices::Place;
use crate::brewday::{Body, BrewDay, Entry, LoggedEntry, Typed};

/// An entry and the log it is in.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The batch; none for the house's own log.
    pub batch: Option<i64>,
    /// The entry.
    pub logged: LoggedEntry,
}

/// What an entry's document holds: all but its id and its time, which have columns.
#[derive(Serialize, Deserialize)]
struct Document {
    #[serde(flatten)]
    body: Body,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    #[serde(default, skip_serializing_if = "Typed::is_empty")]
    typed: Typed,
}

/// The document of a thermometer reading, all but the few that are told with a
/// remark or as typed. A day has thousands of them and some dozens of everything
/// else, and a document that may be of any kind takes six times as long to read.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingDocument {
    #[serde(rename = "kind")]
    _kind: IgnoredAny,
    place: Place,
    temperature_c: f64,
}

/// What such a document begins with.
const READING: &str = r#"{"kind":"temperature","#;

pub(super) struct Row {
    pub(super) seq: i64,
    pub(super) entry_id: Uuid,
    pub(super) batch_id: Option<i64>,
    pub(super) at_ms: i64,
    pub(super) received_ms: i64,
    pub(super) device: Option<String>,
    pub(super) body: String,
}

impl Store {
    /// A batch's entries in the order they were received, those after `after` only.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn entries(&self, batch: i64, after: i64) -> Result<Vec<LoggedEntry>> {
        read(&self.0.readers, batch, after).await
    }

    /// One entry, wherever it is.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn find_entry(&self, id: Uuid) -> Result<Option<Found>> {
        let row = sqlx::query_as!(
            Row,
            r#"
            select
                seq,
                entry_id as "entry_id: Uuid",
                batch_id,
                at_ms,
                received_ms,
                device,
                body
            from entry
            where entry_id = ?
            "#,
            id,
        )
        .fetch_optional(&self.0.readers)
        .await?;
        row.map(|row| Ok(Found { batch: row.batch_id, logged: row.logged()? })).transpose()
    }

    /// A batch with its log read through.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn day(&self, batch: i64) -> Result<Option<Arc<BrewDay>>> {
        let as_of = match self.0.days.get(batch) {
            Ok(day) => return Ok(Some(day)),
            Err(as_of) => as_of,
        };
        // One snapshot for the batch and its log.
        let mut snapshot = self.0.readers.begin().await?;
        let day = fold(&mut snapshot, batch).await?.map(Arc::new);
        if let Some(day) = &day {
            self.0.days.keep(day, as_of);
        }
        Ok(day)
    }
}

/// Reads a batch and its log within one transaction, and folds them.
pub(super) async fn fold(connection: &mut SqliteConnection, batch: i64) -> Result<Option<BrewDay>> {
    let Some(record) = batches::read(&mut *connection, batch).await? else { return Ok(None) };
    Ok(Some(BrewDay::fold(record, read(connection, batch, 0).await?)))
}

async fn read(from: impl SqliteExecutor<'_>, batch: i64, after: i64) -> Result<Vec<LoggedEntry>> {
    let rows = sqlx::query_as!(
        Row,
        r#"
        select
            seq,
            entry_id as "entry_id: Uuid",
            batch_id,
            at_ms,
            received_ms,
            device,
            body
        from entry
        where batch_id = ? and seq > ?
        order by seq
        "#,
        batch,
        after,
    )
    .fetch_all(from)
    .await?;
    rows.into_iter().map(Row::logged).collect()
}

/// The volumes of a batch, the gravities that bring them to 20 °C, and what was
/// amended: all that a question about its water needs.
pub(super) async fn read_volumes(from: impl SqliteExecutor<'_>, batch: i64) -> Result<Vec<LoggedEntry>> {
    let rows = sqlx::query_as!(
        Row,
        r#"
        select
            seq,
            entry_id as "entry_id: Uuid",
            batch_id,
            at_ms,
            received_ms,
            device,
            body
        from entry
        where batch_id = ? and kind in ('volume', 'gravity', 'amendment')
        order by seq
        "#,
        batch,
    )
    .fetch_all(from)
    .await?;
    rows.into_iter().map(Row::logged).collect()
}

impl Document {
    fn read(text: &str) -> Result<Self> {
        let reading = text.starts_with(READING).then(|| serde_json::from_str(text).ok()).flatten();
        let Some(ReadingDocument { place, temperature_c, .. }) = reading else { return from_json("an entry", text) };
        Ok(Self { body: Body::Temperature { place, temperature_c }, note: None, typed: Typed::new() })
    }
}

impl Row {
    pub(super) fn logged(self) -> Result<LoggedEntry> {
        let Document { body, note, typed } = Document::read(&self.body)?;
        Ok(LoggedEntry {
            seq: self.seq,
            received_at: from_ms(self.received_ms)?,
            device: self.device,
            entry: Entry { id: self.entry_id, at: from_ms(self.at_ms)?, body, note, typed },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_is_read_the_short_way_as_it_is_the_long_way() {
        for (text, is_short) in [
            (r#"{"kind":"temperature","place":"wort","temperature_c":41.5}"#, true),
            (r#"{"kind":"temperature","temperature_c":-0.1,"place":"strike_water"}"#, true),
            (r#"{"kind":"temperature","place":"wort","temperature_c":41.5,"note":"by the wall"}"#, false),
            (r#"{"kind":"temperature","place":"wort","temperature_c":41.5,"typed":{"temperature_c":"106.7"}}"#, false),
            (r#"{"place":"wort","temperature_c":41.5,"kind":"temperature"}"#, false),
            (r#"{"kind":"note","note":"{\"kind\":\"temperature\","}"#, false),
        ] {
            let long: Document = serde_json::from_str(text).unwrap();
            let read = Document::read(text).unwrap();
            assert_eq!((read.body, read.note, read.typed), (long.body, long.note, long.typed), "{text}");
            let short = text.starts_with(READING) && serde_json::from_str::<ReadingDocument>(text).is_ok();
            assert_eq!(short, is_short, "{text}");
        }
        for unsound in [r#"{"kind":"temperature","place":"moon","temperature_c":1}"#, r#"{"kind":"temperature","#] {
            assert!(Document::read(unsound).is_err(), "{unsound}");
        }
    }

    #[test]
    fn a_reading_is_written_so_that_it_is_read_the_short_way() {
        let body = Body::Temperature { place: Place::Bath, temperature_c: 12.25 };
        let text = crate::store::to_json(&Document { body, note: None, typed: Typed::new() }).unwrap();
        assert!(text.starts_with(READING) && serde_json::from_str::<ReadingDocument>(&text).is_ok(), "{text}");
    }
}
