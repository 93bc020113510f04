//! Opening a data file: what it has to be before a single byte of it is changed.
//!
//! The order matters. The lock comes first; then the file is looked at without
//! changing it, since switching somebody else's database to WAL would already
//! be a change; only then is it opened for use and brought up to this version.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::Duration;

use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection};
use tokio::sync::{broadcast, watch};

use super::backup::{clear_away, part_of, take_name};
use super::daily;
use super::days::Days;
use super::lock::Lock;
use super::rest::WAL_MOST_BYTES;
use super::{Inner, Store, StoreError};

/// The schema, oldest first.
pub(super) static MIGRATIONS: Migrator = sqlx::migrate!();

/// The four bytes "Gyle" that mark a SQLite file as ours.
pub(super) const APPLICATION_ID: i64 = 0x4779_6c65;
/// Writes [`APPLICATION_ID`].
pub(super) const SET_APPLICATION_ID: &str = "pragma application_id = 0x47796c65";

/// Earlier versions can lose a commit around a WAL reset.
const OLDEST_SQLITE: (u32, u32, u32) = (3, 51, 3);
/// How long another program may hold the file before that is an error.
pub(super) const PATIENCE: Duration = Duration::from_secs(5);
/// Connections that read; the writer is one by design.
const READERS: u32 = 4;
/// Changes a live page may fall behind before it has to read the log anew.
const CHANGES_KEPT: usize = 256;

/// Why a data file can't be used. The file is as it was.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the sentence on each is its documentation")]
pub enum OpenError {
    #[error("{0} is being served by another Gylebook. Stop that one first, or name another file with --data.")]
    InUse(PathBuf),
    #[error("There is no data file at {0}. Name the right one with --data, or run `gylebook serve` to begin one.")]
    Missing(PathBuf),
    #[error("{0} is a folder. Name a file in it with --data.")]
    Folder(PathBuf),
    #[error("{path} can't be written ({why}). Make it and its folder writable for you, or name another with --data.")]
    NotWritable { path: PathBuf, why: String },
    #[error("{0} is not a data file of Gylebook, and was left as it is. Name another with --data.")]
    NotADatabase(PathBuf),
    #[error("{0} belongs to another program, and was left as it is. Name another with --data.")]
    Foreign(PathBuf),
    #[error("{0} was written by a newer Gylebook, and was left as it is. Run that version, or a newer one.")]
    Newer(PathBuf),
    #[error("{0} was written by an older Gylebook. Run `gylebook serve` once to bring it up to date.")]
    Older(PathBuf),
    #[error("{path} could not be brought up to date and was left as it was ({why}). Keep a copy and report this.")]
    Migration { path: PathBuf, why: String },
    #[error("This Gylebook was built with SQLite {0}, which can lose data. Build it with 3.51.3 or newer.")]
    OldSqlite(String),
    #[error("{path} can't be used ({why}). If it is damaged, restore a backup with `gylebook restore`.")]
    Broken { path: PathBuf, why: String },
}

/// What was found at a path.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum FileKind {
    /// Nothing, or a file with nothing in it.
    Nothing,
    /// A book, at this version of the schema.
    Book(i64),
}

