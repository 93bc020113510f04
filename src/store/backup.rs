//! Copies of the book that can be trusted, and the way back from one.
//!
//! A copy is written beside its final place, put on disk, opened again and
//! read through, and only then takes its name. What had that name before is
//! never harmed on the way.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use sqlx::sqlite::{SqliteConnection, SqliteJournalMode};
use sqlx::{ConnectOptions, Connection};
use time::OffsetDateTime;
use time::macros::format_description;

use super::lock::{Lock, beside};
use super::open::{FileKind, OpenError, look_at, newest, options, sqlite_code};
use super::{Store, StoreError};

/// What stands between a file's name and the number of a copy of it under way.
pub(super) const PART: &str = ".part-";

/// Why no copy was made, or none put back. Every file is as it was.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The file to be copied, or the one to be replaced, can't be used.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// A backup over the data file itself.
    #[error("{0} is the data file itself. Name another file for the backup.")]
    OntoItself(PathBuf),
    /// What was given as a backup is none.
    #[error("{path} {why}, so there is nothing to put back. Nothing was replaced; name another backup.")]
    NoBackup {
        /// The file that was given.
        path: PathBuf,
        /// What it is instead.
        why: &'static str,
    },
    /// A backup that only a newer version can read.
    #[error("{0} was written by a newer Gylebook. Nothing was replaced; restore it with that version, or a newer one.")]
    NewerBackup(PathBuf),
    /// Something else has the backup's name.
    #[error("{0} is there already and is no backup of Gylebook. Name another file.")]
    InTheWay(PathBuf),
    /// The copy did not stand the check.
    #[error("{path} did not pass its check ({why}). Nothing was replaced; use another backup.")]
    Unsound {
        /// The file that was copied.
        path: PathBuf,
        /// What the check found.
        why: String,
    },
    /// The disk refused.
    #[error("{path} could not be written ({why}). Nothing was replaced; make room or name another place.")]
    NotWritten {
        /// The file to be written.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
}

impl Store {
    /// Writes a checked copy of the book to `to`, while it is in use.
    ///
    /// # Errors
    /// Why there is no copy; a backup that was there before is still there.
    pub async fn back_up(&self, to: &Path) -> Result<(), BackupError> {
        back_up(self.path(), to).await
    }

    /// Looks the whole file through: SQLite's own check and every reference.
    /// Gives a sentence for each thing found.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn check_file(&self) -> Result<Vec<String>, StoreError> {
        let mut reader = self.0.readers.acquire().await?;
        Ok(findings(&mut reader).await?)
    }
}

/// Writes a checked copy of the book at `data` to `to`, whether or not a server has it open.
///
/// # Errors
/// Why there is no copy; a backup that was there before is still there.
pub async fn back_up(data: &Path, to: &Path) -> Result<(), BackupError> {
    if look_at(data).await? == FileKind::Nothing {
        return Err(OpenError::Missing(data.to_owned()).into());
    }
    if let (Ok(data), Ok(to)) = (data.canonicalize(), to.canonicalize())
        && data == to
    {
        return Err(BackupError::OntoItself(to));
    }
    let in_the_way = || BackupError::InTheWay(to.to_owned());
    if to.exists() && !matches!(look_at(to).await.map_err(|_| in_the_way())?, FileKind::Book(_)) {
        return Err(in_the_way());
    }
    let part = part_of(to);
    let copied = copy(data, &part).await;
    let done = copied.and_then(|()| take_name(&part, to));
    if done.is_err() {
        clear_away(&part);
    }
    done
}

