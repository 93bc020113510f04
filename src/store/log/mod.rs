//! Reading the log. Writing it is in [`append`](self::append).

mod append;

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use sqlx::{SqliteConnection, SqliteExecutor};
use uuid::Uuid;

pub(super) use append::Append;
pub use append::Receipt;

use super::{Result, Store, batches, from_json, from_ms};
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

impl Row {
    pub(super) fn logged(self) -> Result<LoggedEntry> {
        let Document { body, note, typed } = from_json("an entry", &self.body)?;
        Ok(LoggedEntry {
            seq: self.seq,
            received_at: from_ms(self.received_ms)?,
            device: self.device,
            entry: Entry { id: self.entry_id, at: from_ms(self.at_ms)?, body, note, typed },
        })
    }
}