impl Store {
    /// Opens the data file for this process alone, making it and its folder
    /// where there is none, and brings an older one up to date.
    ///
    /// # Errors
    /// Why the file can't be used, in a sentence that says what to do.
    pub async fn open(path: impl AsRef<Path>) -> Result<Self, OpenError> {
        let path = whole(path.as_ref())?;
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(|why| not_writable(folder, &why))?;
        }
        if path.is_dir() {
            return Err(OpenError::Folder(path));
        }
        let lock = Lock::take(&path).map_err(|why| not_writable(&path, &why))?;
        let lock = lock.ok_or_else(|| OpenError::InUse(path.clone()))?;
        // SQLite opens a file it may only read without a word. No connection of
        // ours has the file open yet, so this handle costs none its locks.
        match File::options().write(true).open(&path) {
            Err(why) if why.kind() != io::ErrorKind::NotFound => return Err(not_writable(&path, &why)),
            _ => {}
        }
        let found = look_at(&path).await?;
        if matches!(found, FileKind::Book(version) if version > newest()) {
            return Err(OpenError::Newer(path));
        }
        daily::sweep(&path);
        let store = Self::connect(path, Some(lock), true).await?;
        let usable = store.prepare(found).await;
        match usable {
            Ok(()) => store.fold_at_rest(),
            Err(_) => store.close().await,
        }
        usable.map(|()| store)
    }

    /// Opens the data file to look at it only, beside a server that may be running.
    ///
    /// # Errors
    /// Why the file can't be used; an older one has to be brought up to date first.
    pub async fn open_to_read(path: impl AsRef<Path>) -> Result<Self, OpenError> {
        let path = whole(path.as_ref())?;
        match look_at(&path).await? {
            FileKind::Nothing => Err(OpenError::Missing(path)),
            FileKind::Book(version) if version > newest() => Err(OpenError::Newer(path)),
            FileKind::Book(version) if version < newest() => Err(OpenError::Older(path)),
            FileKind::Book(_) => Self::connect(path, None, false).await,
        }
    }

    /// Opens the data file beside the server that is running on it, to write to
    /// what both share: who may come in. `None` where no server is running.
    ///
    /// # Errors
    /// Why the file can't be used.
    pub async fn open_beside(path: impl AsRef<Path>) -> Result<Option<Self>, OpenError> {
        let path = whole(path.as_ref())?;
        match look_at(&path).await? {
            FileKind::Nothing => return Err(OpenError::Missing(path)),
            FileKind::Book(version) if version > newest() => return Err(OpenError::Newer(path)),
            FileKind::Book(version) if version < newest() => return Err(OpenError::Older(path)),
            FileKind::Book(_) => {}
        }
        if !Lock::is_held(&path) {
            return Ok(None);
        }
        let store = Self::connect(path, None, true).await?;
        let usable = store.take_key().await.map_err(|error| not_ready(store.path(), error));
        if usable.is_err() {
            store.close().await;
        }
        usable.map(|()| Some(store))
    }

    /// Puts a book in the place of an empty one once it is written whole: `write`
    /// gets it under another name, and only what it has finished takes the name.
    ///
    /// The inner result is what `write` gave; where that is an error, nothing is left of the book.
    ///
    /// # Errors
    /// There is no place for it, or what is there is in use.
    pub async fn begin_anew<E>(
        path: &Path,
        write: impl AsyncFnOnce(Self) -> Result<(), E>,
    ) -> Result<Result<(), E>, OpenError> {
        let path = whole(path)?;
        let lock = Lock::take(&path).map_err(|why| not_writable(&path, &why))?;
        let _lock = lock.ok_or_else(|| OpenError::InUse(path.clone()))?;
        let part = part_of(&path);
        let book = Self::open(&part).await?;
        let written = write(book.clone()).await;
        book.close().await;
        let named = match written {
            Ok(()) => take_name(&part, &path).map_err(|why| not_writable(&path, &why)).map(Ok),
            Err(why) => Ok(Err(why)),
        };
        if !matches!(named, Ok(Ok(()))) {
            clear_away(&part);
        }
        named
    }

    /// Closes the book: what is being written is finished, the write-ahead log
    /// is folded into the file, and nothing is left lying beside it.
    pub async fn close(&self) {
        self.0.readers.close().await;
        // The last connection to close is the writer: it takes the -wal file along.
        self.0.writer.close().await;
        drop(self.0.lock.lock().map(|mut lock| lock.take()));
    }

    async fn connect(path: PathBuf, lock: Option<Lock>, write: bool) -> Result<Self, OpenError> {
        let failed = |error| broken(&path, error);
        let options = options(&path).create_if_missing(write);
        let query_only = options.clone().pragma("query_only", "on");
        let writing = if write {
            let durable = options.journal_mode(SqliteJournalMode::Wal).synchronous(SqliteSynchronous::Full);
            durable.pragma("journal_size_limit", WAL_MOST_BYTES)
        } else {
            query_only.clone()
        };
        // The writer connects first: it makes the file.
        let writer = pool(1).connect_with(writing).await.map_err(failed)?;
        check_sqlite(&writer, &path).await?;
        let readers = pool(READERS).connect_lazy_with(query_only);
        let inner = Inner {
            path,
            writer,
            readers,
            days: Days::default(),
            settings: Default::default(),
            writes: Default::default(),
            habits: Default::default(),
            changes: broadcast::Sender::new(CHANGES_KEPT),
            ended: watch::Sender::new(()),
            key: OnceLock::new(),
            lock: Mutex::new(lock),
            last_daily: Mutex::default(),
            sending: tokio::sync::Mutex::default(),
            files_under_way: Mutex::default(),
        };
        Ok(Self(Arc::new(inner), None))
    }

    /// Brings the file up to this version, and sees that it can be written.
    async fn prepare(&self, found: FileKind) -> Result<(), OpenError> {
        if found != FileKind::Book(newest()) {
            self.migrate().await?;
        }
        let ready = async {
            self.take_key().await?;
            self.refresh_summaries().await?;
            self.ready().await
        };
        ready.await.map_err(|error| not_ready(self.path(), error))
    }

    /// Brings the schema up to this version: all steps or none.
    async fn migrate(&self) -> Result<(), OpenError> {
        let path = self.path();
        let mut change = self.begin().await.map_err(|error| not_ready(path, error))?;
        let failed = |why: String| OpenError::Migration { path: path.to_owned(), why };
        sqlx::query(SET_APPLICATION_ID).execute(&mut *change).await.map_err(|why| failed(why.to_string()))?;
        MIGRATIONS.run(&mut *change).await.map_err(|why| failed(why.to_string()))?;
        change.commit().await.map_err(|why| failed(why.to_string()))
    }
}

