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

/// The count itself.
#[derive(Clone, Debug, Default)]
pub(super) struct Writes(Arc<AtomicU64>);

/// A write under way: the one writer's transaction. Dropped, it is undone.
pub(super) struct Writing {
    transaction: Transaction<'static, Sqlite>,
    counted: Counted,
}

/// Counts when it is dropped: after the commit, and before whoever wrote is told of it.
struct Counted(Writes);

impl Drop for Counted {
    fn drop(&mut self) {
        self.0.0.fetch_add(1, Ordering::SeqCst);
    }
}

impl Writes {
    pub(super) fn begun(&self, transaction: Transaction<'static, Sqlite>) -> Writing {
        Writing { transaction, counted: Counted(self.clone()) }
    }
}

impl Writing {
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
        AsOf(self.0.writes.0.load(Ordering::SeqCst))
    }

    pub(super) async fn begin(&self) -> Result<Writing> {
        Ok(self.0.writes.begun(self.0.writer.begin_with("begin immediate").await?))
    }
}

#[cfg(test)]
mod tests {
    use crate::brewday::Settings;
    use crate::store::testing::book;

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
}
