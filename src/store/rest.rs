//! When the book is at rest, its write-ahead log is folded into the data file.
//!
//! SQLite folds it by itself when it has grown to a thousand pages; a short day
//! never gets there, and its entries would lie in the -wal until the server is
//! stopped. Folded, the data file alone is the whole book.

use std::sync::{Arc, Weak};
use std::time::Duration;

use tokio::sync::broadcast::error::RecvError;

use super::open::PATIENCE;
use super::{Result, Store};

/// So long nothing has been written.
const REST: Duration = Duration::from_secs(20);
/// To what size the -wal is cut when SQLite begins it anew: as large as it grows by itself.
pub(super) const WAL_MOST_BYTES: &str = "4194304";

impl Store {
    /// Folds whenever nothing has been logged for a while, until the book is closed.
    pub(super) fn fold_at_rest(&self) {
        let (mut changes, inner) = (self.changes(), Arc::downgrade(&self.0));
        tokio::spawn(async move {
            while is_open(&changes.recv().await) {
                while let Ok(change) = tokio::time::timeout(REST, changes.recv()).await {
                    if !is_open(&change) {
                        return;
                    }
                }
                let Some(store) = Weak::upgrade(&inner).map(|inner| Store(inner, None)) else { return };
                if let Err(why) = store.fold_wal().await {
                    // All that was logged is safe in the -wal; the next rest is another chance.
                    tracing::debug!(%why, "the write-ahead log was not folded");
                }
            }
        });
    }

    /// Folds the write-ahead log into the data file and empties it, unless somebody is reading just now.
    async fn fold_wal(&self) -> Result<()> {
        if self.0.writer.is_closed() {
            return Ok(());
        }
        let mut writer = self.0.writer.acquire().await?;
        // Not to wait for a reader: whoever wants to write would wait with it.
        sqlx::query("pragma busy_timeout = 0").execute(&mut *writer).await?;
        let folded = sqlx::query("pragma wal_checkpoint(truncate)").execute(&mut *writer).await;
        let patience = format!("pragma busy_timeout = {}", PATIENCE.as_millis());
        sqlx::query(sqlx::AssertSqlSafe(patience)).execute(&mut *writer).await?;
        folded?;
        Ok(())
    }
}

fn is_open<T>(change: &std::result::Result<T, RecvError>) -> bool {
    !matches!(change, Err(RecvError::Closed))
}

#[cfg(test)]
mod tests {
    use crate::store::Store;
    use crate::store::lock::beside;
    use crate::store::testing::{NOON, entry, started};

    fn wal_bytes(store: &Store) -> u64 {
        std::fs::metadata(beside(store.path(), "-wal")).unwrap().len()
    }

    #[tokio::test]
    async fn the_wal_is_emptied_into_the_file_but_not_from_under_a_reader() {
        let (book, batch) = started().await;
        let store = &book.store;
        store.append(Some(batch), vec![entry(1, r#"{"kind": "bath_stirred"}"#)], None, NOON).await.unwrap();
        assert!(wal_bytes(store) > 0);
        let mut reader = store.0.readers.begin().await.unwrap();
        let count = "select count(*) from entry";
        assert_eq!(sqlx::query_scalar::<_, i64>(count).fetch_one(&mut *reader).await.unwrap(), 1);
        store.append(Some(batch), vec![entry(2, r#"{"kind": "bath_stirred"}"#)], None, NOON).await.unwrap();
        store.fold_wal().await.unwrap();
        assert!(wal_bytes(store) > 0, "the reader still needs it");
        // Dropped, it would be given back a moment later.
        reader.rollback().await.unwrap();
        store.fold_wal().await.unwrap();
        assert_eq!(wal_bytes(store), 0);
        let patience: i64 = sqlx::query_scalar("pragma busy_timeout").fetch_one(&store.0.writer).await.unwrap();
        assert_eq!(patience, 5000, "as it was");
        assert_eq!(store.entries(batch, 0).await.unwrap().len(), 2);
        store.close().await;
        store.fold_wal().await.unwrap();
    }
}