/// Puts a backup in the place of the data file, which must not be in use. The
/// file that was there is kept beside it under a name with the time in it, and
/// that name is given back.
///
/// # Errors
/// Why nothing was put back; the data file is as it was.
pub async fn restore(backup: &Path, data: &Path, now: OffsetDateTime) -> Result<Option<PathBuf>, BackupError> {
    can_be_put_back(backup).await?;
    let not_written = |why: io::Error| BackupError::NotWritten { path: data.to_owned(), why: why.to_string() };
    if let Some(folder) = data.parent() {
        fs::create_dir_all(folder).map_err(not_written)?;
    }
    let lock = Lock::take(data).map_err(not_written)?;
    let _lock = lock.ok_or_else(|| OpenError::InUse(data.to_owned()))?;
    let part = part_of(data);
    let done = match copy(backup, &part).await {
        Ok(()) => swap(&part, data, now).await,
        Err(why) => Err(why),
    };
    if done.is_err() {
        clear_away(&part);
    }
    done
}

/// Whether a file is a backup this version can put back, or the sentence that says what it is.
async fn can_be_put_back(backup: &Path) -> Result<(), BackupError> {
    let none = |why| BackupError::NoBackup { path: backup.to_owned(), why };
    match look_at(backup).await {
        Ok(FileKind::Nothing) if backup.exists() => Err(none("is empty")),
        Ok(FileKind::Nothing) => Err(none("is not there")),
        Ok(FileKind::Book(version)) if version > newest() => Err(BackupError::NewerBackup(backup.to_owned())),
        Ok(FileKind::Book(_)) => Ok(()),
        Err(OpenError::Folder(_)) => Err(none("is a folder")),
        Err(OpenError::NotADatabase(_)) => Err(none("is not a data file of Gylebook")),
        Err(OpenError::Foreign(_)) => Err(none("belongs to another program")),
        Err(OpenError::Broken { path, why }) => Err(BackupError::Unsound { path, why }),
        Err(other) => Err(other.into()),
    }
}

/// Sets the old file aside and gives the checked copy its name.
async fn swap(part: &Path, data: &Path, now: OffsetDateTime) -> Result<Option<PathBuf>, BackupError> {
    let not_written = |why: io::Error| BackupError::NotWritten { path: data.to_owned(), why: why.to_string() };
    if !data.try_exists().map_err(not_written)? {
        take_name(part, data)?;
        return Ok(None);
    }
    fold_in(data).await?;
    let kept = aside(data, now);
    // Under two names for a moment, so that there is a data file at every moment.
    fs::hard_link(data, &kept).or_else(|_| fs::copy(data, &kept).map(drop)).map_err(not_written)?;
    for ending in ["-wal", "-shm"] {
        let rest = beside(data, ending);
        if rest.exists() {
            fs::rename(&rest, beside(&kept, ending)).map_err(not_written)?;
        }
    }
    take_name(part, data)?;
    Ok(Some(kept))
}

/// Folds the write-ahead log into the file, which also finds out whether
/// anybody still has it open. A file too damaged for that is moved with its log.
async fn fold_in(data: &Path) -> Result<(), BackupError> {
    let folding = options(data).journal_mode(SqliteJournalMode::Delete).connect().await;
    match folding {
        Ok(connection) => {
            let _ = connection.close().await;
            Ok(())
        }
        Err(error) if matches!(sqlite_code(&error), Some(5 | 6)) => Err(OpenError::InUse(data.to_owned()).into()),
        Err(_) => Ok(()),
    }
}

