//! A write under way, and the count by which what is kept in memory knows its age.

use std::ops::{Deref, DerefMut};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::{Sqlite, SqliteConnection, Transaction};

use super::{Result, Store, seen_through};

/// How often the book was written since it was opened. What was read at one count
/// is what a read at the same count gives.
///
/// Only this process counts. The commands that write beside a running server
/// change who may come in, and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AsOf(u64);

/// The count itself, and the same without what was logged on days under way: what
/// is learned from finished batches stays as it is while the next one is brewed.
#[derive(Clone, Debug, Default)]
pub(super) struct Writes(Arc<Counts>);

#[derive(Debug, Default)]
struct Counts {
    all: AtomicU64,
    beyond_days_under_way: AtomicU64,
}

/// A write under way: the one writer's transaction. Dropped, it is undone.
pub(super) struct Writing {
    transaction: Transaction<'static, Sqlite>,
    counted: Counted,
}

/// Counts when it is dropped: after the commit, and before whoever wrote is told of it.
struct Counted {
    writes: Writes,
    only_a_day_under_way: bool,
}

impl Drop for Counted {
    fn drop(&mut self) {
        let Counts { all, beyond_days_under_way } = &*self.writes.0;
        all.fetch_add(1, Ordering::SeqCst);
        if !self.only_a_day_under_way {
            beyond_days_under_way.fetch_add(1, Ordering::SeqCst);
        }
    }
}

impl Writes {
    pub(super) fn begun(&self, transaction: Transaction<'static, Sqlite>) -> Writing {
        Writing { transaction, counted: Counted { writes: self.clone(), only_a_day_under_way: false } }
    }
}

impl Writing {
    /// Notes that this only adds to the log of a batch that was in progress, and still is.
    pub(super) fn is_of_a_day_under_way(&mut self) {
        self.counted.only_a_day_under_way = true;
    }

    /// Puts on disk what was written. Once begun it is seen through: a commit that
    /// nobody waits for any more still counts.
    pub(super) async fn commit(self) -> Result<()> {
        let Self { transaction, counted } = self;
        seen_through(async move {
            let done = transaction.commit().await;
            drop(counted);
            Ok(done?)
        })
        .await
    }
}

impl Deref for Writing {
    type Target = SqliteConnection;

    fn deref(&self) -> &SqliteConnection {
        &self.transaction
    }
}

impl DerefMut for Writing {
    fn deref_mut(&mut self) -> &mut SqliteConnection {
        &mut self.transaction
    }
}

impl Store {
    /// Where the book stands: taken before a read, it tells later whether what was
    /// read is still all there is.
    #[must_use]
    pub fn as_of(&self) -> AsOf {
        AsOf(self.0.writes.0.all.load(Ordering::SeqCst))
    }

    /// The same of all but the logs of days under way.
    pub(super) fn as_of_beyond_days_under_way(&self) -> AsOf {
        AsOf(self.0.writes.0.beyond_days_under_way.load(Ordering::SeqCst))
    }

    pub(super) async fn begin(&self) -> Result<Writing> {
        Ok(self.0.writes.begun(self.0.writer.begin_with("begin immediate").await?))
    }
}

#[cfg(test)]
mod tests {
    use crate::brewday::Settings;
    use crate::store::testing::{NOON, book, entry, started};

    #[tokio::test]
    async fn what_was_written_counts_before_the_writer_is_told_and_so_does_what_was_undone() {
        let book = book().await;
        let store = &book.store;
        let before = store.as_of();
        store.settings().await.unwrap();
        assert_eq!(store.as_of(), before, "a read counts for nothing");
        store.save_settings(&Settings::default()).await.unwrap();
        let written = store.as_of();
        assert_ne!(written, before);
        drop(store.begin().await.unwrap());
        assert_ne!(store.as_of(), written);
    }

    #[tokio::test]
    async fn the_log_of_a_day_under_way_is_told_from_what_finished_batches_are_known_by() {
        let (book, batch) = started().await;
        let store = &book.store;
        let log = async |number, body: &str| {
            let (all, beyond) = (store.as_of(), store.as_of_beyond_days_under_way());
            store.append(Some(batch), vec![entry(number, body)], None, NOON).await.unwrap();
            assert_ne!(store.as_of(), all);
            store.as_of_beyond_days_under_way() != beyond
        };
        assert!(!log(1, r#"{"kind": "boil_started"}"#).await);
        let pitched = r#"{"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18, "wort_c": 19}"#;
        assert!(log(2, pitched).await, "it is finished now");
        assert!(log(3, r#"{"kind": "note", "note": "It stands in the cellar."}"#).await);
        let void = format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, uuid::Uuid::from_u128(2));
        assert!(log(4, &void).await, "it was finished before");
        assert!(!log(5, r#"{"kind": "note", "note": "Not yet."}"#).await);
    }
}
