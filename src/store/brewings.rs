//! The batches a recipe was brewed as.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::{Result, Store, StoreError, from_ms};
use crate::brewday::BatchState;
use crate::brewday::choices::Choice;

/// One batch of a recipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Brewing {
    /// The batch's number.
    pub batch: i64,
    /// What the brewer calls it.
    pub name: String,
    /// The revision it was brewed from.
    pub revision: i64,
    /// How far it has come.
    pub state: BatchState,
    /// When it was brewed, or begun where it is only planned.
    pub brewed_at: OffsetDateTime,
    /// Its original gravity, where it was measured.
    pub original_sg: Option<f64>,
}

impl Store {
    /// Batches of a recipe, whichever revision they hold, the newest first:
    /// `most` of them, after `skip`.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn batches_of_recipe(&self, recipe: i64, skip: u32, most: u32) -> Result<Vec<Brewing>> {
        let rows = sqlx::query!(
            "
            select batch_id, name, recipe_revision, state, brewed_ms, original_sg
            from batch join summary using (batch_id)
            where recipe_id = ?
            order by brewed_ms desc, batch_id desc
            limit ? offset ?
            ",
            recipe,
            most,
            skip,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let unreadable = || StoreError::Unreadable { what: "a batch's state", why: "no such state".into() };
        let brewing = rows.into_iter().map(|row| {
            Ok(Brewing {
                batch: row.batch_id,
                name: row.name,
                revision: row.recipe_revision,
                state: BatchState::from_key(&row.state).ok_or_else(unreadable)?,
                brewed_at: from_ms(row.brewed_ms)?,
                original_sg: row.original_sg,
            })
        });
        brewing.collect()
    }

    /// When each recipe that was ever brewed was brewed last. A batch that is
    /// only planned doesn't count.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn recipes_last_brewed(&self) -> Result<BTreeMap<i64, OffsetDateTime>> {
        let rows = sqlx::query!(
            r#"
            select recipe_id as "recipe_id!: i64", max(brewed_ms) as "brewed_ms!: i64"
            from batch join summary using (batch_id)
            where state <> 'planned'
            group by recipe_id
            "#,
        )
        .fetch_all(&self.0.readers)
        .await?;
        rows.into_iter().map(|row| Ok((row.recipe_id, from_ms(row.brewed_ms)?))).collect()
    }
}

#[cfg(test)]
mod tests {
    use time::Duration;

    use crate::brewday::BatchState;
    use crate::store::testing::{Book, NOON, book, entry, new_batch, recipe};

    #[tokio::test]
    async fn a_recipe_knows_its_batches_whatever_they_and_it_are_called() {
        let Book { store, folder: _folder } = book().await;
        let pale = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let other = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        store.start_batch(&new_batch(pale), NOON).await.unwrap().unwrap();
        store.start_batch(&new_batch(other), NOON).await.unwrap().unwrap();
        store.revise_recipe(pale, &recipe("Paler"), NOON + Duration::hours(1)).await.unwrap();
        store.start_batch(&new_batch(pale), NOON + Duration::hours(2)).await.unwrap().unwrap();
        let found = store.batches_of_recipe(pale, 0, 9).await.unwrap();
        let found: Vec<_> = found.iter().map(|one| (one.batch, one.revision, one.state)).collect();
        assert_eq!(found, [(3, 2, BatchState::Planned), (1, 1, BatchState::Planned)]);
        assert!(store.batches_of_recipe(99, 0, 9).await.unwrap().is_empty());
    }

    #[tokio::test]
    async fn a_planned_batch_is_not_brewed_yet() {
        let Book { store, folder: _folder } = book().await;
        let pale = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let batch = store.start_batch(&new_batch(pale), NOON).await.unwrap().unwrap();
        assert!(store.recipes_last_brewed().await.unwrap().is_empty());
        let entries = vec![entry(1, r#"{"kind": "stage_started", "stage": "mash"}"#)];
        store.append(Some(batch), entries, None, NOON).await.unwrap();
        let brewed = store.recipes_last_brewed().await.unwrap();
        assert_eq!(brewed.into_iter().collect::<Vec<_>>(), [(pale, NOON)]);
    }
}