/// Copies a database as it stands at one moment, puts it on disk and checks it.
pub(super) async fn copy(from: &Path, to: &Path) -> Result<(), BackupError> {
    let not_written = |why: String| BackupError::NotWritten { path: to.to_owned(), why };
    let unsound = |why: String| BackupError::Unsound { path: from.to_owned(), why };
    match fs::remove_file(to) {
        Err(why) if why.kind() != io::ErrorKind::NotFound => return Err(not_written(why.to_string())),
        _ => {}
    }
    let name = to.to_str().ok_or_else(|| not_written("its name is not plain text".into()))?;
    let mut source = options(from).connect().await.map_err(|why| unsound(why.to_string()))?;
    let copied = sqlx::query("vacuum into ?").bind(name).execute(&mut source).await;
    let _ = source.close().await;
    copied.map_err(|error| match sqlite_code(&error) {
        Some(11 | 26) => unsound(error.to_string()),
        _ => not_written(error.to_string()),
    })?;
    // SQLite does not promise to have put the copy on disk. A slow card takes its
    // time over that, and nobody else has to wait for it.
    let file = File::options().write(true).open(to).map_err(|why| not_written(why.to_string()))?;
    let synced = tokio::task::spawn_blocking(move || file.sync_all()).await;
    synced.map_err(io::Error::other).flatten().map_err(|why| not_written(why.to_string()))?;
    let mut copy = options(to).connect().await.map_err(|why| unsound(why.to_string()))?;
    let found = findings(&mut copy).await;
    let _ = copy.close().await;
    match found {
        Ok(found) if found.is_empty() => Ok(()),
        Ok(found) => Err(unsound(found.join("; "))),
        Err(why) => Err(unsound(why.to_string())),
    }
}

