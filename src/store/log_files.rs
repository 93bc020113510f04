//! Thermometers' logs on their way into a batch, and out of it again.
//!
//! A file's readings become entries a chunk at a time, so that a tap on the
//! phone by the kettle gets its turn in between. Each has an id made from the
//! file's and its line, so that going on after a restart, or pressing the button
//! twice, adds nothing twice. Taking a file out again strikes its entries out.

use std::collections::HashSet;

use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::{Result, Store, from_json, from_ms, to_json, to_ms};
use crate::brewday::day::Fate;
use crate::brewday::entry::Amendment;
use crate::brewday::logfile::{LogReading, Mapping};
use crate::brewday::plausible::NAME_CHARS;
use crate::brewday::{Body, Entry};

/// Entries of one transaction: a fifth of a second on a slow card.
const CHUNK: usize = 5000;
/// A file nobody came back to is let go of.
const WAITS: Duration = Duration::days(7);

/// A log that was brought in.
#[derive(Clone, Debug, PartialEq)]
pub struct LogFile {
    /// Its id.
    pub id: Uuid,
    /// The batch it was brought to.
    pub batch: i64,
    /// What it was called where it came from.
    pub name: String,
    /// When it was brought.
    pub brought_at: OffsetDateTime,
    /// Which column is what; none until the brewer has said so.
    pub mapping: Option<Mapping>,
    /// Readings that are to come in.
    pub total: usize,
    /// How many of them were seen to.
    pub done: usize,
    /// When the last of them was.
    pub finished_at: Option<OffsetDateTime>,
    /// When they were taken out again.
    pub undone_at: Option<OffsetDateTime>,
    last_line: i64,
}

struct Row {
    log_file_id: Uuid,
    batch_id: i64,
    name: String,
    brought_ms: i64,
    mapping: Option<String>,
    total: i64,
    done: i64,
    last_line: i64,
    finished_ms: Option<i64>,
    undone_ms: Option<i64>,
}

/// Notes that a file is being seen to, for as long as this lives.
struct UnderWay(Store, Uuid);

impl Drop for UnderWay {
    fn drop(&mut self) {
        if let Ok(mut under_way) = self.0.0.files_under_way.lock() {
            under_way.remove(&self.1);
        }
    }
}

