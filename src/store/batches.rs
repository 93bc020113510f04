//! Batches: what was fixed when one was started. Its day is in the log.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use sqlx::{SqliteConnection, SqliteExecutor};
use time::OffsetDateTime;

use super::{Result, Store, care, checklists, from_json, from_ms, kettles, summaries, to_json, to_ms};
use crate::brewday::batch::NewBatch;
use crate::brewday::choices::Choice;
use crate::brewday::kettle_loss::KettleLoss;
use crate::brewday::{Batch, BatchState, BrewDay, CheckLists, EquipmentRecord, Fault, Recipe, Typed};

/// What a batch keeps as it stood, in one document.
#[derive(Serialize, Deserialize)]
pub(super) struct Snapshot {
    pub(super) equipment: Vec<EquipmentRecord>,
    pub(super) tap_c: Option<f64>,
    pub(super) altitude_m: Option<f64>,
    pub(super) lists: CheckLists,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) kettle_loss: Option<KettleLoss>,
    #[serde(default, skip_serializing_if = "Typed::is_empty")]
    pub(super) typed: Typed,
}

struct Row {
    batch_id: i64,
    name: String,
    recipe_id: i64,
    recipe_revision: i64,
    recipe: String,
    volume_l: f64,
    body: String,
    created_ms: i64,
    chill_plan: Option<String>,
}

impl Store {
    /// Starts a batch and gives its id: from the recipe's newest revision, with
    /// the equipment and the check lists as they are now.
    ///
    /// The inner result holds what is wrong with the request: a recipe or a
    /// piece of equipment that isn't in the book.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn start_batch(
        &self,
        new: &NewBatch,
        now: OffsetDateTime,
    ) -> Result<std::result::Result<i64, Vec<Fault>>> {
        let mut change = self.begin().await?;
        if let Some(made) = self.made_before(&mut change).await? {
            return Ok(Ok(made));
        }
        let recipe = newest_recipe(&mut change, new.recipe).await?;
        let (equipment, mut faults) = described(&mut change, &new.equipment).await?;
        if recipe.is_none() {
            faults.insert(0, Fault::new("recipe", format!("There is no recipe {} in the book.", new.recipe)));
        }
        let Some((recipe_revision, recipe)) = recipe.filter(|_| faults.is_empty()) else { return Ok(Err(faults)) };
        let mut batch = Batch {
            id: 0,
            name: new.name.clone().unwrap_or_else(|| recipe.name.clone()),
            recipe_id: new.recipe,
            recipe_revision,
            volume_l: new.volume_l.unwrap_or(recipe.volume_l),
            recipe,
            equipment,
            tap_c: new.tap_c,
            altitude_m: new.altitude_m,
            lists: checklists::read(&mut *change).await?,
            created_at: from_ms(to_ms(now))?,
            chill_plan: None,
            kettle_loss: None,
        };
        batch.kettle_loss = kettles::loss(&mut change, &batch).await?;
        batch.id = insert(&mut change, &batch, new.typed.clone()).await?;
        let id = batch.id;
        summaries::write(&mut change, &BrewDay::fold(batch, Vec::new())).await?;
        self.note_made(&mut change, id, to_ms(now)).await?;
        change.commit().await?;
        Ok(Ok(id))
    }

    /// Everything about a batch that is not in its log.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn batch(&self, id: i64) -> Result<Option<Batch>> {
        read(&self.0.readers, id).await
    }

    /// Gives a batch another name. Tells whether there is such a batch.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn rename_batch(&self, id: i64, name: &str) -> Result<bool> {
        let (store, name) = (self.clone(), name.to_owned());
        // Seen through even if the asker is gone: the day kept in memory follows the file.
        super::seen_through(async move {
            let mut change = store.begin().await?;
            let done =
                sqlx::query!("update batch set name = ? where batch_id = ?", name, id).execute(&mut *change).await?;
            let committed = change.commit().await;
            store.0.days.forget(id);
            committed?;
            Ok(done.rows_affected() > 0)
        })
        .await
    }

    /// Id and name of each batch that is in progress, newest first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn batches_in_progress(&self) -> Result<Vec<(i64, String)>> {
        let in_progress = BatchState::ALL.iter().filter(|state| state.in_progress());
        let states = to_json(&in_progress.map(|state| state.key()).collect::<Vec<_>>())?;
        let rows = sqlx::query!(
            "
            select
                batch_id,
                name
            from batch
            join summary using (batch_id)
            where state in (select value from json_each(?))
            order by batch_id desc
            ",
            states,
        )
        .fetch_all(&self.0.readers)
        .await?;
        Ok(rows.into_iter().map(|row| (row.batch_id, row.name)).collect())
    }

    /// The ids of all batches, oldest first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn batch_ids(&self) -> Result<Vec<i64>> {
        Ok(sqlx::query_scalar!("select batch_id from batch order by batch_id").fetch_all(&self.0.readers).await?)
    }
}

/// Reads a batch, through a pool or within a transaction.
pub(super) async fn read(from: impl SqliteExecutor<'_>, id: i64) -> Result<Option<Batch>> {
    let row = sqlx::query_as!(
        Row,
        r#"
        select
            batch.batch_id,
            batch.name,
            batch.recipe_id,
            recipe_revision,
            recipe_revision.body as recipe,
            volume_l,
            batch.body,
            batch.created_ms,
            chill_plan.body as "chill_plan?"
        from batch
        join recipe_revision
            on recipe_revision.recipe_id = batch.recipe_id
            and recipe_revision.number = batch.recipe_revision
        left join chill_plan on chill_plan.batch_id = batch.batch_id
        where batch.batch_id = ?
        "#,
        id,
    )
    .fetch_optional(from)
    .await?;
    row.map(Row::batch).transpose()
}