/// What SQLite finds wrong with a database.
async fn findings(connection: &mut SqliteConnection) -> Result<Vec<String>, sqlx::Error> {
    let mut found: Vec<String> = sqlx::query_scalar("pragma integrity_check").fetch_all(&mut *connection).await?;
    found.retain(|line| line != "ok");
    let dangling: Vec<(String, i64)> =
        sqlx::query_as(r#"select "table", count(*) from pragma_foreign_key_check group by "table""#)
            .fetch_all(connection)
            .await?;
    found.extend(dangling.iter().map(|(table, rows)| format!("{rows} rows of {table} refer to something missing")));
    Ok(found)
}

/// Takes away a copy that was not finished, and what SQLite may have left beside it.
pub(super) fn clear_away(part: &Path) {
    for ending in ["", "-journal", "-wal", "-shm"] {
        let _ = fs::remove_file(beside(part, ending));
    }
}

/// A name for a copy until it has stood its check; no other copy under way has it.
pub(super) fn part_of(file: &Path) -> PathBuf {
    beside(file, &format!("{PART}{}", uuid::Uuid::new_v4().simple()))
}

pub(super) fn take_name(part: &Path, name: &Path) -> Result<(), BackupError> {
    let not_written = |why: io::Error| BackupError::NotWritten { path: name.to_owned(), why: why.to_string() };
    fs::rename(part, name).map_err(not_written)?;
    sync_folder(name).map_err(not_written)
}

/// A renamed file keeps its name through a power cut only once its folder is on disk too.
pub(super) fn sync_folder(file: &Path) -> io::Result<()> {
    if cfg!(not(unix)) {
        return Ok(());
    }
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}

/// A free name beside the data file: `book.db` and the time, UTC.
fn aside(data: &Path, now: OffsetDateTime) -> PathBuf {
    let time = format_description!("[year][month][day]T[hour][minute][second]Z");
    let stamp = now.to_offset(time::UtcOffset::UTC).format(&time).unwrap_or_default();
    let first = beside(data, &format!(".until-{stamp}"));
    let more = (2..).map(|number| beside(data, &format!(".until-{stamp}-{number}")));
    std::iter::once(first.clone()).chain(more).find(|name| !name.exists()).unwrap_or(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::testing::{Book, NOON, book, recipe};

    async fn names(path: &Path) -> Vec<String> {
        let store = Store::open(path).await.unwrap();
        let names = store.recipes("", false).await.unwrap().into_iter().map(|record| record.recipe.name).collect();
        store.close().await;
        names
    }

    #[tokio::test]
    async fn a_backup_is_a_book_of_its_own_and_replaces_only_an_older_backup() {
        let Book { store, folder } = book().await;
        let backup = folder.path().join("copy.db");
        store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        store.back_up(&backup).await.unwrap();
        store.add_recipe(&recipe("Stout"), NOON).await.unwrap();
        assert_eq!(names(&backup).await, ["Pale"]);
        // While another process is writing.
        let writing = store.begin().await.unwrap();
        store.back_up(&backup).await.unwrap();
        drop(writing);
        assert_eq!(names(&backup).await, ["Pale", "Stout"]);
        let left = fs::read_dir(&folder).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap());
        assert!(left.into_iter().all(|name| !name.contains(PART)));

        let precious = folder.path().join("letter.txt");
        fs::write(&precious, "Dear all").unwrap();
        assert!(matches!(store.back_up(&precious).await, Err(BackupError::InTheWay(_))));
        assert_eq!(fs::read(&precious).unwrap(), b"Dear all");
        assert!(matches!(store.back_up(store.path()).await, Err(BackupError::OntoItself(_))));
        let nowhere = folder.path().join("no/such/folder/copy.db");
        assert!(matches!(store.back_up(&nowhere).await, Err(BackupError::NotWritten { .. })));
    }

    #[tokio::test]
    async fn a_restore_keeps_what_it_replaces() {
        let Book { store, folder } = book().await;
        let (data, backup) = (store.path().to_owned(), folder.path().join("copy.db"));
        store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        store.back_up(&backup).await.unwrap();
        store.add_recipe(&recipe("Stout"), NOON).await.unwrap();
        assert!(matches!(restore(&backup, &data, NOON).await, Err(BackupError::Open(OpenError::InUse(_)))));
        store.close().await;

        let kept = restore(&backup, &data, NOON).await.unwrap().unwrap();
        assert_eq!(kept.file_name().unwrap(), "book.db.until-20260307T120000Z");
        assert_eq!(names(&data).await, ["Pale"]);
        assert_eq!(names(&kept).await, ["Pale", "Stout"]);
        let again = restore(&backup, &data, NOON).await.unwrap().unwrap();
        assert_eq!(again.file_name().unwrap(), "book.db.until-20260307T120000Z-2");
        let new = folder.path().join("new/book.db");
        assert_eq!(restore(&backup, &new, NOON).await.unwrap(), None);
        assert_eq!(names(&new).await, ["Pale"]);
    }

    #[tokio::test]
    async fn a_file_still_open_elsewhere_is_not_replaced() {
        let Book { store, folder } = book().await;
        let (data, backup) = (store.path().to_owned(), folder.path().join("copy.db"));
        store.back_up(&backup).await.unwrap();
        store.close().await;
        let reader = Store::open_to_read(&data).await.unwrap();
        reader.settings().await.unwrap();
        assert!(matches!(restore(&backup, &data, NOON).await, Err(BackupError::Open(OpenError::InUse(_)))));
    }

    #[tokio::test]
    async fn a_damaged_backup_replaces_nothing_and_a_damaged_file_is_replaced() {
        let Book { store, folder } = book().await;
        let (data, backup) = (store.path().to_owned(), folder.path().join("copy.db"));
        for number in 0..200 {
            store.add_recipe(&recipe(&format!("Pale {number}")), NOON).await.unwrap();
        }
        store.back_up(&backup).await.unwrap();
        store.close().await;
        let sound = fs::read(&backup).unwrap();
        let mut damaged = sound.clone();
        // Among the recipes: an index is not copied but made anew.
        let inside = damaged.len() * 3 / 4;
        damaged[inside..inside + 8192].fill(0x5a);
        fs::write(&backup, &damaged).unwrap();
        let before = fs::read(&data).unwrap();
        let refused = restore(&backup, &data, NOON).await;
        assert!(matches!(refused, Err(BackupError::Unsound { .. })), "{refused:?}");
        assert_eq!(fs::read(&data).unwrap(), before);

        fs::write(&backup, &sound).unwrap();
        fs::write(&data, "not a database at all").unwrap();
        let kept = restore(&backup, &data, NOON).await.unwrap().unwrap();
        assert_eq!(fs::read(kept).unwrap(), b"not a database at all");
        assert_eq!(names(&data).await.len(), 200);
    }
}
