//! The book's own copies: one a day while it is served, the last seven kept.
//!
//! They lie in a folder beside the data file, `book.db.copies/0012-2026-03-07.db`:
//! a running number, by which they are in order whatever the clock did, and the
//! day. A copy counts only once it is on disk and has been read through
//! ([`backup`](super::backup)); until then the ones before it are left alone.

use std::fs::{self, File};
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::time::Duration;

use time::macros::format_description;
use time::{Date, OffsetDateTime, UtcOffset};
use tokio::time::{Instant, sleep};

use super::backup::{PART, clear_away, copy, part_of, sync_folder, take_name};
use super::lock::beside;
use super::{BackupError, Store};

/// Copies that are kept.
const KEPT: usize = 7;
/// How often it is seen whether one is due.
const LOOK_EVERY: Duration = Duration::from_secs(15 * 60);
/// No copy gets older than a day while the book is served.
const AT_LATEST: Duration = Duration::from_secs(23 * 3600);
/// A new day wants a copy, but a clock that jumps to and fro doesn't get one for each jump.
const AT_SOONEST: Duration = Duration::from_secs(6 * 3600);
/// How much of two copies is held against each other at a time.
const PIECE_BYTES: usize = 64 * 1024;

/// A copy that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DailyCopy {
    /// Where it is.
    pub path: PathBuf,
    /// Its place in the row of copies: later is larger.
    pub number: u32,
    /// The day it was made on, by the clock of that day, in UTC.
    pub day: Date,
    /// Its size.
    pub bytes: u64,
}

/// The last time a copy was due.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DailyTry {
    /// When.
    pub at: OffsetDateTime,
    /// What came of it.
    pub outcome: DailyOutcome,
}

/// What came of it when a copy was due.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DailyOutcome {
    /// It was made and checked.
    Made,
    /// Nothing had changed since the newest copy, which was left as it is.
    Unchanged,
    /// There is nothing in the book yet.
    Empty,
    /// It could not be made; the sentence says why. The ones before are as they were.
    Failed(String),
}

/// Keeps a copy for each day until `stop` resolves; one under way is finished
/// first. `now` tells the time.
pub async fn keep_daily_copies(
    store: Store,
    now: impl Fn() -> OffsetDateTime + Send,
    stop: impl Future<Output = ()> + Send,
) {
    tokio::pin!(stop);
    let mut last: Option<(Instant, Date)> = None;
    loop {
        let at = now();
        let is_due = last.is_none_or(|(made, day)| is_due(made.elapsed(), day != utc_day(at)));
        if is_due && !matches!(store.copy_of_the_day(at).await.outcome, DailyOutcome::Failed(_)) {
            last = Some((Instant::now(), utc_day(at)));
        }
        tokio::select! {
            () = sleep(LOOK_EVERY) => {}
            () = &mut stop => return,
        }
    }
}

/// Whether a copy is due so long after the last one, going by a clock that
/// nobody sets, and by whether it is another day by the one that somebody may.
fn is_due(since: Duration, another_day: bool) -> bool {
    since >= AT_LATEST || another_day && since >= AT_SOONEST
}

impl Store {
    /// Makes today's copy, in the place of one made earlier today, and lets go
    /// of the oldest beyond seven. What came of it is kept for [`Store::last_daily_copy`].
    pub async fn copy_of_the_day(&self, now: OffsetDateTime) -> DailyTry {
        let outcome = self.make_copy(now).await.unwrap_or_else(|why| DailyOutcome::Failed(why.to_string()));
        if let DailyOutcome::Failed(why) = &outcome {
            tracing::warn!("no copy of the day: {why}");
        }
        let done = DailyTry { at: now, outcome };
        if let Ok(mut last) = self.0.last_daily.lock() {
            *last = Some(done.clone());
        }
        done
    }

    /// What came of it when a copy was last due, since the book was opened.
    #[must_use]
    pub fn last_daily_copy(&self) -> Option<DailyTry> {
        self.0.last_daily.lock().ok()?.clone()
    }

    /// The copies that are kept, the newest first.
    #[must_use]
    pub fn daily_copies(&self) -> Vec<DailyCopy> {
        kept(&folder(self.path()))
    }

    /// A checked copy of the book as it stands, open for reading, with its
    /// size. Its name is gone already, so nothing is left of it afterwards.
    ///
    /// # Errors
    /// Why there is no copy.
    pub async fn copy_to_send(&self) -> Result<(File, u64), BackupError> {
        let _alone = self.0.sending.lock().await;
        let part = part_of(self.path());
        let copied = copy(self.path(), &part).await;
        let opened = copied.and_then(|()| {
            let file = File::open(&part).and_then(|file| Ok((file.metadata()?.len(), file)));
            file.map(|(bytes, file)| (file, bytes)).map_err(|why| not_written(&part, &why))
        });
        clear_away(&part);
        opened
    }