impl Store {
    /// Keeps a file until it is said what its columns are, and gives its id; none
    /// where there is no such batch.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn bring_log_file(
        &self,
        batch: i64,
        name: &str,
        body: &[u8],
        now: OffsetDateTime,
    ) -> Result<Option<Uuid>> {
        let id = self.1.map_or_else(Uuid::now_v7, |mark| mark.id());
        let (brought_ms, before) = (to_ms(now), to_ms(now - WAITS));
        let name: String = name.chars().take(NAME_CHARS).collect();
        let mut change = self.begin().await?;
        let known = sqlx::query_scalar!("select batch_id from batch where batch_id = ?", batch)
            .fetch_optional(&mut *change)
            .await?;
        if known.is_none() {
            return Ok(None);
        }
        sqlx::query!("delete from log_file where mapping is null and brought_ms < ?", before)
            .execute(&mut *change)
            .await?;
        sqlx::query!(
            "
            insert into log_file (log_file_id, batch_id, name, brought_ms, body) values (?, ?, ?, ?, ?)
            on conflict do nothing
            ",
            id,
            batch,
            name,
            brought_ms,
            body,
        )
        .execute(&mut *change)
        .await?;
        change.commit().await?;
        Ok(Some(id))
    }

    /// A file that was brought to a batch.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn log_file(&self, batch: i64, id: Uuid) -> Result<Option<LogFile>> {
        Ok(self.log_files(batch).await?.into_iter().find(|file| file.id == id))
    }

    /// The files brought to a batch, the latest first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn log_files(&self, batch: i64) -> Result<Vec<LogFile>> {
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                log_file_id as "log_file_id: Uuid",
                batch_id,
                name,
                brought_ms,
                mapping,
                total,
                done,
                last_line,
                finished_ms,
                undone_ms
            from log_file
            where batch_id = ?
            order by brought_ms desc, log_file_id desc
            "#,
            batch,
        )
        .fetch_all(&self.0.readers)
        .await?;
        rows.into_iter().map(Row::file).collect()
    }

    /// What is in a file that was brought; none once its readings are in the log.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn log_file_body(&self, id: Uuid) -> Result<Option<Vec<u8>>> {
        let body =
            sqlx::query_scalar!("select body from log_file where log_file_id = ?", id).fetch_optional(&self.0.readers);
        Ok(body.await?.flatten())
    }

    /// Whether a file is being taken in, or out again, just now.
    #[must_use]
    pub fn is_under_way(&self, id: Uuid) -> bool {
        self.0.files_under_way.lock().is_ok_and(|under_way| under_way.contains(&id))
    }

    /// Takes a file's readings into its batch's log. Does nothing where that is being done already.
    ///
    /// # Errors
    /// The data file can't be written; what is in stays, and the same call goes on from there.
    pub async fn take_log_file(
        &self,
        file: &LogFile,
        mapping: &Mapping,
        readings: &[LogReading],
        now: OffsetDateTime,
    ) -> Result<()> {
        let Some(_under_way) = self.under_way(file.id) else { return Ok(()) };
        let total = i64::try_from(readings.len()).unwrap_or(i64::MAX);
        let last_line = readings.iter().map(|reading| reading.line).max().and_then(|line| i64::try_from(line).ok());
        let (json, last_line) = (to_json(mapping)?, last_line.unwrap_or(0).max(file.last_line));
        sqlx::query!(
            "
            update log_file
            set mapping = ?, total = ?, done = 0, last_line = ?, undone_ms = null
            where log_file_id = ?
            ",
            json,
            total,
            last_line,
            file.id,
        )
        .execute(&self.0.writer)
        .await?;
        let mut done = 0_i64;
        for chunk in readings.chunks(CHUNK) {
            let entries = chunk.iter().map(|reading| Entry {
                id: reading_id(file.id, reading.line),
                at: reading.at,
                body: Body::Temperature { place: mapping.place, temperature_c: reading.temperature_c },
                note: None,
                typed: Default::default(),
            });
            self.append(Some(file.batch), entries.collect(), Some(&file.name), now).await?;
            done += i64::try_from(chunk.len()).unwrap_or(0);
            sqlx::query!("update log_file set done = ? where log_file_id = ?", done, file.id)
                .execute(&self.0.writer)
                .await?;
        }
        // After a restart some were in already: all that stand are what came of it.
        let (total, now_ms) = (i64::try_from(self.standing_of(file, last_line).await?.len()).unwrap_or(0), to_ms(now));
        sqlx::query!(
            "update log_file set finished_ms = ?, total = ?, done = ?, body = null where log_file_id = ?",
            now_ms,
            total,
            total,
            file.id,
        )
        .execute(&self.0.writer)
        .await?;
        Ok(())
    }

    /// Strikes out every reading that came from a file and still stands. Does
    /// nothing where that is being done already.
    ///
    /// # Errors
    /// The data file can't be written; what is struck out is, and the same call goes on from there.
    pub async fn undo_log_file(&self, file: &LogFile, now: OffsetDateTime) -> Result<()> {
        let Some(_under_way) = self.under_way(file.id) else { return Ok(()) };
        let why = Some("the log file was taken out again".to_owned());
        for chunk in self.standing_of(file, file.last_line).await?.chunks(CHUNK) {
            let entries = chunk.iter().map(|id| Entry {
                id: Uuid::new_v5(id, b"taken out again"),
                at: now,
                body: Body::Amendment(Amendment { of: *id, replacement: None, void: true, why: why.clone() }),
                note: None,
                typed: Default::default(),
            });
            self.append(Some(file.batch), entries.collect(), Some(&file.name), now).await?;
        }
        let now_ms = to_ms(now);
        sqlx::query!("update log_file set undone_ms = ? where log_file_id = ?", now_ms, file.id)
            .execute(&self.0.writer)
            .await?;
        Ok(())
    }

    /// The file's readings that are in the log and stand.
    async fn standing_of(&self, file: &LogFile, last_line: i64) -> Result<Vec<Uuid>> {
        let lines = usize::try_from(last_line).unwrap_or(0);
        let of_file: HashSet<Uuid> = (1..=lines).map(|line| reading_id(file.id, line)).collect();
        let Some(day) = self.day(file.batch).await? else { return Ok(Vec::new()) };
        let standing = day.lines.iter().filter(|line| !matches!(line.fate, Fate::Voided(_)));
        Ok(standing.map(|line| line.logged.entry.id).filter(|id| of_file.contains(id)).collect())
    }

    fn under_way(&self, id: Uuid) -> Option<UnderWay> {
        let is_new = self.0.files_under_way.lock().is_ok_and(|mut under_way| under_way.insert(id));
        is_new.then(|| UnderWay(self.clone(), id))
    }
}

/// The id of the reading on a line, the same each time.
fn reading_id(file: Uuid, line: usize) -> Uuid {
    Uuid::new_v5(&file, line.to_string().as_bytes())
}

