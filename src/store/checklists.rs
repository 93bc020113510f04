//! The check lists as the brewer edits them: one row, or none yet, and how they
//! were before.

use sqlx::SqliteExecutor;
use time::{Duration, OffsetDateTime};

use super::{Result, Store, from_json, from_ms, to_json, to_ms};
use crate::brewday::CheckLists;

/// What was changed can be had back for so long …
pub const LISTS_KEPT_FOR: Duration = Duration::days(30);
/// … and the last so many changes for ever.
const KEPT_LEAST: i64 = 10;

/// The check lists as they were before a change.
#[derive(Clone, Debug, PartialEq)]
pub struct ListsBefore {
    /// Tells one from the others, for ever.
    pub number: i64,
    /// The lists.
    pub lists: CheckLists,
    /// When they were changed.
    pub until: OffsetDateTime,
}

impl Store {
    /// The check lists; the ones a new book starts with where none were saved.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn check_lists(&self) -> Result<CheckLists> {
        read(&self.0.readers).await
    }

    /// Keeps edited check lists, and how they were before where that differs.
    /// Batches already started keep theirs.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn save_check_lists(&self, lists: &CheckLists, now: OffsetDateTime) -> Result<()> {
        let mut change = self.begin().await?;
        let before = read(&mut *change).await?;
        if before == *lists {
            return Ok(());
        }
        let (body, before, now_ms, oldest) =
            (to_json(lists)?, to_json(&before)?, to_ms(now), to_ms(now - LISTS_KEPT_FOR));
        sqlx::query!("insert into check_lists_before (body, until_ms) values (?, ?)", before, now_ms)
            .execute(&mut *change)
            .await?;
        sqlx::query!(
            "
            delete from check_lists_before
            where until_ms < ? and number <= (select max(number) from check_lists_before) - ?
            ",
            oldest,
            KEPT_LEAST,
        )
        .execute(&mut *change)
        .await?;
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

    /// The check lists as they were before each change that can be taken back,
    /// the latest first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn check_lists_before(&self) -> Result<Vec<ListsBefore>> {
        let rows = sqlx::query!("select number, body, until_ms from check_lists_before order by number desc")
            .fetch_all(&self.0.readers)
            .await?;
        let before = rows.into_iter().map(|row| {
            let lists = from_json("the check lists", &row.body)?;
            Ok(ListsBefore { number: row.number, lists, until: from_ms(row.until_ms)? })
        });
        before.collect()
    }
}

pub(super) async fn read(from: impl SqliteExecutor<'_>) -> Result<CheckLists> {
    let body = sqlx::query_scalar!("select body from check_lists").fetch_optional(from).await?;
    body.map_or_else(|| Ok(CheckLists::defaults()), |body| from_json("the check lists", &body))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::testing::{Book, NOON, book};

    #[tokio::test]
    async fn lists_are_the_defaults_until_they_are_saved() {
        let Book { store, folder: _folder } = book().await;
        assert_eq!(store.check_lists().await.unwrap(), CheckLists::defaults());
        let mut lists = CheckLists::defaults();
        lists.0.pop();
        store.save_check_lists(&lists, NOON).await.unwrap();
        assert_eq!(store.check_lists().await.unwrap(), lists);
    }

    #[tokio::test]
    async fn how_they_were_can_be_had_back_for_a_month_and_the_last_changes_for_ever() {
        let Book { store, folder: _folder } = book().await;
        let lists = |many: usize| CheckLists(CheckLists::defaults().0.into_iter().cycle().take(many).collect());
        let day = |number: usize| NOON + Duration::days(i64::try_from(number).unwrap());
        for number in 0..40 {
            // Kept twice, they are changed once.
            for _ in 0..2 {
                store.save_check_lists(&lists(number), day(number)).await.unwrap();
            }
        }
        let before = store.check_lists_before().await.unwrap();
        assert_eq!((before[0].lists.clone(), before[0].until), (lists(38), day(39)));
        assert_eq!((before.len(), before.last().unwrap().until), (31, day(9)));
        store.save_check_lists(&lists(3), day(400)).await.unwrap();
        let before = store.check_lists_before().await.unwrap();
        assert_eq!((before.len(), before[9].lists.clone()), (10, lists(30)));
    }
}