/// Writes a batch and gives its id; the one in `batch` is not looked at.
pub(super) async fn insert(change: &mut SqliteConnection, batch: &Batch, typed: Typed) -> Result<i64> {
    let snapshot = Snapshot {
        equipment: batch.equipment.clone(),
        tap_c: batch.tap_c,
        altitude_m: batch.altitude_m,
        lists: batch.lists.clone(),
        kettle_loss: batch.kettle_loss,
        typed,
    };
    let (body, created_ms) = (to_json(&snapshot)?, to_ms(batch.created_at));
    let added = sqlx::query!(
        "
        insert into batch (name, recipe_id, recipe_revision, volume_l, body, created_ms)
        values (?, ?, ?, ?, ?, ?)
        ",
        batch.name,
        batch.recipe_id,
        batch.recipe_revision,
        batch.volume_l,
        body,
        created_ms,
    )
    .execute(change)
    .await?;
    Ok(added.last_insert_rowid())
}

async fn newest_recipe(change: &mut SqliteConnection, id: i64) -> Result<Option<(i64, Recipe)>> {
    let newest = sqlx::query!(
        "
        select
            number,
            body
        from recipe_revision
        where recipe_id = ?
        order by number desc
        limit 1
        ",
        id,
    )
    .fetch_optional(change)
    .await?;
    newest.map(|row| Ok((row.number, from_json("a recipe", &row.body)?))).transpose()
}

/// The equipment of these ids, each once and in this order, and a fault for each that isn't there.
async fn described(change: &mut SqliteConnection, ids: &[i64]) -> Result<(Vec<EquipmentRecord>, Vec<Fault>)> {
    let (mut found, mut faults, mut seen) = (Vec::new(), Vec::new(), BTreeSet::new());
    for &id in ids.iter().filter(|id| seen.insert(**id)) {
        let body = sqlx::query_scalar!("select body from equipment where equipment_id = ?", id)
            .fetch_optional(&mut *change)
            .await?;
        match body {
            Some(body) => found.push(care::with_care(&mut *change, id, &body).await?),
            None => faults.push(Fault::new("equipment", format!("There is no equipment {id} in the book."))),
        }
    }
    Ok((found, faults))
}

impl Row {
    fn batch(self) -> Result<Batch> {
        let Snapshot { equipment, tap_c, altitude_m, lists, kettle_loss, typed: _ } = from_json("a batch", &self.body)?;
        Ok(Batch {
            id: self.batch_id,
            name: self.name,
            recipe_id: self.recipe_id,
            recipe_revision: self.recipe_revision,
            recipe: from_json("a recipe", &self.recipe)?,
            volume_l: self.volume_l,
            equipment,
            tap_c,
            altitude_m,
            lists,
            created_at: from_ms(self.created_ms)?,
            chill_plan: self.chill_plan.map(|body| from_json("a chill plan", &body)).transpose()?,
            kettle_loss,
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::brewday::{CheckLists, Fault};
    use crate::store::testing::{Book, NOON, book, equipment, new_batch, recipe};

    #[tokio::test]
    async fn a_batch_keeps_what_it_was_started_with() {
        let Book { store, folder: _folder } = book().await;
        let recipe_id = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let mut new = new_batch(recipe_id);
        new.equipment = vec![coil, coil];
        new.tap_c = Some(11.5);
        let id = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let before = store.batch(id).await.unwrap().unwrap();
        assert_eq!((before.name.as_str(), before.volume_l, before.recipe_revision), ("Pale", 20.0, 1));
        assert_eq!((before.equipment.len(), before.tap_c, before.created_at), (1, Some(11.5), NOON));

        store.revise_recipe(recipe_id, &recipe("Paler"), NOON).await.unwrap();
        store.change_equipment(coil, &equipment("Other coil", "coil"), NOON).await.unwrap();
        store.save_check_lists(&CheckLists(Vec::new()), NOON).await.unwrap();
        assert_eq!(store.batch(id).await.unwrap().unwrap(), before);

        let next = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let next = store.batch(next).await.unwrap().unwrap();
        assert_eq!((next.recipe_revision, next.equipment[0].equipment.name.as_str()), (2, "Other coil"));
        assert!(next.lists.0.is_empty());
    }

    #[tokio::test]
    async fn what_is_not_in_the_book_is_named_by_its_field() {
        let Book { store, folder: _folder } = book().await;
        let mut new = new_batch(7);
        new.equipment = vec![3];
        let faults = store.start_batch(&new, NOON).await.unwrap().unwrap_err();
        let wanted = [
            Fault::new("recipe", "There is no recipe 7 in the book."),
            Fault::new("equipment", "There is no equipment 3 in the book."),
        ];
        assert_eq!(faults, wanted);
        assert!(store.batch_ids().await.unwrap().is_empty());
    }

    #[tokio::test]
    async fn a_new_name_is_seen_on_the_day_at_once() {
        let Book { store, folder: _folder } = book().await;
        let recipe_id = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let id = store.start_batch(&new_batch(recipe_id), NOON).await.unwrap().unwrap();
        assert_eq!(store.day(id).await.unwrap().unwrap().batch.name, "Pale");
        assert!(store.rename_batch(id, "For the party").await.unwrap());
        assert_eq!(store.day(id).await.unwrap().unwrap().batch.name, "For the party");
        assert!(!store.rename_batch(99, "None").await.unwrap());
    }
}