    async fn make_copy(&self, now: OffsetDateTime) -> Result<DailyOutcome, BackupError> {
        if self.is_untouched().await {
            return Ok(DailyOutcome::Empty);
        }
        let folder = folder(self.path());
        fs::create_dir_all(&folder).map_err(|why| not_written(&folder, &why))?;
        let day = utc_day(now);
        let newest = kept(&folder).into_iter().next();
        let number = match &newest {
            Some(newest) if newest.day == day => newest.number,
            Some(newest) => newest.number.saturating_add(1),
            None => 1,
        };
        let name = folder.join(file_name(number, day));
        let part = part_of(&name);
        let made = match copy(self.path(), &part).await {
            Ok(()) if says_the_same(newest.map(|newest| newest.path), &part).await => Ok(DailyOutcome::Unchanged),
            Ok(()) => take_name(&part, &name).map(|()| DailyOutcome::Made),
            Err(why) => Err(why),
        };
        if !matches!(made, Ok(DailyOutcome::Made)) {
            clear_away(&part);
            return made;
        }
        for old in kept(&folder).into_iter().skip(KEPT) {
            fs::remove_file(&old.path).map_err(|why| not_written(&old.path, &why))?;
        }
        sync_folder(&name).map_err(|why| not_written(&name, &why))?;
        made
    }

    /// Whether nothing was ever written in the book; one that can't be read counts as written in.
    async fn is_untouched(&self) -> bool {
        let records = sqlx::query_scalar!(
            r#"
            select exists (select 1 from recipe)
                + exists (select 1 from equipment)
                + exists (select 1 from entry) as "records!: i64"
            "#
        );
        records.fetch_one(&self.0.readers).await.is_ok_and(|records| records == 0)
    }
}

/// Removes what a copy that was cut off has left behind. Only for the one who has the lock.
pub(super) fn sweep(data: &Path) {
    let Some(name) = data.file_name().and_then(|name| name.to_str()) else { return };
    let beside = data.parent().map(|folder| (folder.to_owned(), format!("{name}{PART}")));
    for (folder, begins) in beside.into_iter().chain([(folder(data), String::new())]) {
        for file in fs::read_dir(folder).into_iter().flatten().flatten() {
            let found = file.file_name();
            let is_left = found.to_str().is_some_and(|found| found.starts_with(&begins) && found.contains(PART));
            if is_left && fs::remove_file(file.path()).is_err() {
                tracing::warn!("{} can't be removed", file.path().display());
            }
        }
    }
}

fn folder(data: &Path) -> PathBuf {
    beside(data, ".copies")
}

fn utc_day(at: OffsetDateTime) -> Date {
    at.to_offset(UtcOffset::UTC).date()
}

fn file_name(number: u32, day: Date) -> String {
    format!("{number:04}-{day}.db")
}

/// The number and the day in a copy's name; none for a name that is no copy's.
fn of_name(name: &str) -> Option<(u32, Date)> {
    let (number, day) = name.strip_suffix(".db")?.split_once('-')?;
    Some((number.parse().ok()?, Date::parse(day, format_description!("[year]-[month]-[day]")).ok()?))
}

fn kept(folder: &Path) -> Vec<DailyCopy> {
    let files = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut copies: Vec<DailyCopy> = files
        .filter_map(|file| {
            let (number, day) = of_name(file.file_name().to_str()?)?;
            Some(DailyCopy { path: file.path(), number, day, bytes: file.metadata().ok()?.len() })
        })
        .collect();
    copies.sort_by_key(|copy| std::cmp::Reverse(copy.number));
    copies
}

/// Whether the newest copy holds the same bytes; one that can't be read doesn't. A large
/// book takes a while to be read twice, and others are waiting for their pages.
async fn says_the_same(newest: Option<PathBuf>, part: &Path) -> bool {
    let Some(newest) = newest else { return false };
    let part = part.to_owned();
    let held = tokio::task::spawn_blocking(move || is_same(&newest, &part)).await;
    matches!(held, Ok(Ok(true)))
}

/// Whether two files hold the same bytes. Reads a piece of each at a time: a book may be
/// larger than the machine's memory.
fn is_same(one: &Path, other: &Path) -> io::Result<bool> {
    let (one, other) = (File::open(one)?, File::open(other)?);
    if one.metadata()?.len() != other.metadata()?.len() {
        return Ok(false);
    }
    let [mut one, mut other] = [one, other].map(|file| BufReader::with_capacity(PIECE_BYTES, file));
    loop {
        let (ours, theirs) = (one.fill_buf()?, other.fill_buf()?);
        let both = ours.len().min(theirs.len());
        if both == 0 {
            return Ok(ours.len() == theirs.len());
        }
        if ours[..both] != theirs[..both] {
            return Ok(false);
        }
        one.consume(both);
        other.consume(both);
    }
}

fn not_written(path: &Path, why: &io::Error) -> BackupError {
    BackupError::NotWritten { path: path.to_owned(), why: why.to_string() }
}

#[cfg(test)]
mod tests;
