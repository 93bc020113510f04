//! The check lists as the brewer edits them: one row, or none yet.

use sqlx::SqliteExecutor;

use super::{Result, Store, from_json, to_json};
use crate::brewday::CheckLists;

impl Store {
    /// The check lists; the ones a new book starts with where none were saved.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn check_lists(&self) -> Result<CheckLists> {
        read(&self.0.readers).await
    }

    /// Keeps edited check lists. Batches already started keep theirs.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn save_check_lists(&self, lists: &CheckLists) -> Result<()> {
        let body = to_json(lists)?;
        let mut change = self.begin().await?;
        sqlx::query!(
            "
            insert into check_lists (check_lists_id, body) values (1, ?)
            on conflict (check_lists_id) do update set body = excluded.body
            ",
            body,
        )
        .execute(&mut *change)
        .await?;
        change.commit().await
    }
}

pub(super) async fn read(from: impl SqliteExecutor<'_>) -> Result<CheckLists> {
    let body = sqlx::query_scalar!("select body from check_lists").fetch_optional(from).await?;
    body.map_or_else(|| Ok(CheckLists::defaults()), |body| from_json("the check lists", &body))
}

#[cfg(test)]
mod tests {
    use crate::brewday::CheckLists;
    use crate::store::testing::{Book, book};

    #[tokio::test]
    async fn lists_are_the_defaults_until_they_are_saved() {
        let Book { store, folder: _folder } = book().await;
        assert_eq!(store.check_lists().await.unwrap(), CheckLists::defaults());
        let mut lists = CheckLists::defaults();
        lists.0.pop();
        store.save_check_lists(&lists).await.unwrap();
        assert_eq!(store.check_lists().await.unwrap(), lists);
    }
}