/// The newest version of the schema this program knows.
pub(super) fn newest() -> i64 {
    MIGRATIONS.iter().map(|step| step.version).max().unwrap_or(0)
}

/// Finds out what a file is without changing it.
pub(super) async fn look_at(path: &Path) -> Result<FileKind, OpenError> {
    if path.is_dir() {
        return Err(OpenError::Folder(path.to_owned()));
    }
    if !path.try_exists().map_err(|why| not_writable(path, &why))? {
        return Ok(FileKind::Nothing);
    }
    let failed = |error| broken(path, error);
    let mut connection = options(path).connect().await.map_err(failed)?;
    let mark: i64 = sqlx::query_scalar("pragma application_id").fetch_one(&mut connection).await.map_err(failed)?;
    let tables: i64 =
        sqlx::query_scalar("select count(*) from sqlite_schema").fetch_one(&mut connection).await.map_err(failed)?;
    let kind = match (mark, tables) {
        (_, 0) => Ok(FileKind::Nothing),
        (APPLICATION_ID, _) => sqlx::query_scalar("select coalesce(max(version), 0) from _sqlx_migrations")
            .fetch_one(&mut connection)
            .await
            .map(FileKind::Book)
            .map_err(failed),
        _ => Err(OpenError::Foreign(path.to_owned())),
    };
    let _ = connection.close().await;
    kind
}

/// What every connection is opened with.
pub(super) fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .foreign_keys(true)
        // Else a `replace` would delete from the log past its trigger.
        .pragma("recursive_triggers", "on")
        .busy_timeout(PATIENCE)
        .log_slow_statements(log::LevelFilter::Warn, Duration::from_millis(250))
}

/// SQLite's primary result code, where SQLite refused.
pub(super) fn sqlite_code(error: &sqlx::Error) -> Option<u32> {
    error.as_database_error()?.code()?.parse::<u32>().ok().map(|code| code & 0xff)
}

fn pool(connections: u32) -> SqlitePoolOptions {
    // No reaping: a connection costs nothing, and opening one anew costs a page its speed.
    let pool = SqlitePoolOptions::new().max_connections(connections).idle_timeout(None).max_lifetime(None);
    // Where the disk fails, SQLite ends the transaction by itself. sqlx goes on counting it and would begin
    // no other on that connection, so it is closed and the next one is opened anew.
    pool.before_acquire(|connection, _| {
        let is_settled = !connection.is_in_transaction();
        Box::pin(async move { Ok(is_settled) })
    })
}

async fn check_sqlite(pool: &SqlitePool, path: &Path) -> Result<(), OpenError> {
    let version: String =
        sqlx::query_scalar("select sqlite_version()").fetch_one(pool).await.map_err(|error| broken(path, error))?;
    let mut parts = version.split('.').map(|part| part.parse().unwrap_or(0));
    let mut next = || parts.next().unwrap_or(0);
    let found = (next(), next(), next());
    if found < OLDEST_SQLITE { Err(OpenError::OldSqlite(version)) } else { Ok(()) }
}

fn whole(path: &Path) -> Result<PathBuf, OpenError> {
    std::path::absolute(path).map_err(|why| not_writable(path, &why))
}

fn not_ready(path: &Path, error: StoreError) -> OpenError {
    match error {
        StoreError::Busy(error) | StoreError::ReadOnly(error) => broken(path, error),
        other => OpenError::Broken { path: path.to_owned(), why: other.to_string() },
    }
}

fn not_writable(path: &Path, why: &impl ToString) -> OpenError {
    OpenError::NotWritable { path: path.to_owned(), why: why.to_string() }
}

fn broken(path: &Path, error: sqlx::Error) -> OpenError {
    let path = path.to_owned();
    match sqlite_code(&error) {
        Some(5 | 6) => OpenError::InUse(path),
        Some(8) => OpenError::NotWritable { path, why: "it can only be read".into() },
        Some(14) => OpenError::NotWritable { path, why: io::ErrorKind::PermissionDenied.to_string() },
        Some(26) => OpenError::NotADatabase(path),
        _ => OpenError::Broken { path, why: error.to_string() },
    }
}

#[cfg(test)]
mod kills;
#[cfg(test)]
mod tests;