impl Row {
    fn file(self) -> Result<LogFile> {
        Ok(LogFile {
            id: self.log_file_id,
            batch: self.batch_id,
            name: self.name,
            brought_at: from_ms(self.brought_ms)?,
            mapping: self.mapping.map(|mapping| from_json("a log file's columns", &mapping)).transpose()?,
            total: usize::try_from(self.total).unwrap_or(0),
            done: usize::try_from(self.done).unwrap_or(0),
            finished_at: self.finished_ms.map(from_ms).transpose()?,
            undone_at: self.undone_ms.map(from_ms).transpose()?,
            last_line: self.last_line,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brewday::choices::Place;
    use crate::brewday::logfile::{Degrees, TimeForm};
    use crate::store::testing::{Book, NOON, started};

    fn mapping() -> Mapping {
        Mapping {
            time: 0,
            clock: None,
            temperature: 1,
            form: TimeForm::DateTime,
            order: None,
            degrees: Degrees::Celsius,
            place: Place::Wort,
            start: None,
            zone: None,
            apart_s: 0,
        }
    }

    fn readings(many: usize) -> Vec<LogReading> {
        let at = |line: usize| NOON - Duration::hours(30) + Duration::seconds(i64::try_from(line).unwrap());
        (1..=many).map(|line| LogReading { line, at: at(line), temperature_c: 60.0 }).collect()
    }

    async fn brought() -> (Book, LogFile) {
        let (book, batch) = started().await;
        let id = book.store.bring_log_file(batch, "probe.csv", b"a,b", NOON).await.unwrap().unwrap();
        let file = book.store.log_file(batch, id).await.unwrap().unwrap();
        (book, file)
    }

    async fn standing(store: &Store, batch: i64) -> usize {
        store.day(batch).await.unwrap().unwrap().standing.len()
    }

    #[tokio::test]
    async fn a_file_comes_in_once_and_goes_out_again() {
        let (book, file) = brought().await;
        let store = &book.store;
        assert_eq!(store.log_file_body(file.id).await.unwrap().as_deref(), Some(&b"a,b"[..]));
        for _ in 0..2 {
            store.take_log_file(&file, &mapping(), &readings(12), NOON).await.unwrap();
            assert_eq!(standing(store, file.batch).await, 12);
        }
        let taken = store.log_file(file.batch, file.id).await.unwrap().unwrap();
        assert_eq!((taken.total, taken.done, taken.finished_at), (12, 12, Some(NOON)));
        assert_eq!(store.log_file_body(file.id).await.unwrap(), None);
        for _ in 0..2 {
            store.undo_log_file(&taken, NOON).await.unwrap();
            assert_eq!(standing(store, file.batch).await, 0);
        }
        assert!(store.log_file(file.batch, file.id).await.unwrap().unwrap().undone_at.is_some());
        assert_eq!(store.check_summaries().await.unwrap().different, [0; 0]);
    }

    #[tokio::test]
    async fn what_was_cut_off_goes_on_and_counts_all() {
        let (book, file) = brought().await;
        let store = &book.store;
        store.take_log_file(&file, &mapping(), &readings(5), NOON).await.unwrap();
        // The first five were in when the server was killed; the page then sends the others only.
        let file = store.log_file(file.batch, file.id).await.unwrap().unwrap();
        store.take_log_file(&file, &mapping(), &readings(12)[5..], NOON).await.unwrap();
        let taken = store.log_file(file.batch, file.id).await.unwrap().unwrap();
        assert_eq!((taken.total, standing(store, file.batch).await), (12, 12));
        store.undo_log_file(&taken, NOON).await.unwrap();
        assert_eq!(standing(store, file.batch).await, 0);
    }

    #[tokio::test]
    async fn a_file_nobody_came_back_to_is_let_go_of() {
        let (book, file) = brought().await;
        let later = NOON + Duration::days(8);
        book.store.bring_log_file(file.batch, "other.csv", b"x", later).await.unwrap().unwrap();
        let names: Vec<_> = book.store.log_files(file.batch).await.unwrap().into_iter().map(|file| file.name).collect();
        assert_eq!(names, ["other.csv"]);
        assert_eq!(book.store.bring_log_file(99, "x", b"x", later).await.unwrap(), None);
    }

    /// `cargo test --release --lib a_hundred_thousand -- --ignored --nocapture`
    #[tokio::test]
    #[ignore = "it measures"]
    async fn a_hundred_thousand_readings_come_in_and_go_out() {
        let (book, file) = brought().await;
        let began = std::time::Instant::now();
        book.store.take_log_file(&file, &mapping(), &readings(100_000), NOON).await.unwrap();
        eprintln!("in: {:?}", began.elapsed());
        assert_eq!(standing(&book.store, file.batch).await, 100_000);
        let file = book.store.log_file(file.batch, file.id).await.unwrap().unwrap();
        let began = std::time::Instant::now();
        book.store.undo_log_file(&file, NOON).await.unwrap();
        eprintln!("out: {:?}", began.elapsed());
        assert_eq!(standing(&book.store, file.batch).await, 0);
    }
}
