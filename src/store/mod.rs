//! The book on disk: one SQLite file, and the only room with SQL in it.
//!
//! Reading order: [`open`] (what a data file has to be before it is
//! used), [`log`] (the append, on which everything rests), then one
//! file per family of tables. Each family adds its methods to [`Store`].
//!
//! Three promises hold everywhere:
//!
//! - What a method answers with `Ok` is on disk: WAL with `synchronous=FULL`.
//! - One writer. It takes its lock when it begins (`begin immediate`), so a
//!   transaction that has read something may rely on it until it commits.
//! - Times are UTC milliseconds bound from here, and never made by SQL.

mod backup;
mod batches;
mod brewings;
mod care;
mod carry;
mod carry_book;
mod checklists;
mod chill_plans;
mod chillers;
mod coils;
mod compared;
mod daily;
mod days;
mod devices;
mod door;
mod equipment;
mod habits;
mod kettles;
mod ledger;
mod lock;
mod log;
mod log_files;
mod once;
mod open;
mod recipes;
mod rest;
mod seal;
mod settings;
mod summaries;
#[cfg(test)]
mod testing;
mod writing;

use std::path::Path;
use std::sync::{Arc, OnceLock};

use serde::{Serialize, de::DeserializeOwned};
use sqlx::SqlitePool;
use time::OffsetDateTime;
use tokio::sync::{broadcast, watch};

pub use backup::{BackupError, back_up, restore};
pub use brewings::Brewing;
pub use care::{CareLine, CareWritten};
pub use checklists::{LISTS_KEPT_FOR, ListsBefore};
pub use chillers::ChillerBatches;
pub use coils::{CoilRun, CoilTells};
pub use compared::Compared;
pub use daily::{DailyCopy, DailyOutcome, DailyTry, keep_daily_copies};
pub use devices::{DEVICE_NAME_CHARS, Device, DeviceKind, IDLE_FOR, LET_IN_FOR};
pub use door::{Invitation, NotLetIn, OPEN_FOR, OpenDoor, TRIES, Way};
pub use equipment::{EquipmentUse, StoredEquipment};
pub use ledger::{Ledger, LedgerColumn, LedgerQuery, LedgerRow};
pub use log::{Found, Receipt};
pub use log_files::LogFile;
pub use once::FormMark;
pub use open::OpenError;
pub use recipes::RecipeRecord;
pub use summaries::Checked;
pub use writing::AsOf;

/// The book, and perhaps the form that what is made next is made by. Cloning it
/// is cheap; all clones are the same book.
#[derive(Clone, Debug)]
pub struct Store(Arc<Inner>, Option<FormMark>);

#[derive(Debug)]
struct Inner {
    path: std::path::PathBuf,
    writer: SqlitePool,
    readers: SqlitePool,
    days: days::Days,
    settings: settings::Kept,
    writes: writing::Writes,
    habits: habits::Known,
    changes: broadcast::Sender<Change>,
    ended: watch::Sender<()>,
    key: OnceLock<seal::Key>,
    lock: std::sync::Mutex<Option<lock::Lock>>,
    last_daily: std::sync::Mutex<Option<DailyTry>>,
    /// One copy to send at a time, so that a disk holds no more than one more.
    sending: tokio::sync::Mutex<()>,
    files_under_way: std::sync::Mutex<std::collections::HashSet<uuid::Uuid>>,
}

/// Told after the log has grown, so that open pages can follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// The batch; none for the house's own log.
    pub batch: Option<i64>,
    /// The last entry's place in the book.
    pub seq: i64,
}

/// Why the store could not do what it was asked. Nothing was saved.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another program holds the file.
    #[error("another program is writing to the data file")]
    Busy(#[source] sqlx::Error),
    /// No room is left.
    #[error("the disk that holds the data file is full")]
    Full(#[source] sqlx::Error),
    /// The file can be read only.
    #[error("the data file can't be written")]
    ReadOnly(#[source] sqlx::Error),
    /// The disk took nothing, or gave nothing back.
    #[error("the disk that holds the data file failed: {0}")]
    Disk(#[source] sqlx::Error),
    /// SQLite gave up.
    #[error("the data file can't be used: {0}")]
    Sql(#[source] sqlx::Error),
    /// The system has no random numbers to give.
    #[error("the system gives no random numbers: {0}")]
    NoRandom(#[source] getrandom::Error),
    /// A record in the file is not what this version writes.
    #[error("{what} in the data file can't be read: {why}")]
    Unreadable {
        /// Which record.
        what: &'static str,
        /// What is wrong with it.
        why: String,
    },
}

/// What the store answers with.
pub type Result<T> = std::result::Result<T, StoreError>;

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match open::sqlite_code(&error) {
            Some(5 | 6) => Self::Busy(error),
            Some(8) => Self::ReadOnly(error),
            // An I/O error, and a file of the book that could not be opened.
            Some(10 | 14) => Self::Disk(error),
            Some(13) => Self::Full(error),
            _ => Self::Sql(error),
        }
    }
}

impl Store {
    /// Where the data file is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0.path
    }

    /// Follows the log: one [`Change`] for each append. A listener that falls
    /// behind is told so and reads the log again.
    #[must_use]
    pub fn changes(&self) -> broadcast::Receiver<Change> {
        self.0.changes.subscribe()
    }

    /// Whether the store can be written: commits a value that is already there.
    ///
    /// # Errors
    /// What keeps it from being written.
    pub async fn ready(&self) -> Result<()> {
        let mut change = self.begin().await?;
        sqlx::query(open::SET_APPLICATION_ID).execute(&mut *change).await?;
        change.commit().await
    }
}

/// Runs a write to its end on a task of its own, so that what is kept in memory
/// follows the file even if whoever asked for the write has gone.
async fn seen_through<T: Send + 'static>(write: impl Future<Output = Result<T>> + Send + 'static) -> Result<T> {
    match tokio::spawn(write).await {
        Ok(done) => done,
        Err(stopped) => match stopped.try_into_panic() {
            Ok(panic) => std::panic::resume_unwind(panic),
            Err(stopped) => Err(StoreError::Unreadable { what: "a write", why: stopped.to_string() }),
        },
    }
}

/// A time as the tables keep it.
fn to_ms(at: OffsetDateTime) -> i64 {
    // Any OffsetDateTime is within ± 10^16 ms, far inside an i64.
    i64::try_from(at.unix_timestamp_nanos().div_euclid(1_000_000)).unwrap_or(i64::MAX)
}

/// A time from the tables.
fn from_ms(ms: i64) -> Result<OffsetDateTime> {
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(ms) * 1_000_000)
        .map_err(|why| StoreError::Unreadable { what: "a time", why: why.to_string() })
}

/// A record as the tables keep it.
fn to_json(record: &impl Serialize) -> Result<String> {
    serde_json::to_string(record)
        .map_err(|why| StoreError::Unreadable { what: "a record on its way", why: why.to_string() })
}

/// A record from the tables.
fn from_json<T: DeserializeOwned>(what: &'static str, body: &str) -> Result<T> {
    serde_json::from_str(body).map_err(|why| StoreError::Unreadable { what, why: why.to_string() })
}

/// Whether a name is found by what was typed: any part of it, in either case.
/// Not left to SQL, which knows the case of plain Latin letters only.
fn is_found(name: &str, search: &str) -> bool {
    name.to_lowercase().contains(&search.trim().to_lowercase())
}
