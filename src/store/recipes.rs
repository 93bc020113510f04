//! Recipes and their revisions. A revision is never changed: an edit writes the next.

use time::OffsetDateTime;

use super::{Result, Store, from_json, from_ms, is_found, to_json, to_ms};
use crate::brewday::Recipe;

/// A recipe as it stands in the book, at one revision.
#[derive(Clone, Debug, PartialEq)]
pub struct RecipeRecord {
    /// Its id, the same for all revisions.
    pub id: i64,
    /// Which revision this is, counted from 1.
    pub revision: i64,
    /// What it says.
    pub recipe: Recipe,
    /// When the first revision was written.
    pub created_at: OffsetDateTime,
    /// When this revision was written.
    pub changed_at: OffsetDateTime,
    /// Whether it was put away.
    pub retired: bool,
}

struct Row {
    recipe_id: i64,
    number: i64,
    body: String,
    created_ms: i64,
    changed_ms: i64,
    retired_ms: Option<i64>,
}

impl Store {
    /// Writes a new recipe's first revision and gives its id.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn add_recipe(&self, recipe: &Recipe, now: OffsetDateTime) -> Result<i64> {
        let (body, now) = (to_json(recipe)?, to_ms(now));
        let mut change = self.begin().await?;
        if let Some(made) = self.made_before(&mut change).await? {
            return Ok(made);
        }
        let id = sqlx::query!("insert into recipe (created_ms) values (?)", now)
            .execute(&mut *change)
            .await?
            .last_insert_rowid();
        sqlx::query!(
            "insert into recipe_revision (recipe_id, number, name, body, created_ms) values (?, 1, ?, ?, ?)",
            id,
            recipe.name,
            body,
            now,
        )
        .execute(&mut *change)
        .await?;
        self.note_made(&mut change, id, now).await?;
        change.commit().await?;
        Ok(id)
    }

    /// Writes a recipe's next revision and gives its number; `None` where there is no such recipe.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn revise_recipe(&self, id: i64, recipe: &Recipe, now: OffsetDateTime) -> Result<Option<i64>> {
        let (body, now) = (to_json(recipe)?, to_ms(now));
        let mut change = self.begin().await?;
        if let Some(made) = self.made_before(&mut change).await? {
            return Ok(Some(made));
        }
        let last =
            sqlx::query_scalar!(r#"select max(number) as "number: i64" from recipe_revision where recipe_id = ?"#, id)
                .fetch_one(&mut *change)
                .await?;
        let Some(number) = last.map(|last| last + 1) else { return Ok(None) };
        sqlx::query!(
            "insert into recipe_revision (recipe_id, number, name, body, created_ms) values (?, ?, ?, ?, ?)",
            id,
            number,
            recipe.name,
            body,
            now,
        )
        .execute(&mut *change)
        .await?;
        self.note_made(&mut change, number, now).await?;
        change.commit().await?;
        Ok(Some(number))
    }

    /// A recipe at its newest revision.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn recipe(&self, id: i64) -> Result<Option<RecipeRecord>> {
        let row = sqlx::query_as!(
            Row,
            r#"
            select
                recipe_id,
                number,
                body,
                recipe.created_ms,
                recipe_revision.created_ms as changed_ms,
                retired_ms
            from recipe join recipe_revision using (recipe_id)
            where recipe_id = ?
            order by number desc
            limit 1
            "#,
            id,
        )
        .fetch_optional(&self.0.readers)
        .await?;
        row.map(Row::record).transpose()
    }

    /// A recipe as it was at one revision.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn recipe_revision(&self, id: i64, revision: i64) -> Result<Option<RecipeRecord>> {
        let row = sqlx::query_as!(
            Row,
            r#"
            select
                recipe_id,
                number,
                body,
                recipe.created_ms,
                recipe_revision.created_ms as changed_ms,
                retired_ms
            from recipe join recipe_revision using (recipe_id)
            where recipe_id = ? and number = ?
            "#,
            id,
            revision,
        )
        .fetch_optional(&self.0.readers)
        .await?;
        row.map(Row::record).transpose()
    }

    /// Every revision of a recipe, the newest first; none where there is no such recipe.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn recipe_revisions(&self, id: i64) -> Result<Vec<RecipeRecord>> {
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                recipe_id,
                number,
                body,
                recipe.created_ms,
                recipe_revision.created_ms as changed_ms,
                retired_ms
            from recipe join recipe_revision using (recipe_id)
            where recipe_id = ?
            order by number desc
            "#,
            id,
        )
        .fetch_all(&self.0.readers)
        .await?;
        rows.into_iter().map(Row::record).collect()
    }

    /// Every recipe at its newest revision whose name holds `search`, by name;
    /// those put away only where `retired` asks for them, and then only those.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn recipes(&self, search: &str, retired: bool) -> Result<Vec<RecipeRecord>> {
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                recipe_id,
                number,
                body,
                recipe.created_ms,
                newest.created_ms as changed_ms,
                retired_ms
            from recipe join recipe_revision as newest using (recipe_id)
            where number = (select max(number) from recipe_revision where recipe_id = recipe.recipe_id)
                and (retired_ms is not null) = ?
            order by name collate nocase, recipe_id
            "#,
            retired,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let records = rows.into_iter().map(Row::record);
        let found = |record: &Result<RecipeRecord>| {
            record.as_ref().map_or(true, |record| is_found(&record.recipe.name, search))
        };
        records.filter(found).collect()
    }

    /// Puts a recipe away; its batches keep it. Tells whether there is such a recipe.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn retire_recipe(&self, id: i64, now: OffsetDateTime) -> Result<bool> {
        self.set_recipe_retired(id, Some(to_ms(now))).await
    }

    /// Takes a recipe out again. Tells whether there is such a recipe.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn unretire_recipe(&self, id: i64) -> Result<bool> {
        self.set_recipe_retired(id, None).await
    }

    async fn set_recipe_retired(&self, id: i64, retired_ms: Option<i64>) -> Result<bool> {
        let mut change = self.begin().await?;
        let done = sqlx::query!("update recipe set retired_ms = ? where recipe_id = ?", retired_ms, id)
            .execute(&mut *change)
            .await?;
        change.commit().await?;
        Ok(done.rows_affected() > 0)
    }
}

impl Row {
    fn record(self) -> Result<RecipeRecord> {
        Ok(RecipeRecord {
            id: self.recipe_id,
            revision: self.number,
            recipe: from_json("a recipe", &self.body)?,
            created_at: from_ms(self.created_ms)?,
            changed_at: from_ms(self.changed_ms)?,
            retired: self.retired_ms.is_some(),
        })
    }
}

#[cfg(test)]
mod tests {
    use time::Duration;

    use crate::store::testing::{Book, NOON, book, recipe};

    #[tokio::test]
    async fn an_edit_is_a_new_revision_and_the_old_one_stays() {
        let Book { store, folder: _folder } = book().await;
        let id = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let later = NOON + Duration::hours(2);
        assert_eq!(store.revise_recipe(id, &recipe("Paler"), later).await.unwrap(), Some(2));
        let now = store.recipe(id).await.unwrap().unwrap();
        assert_eq!((now.revision, &now.recipe, now.created_at, now.changed_at), (2, &recipe("Paler"), NOON, later));
        let first = store.recipe_revision(id, 1).await.unwrap().unwrap();
        assert_eq!((&first.recipe, first.changed_at), (&recipe("Pale"), NOON));
        assert_eq!(store.revise_recipe(99, &recipe("None"), NOON).await.unwrap(), None);
        assert!(store.recipe_revision(id, 3).await.unwrap().is_none());
        assert_eq!(store.recipe_revisions(id).await.unwrap(), [now, first], "the newest first");
    }

    #[tokio::test]
    async fn the_list_is_searched_by_any_part_of_the_name_and_leaves_out_what_was_put_away() {
        let Book { store, folder: _folder } = book().await;
        for name in ["Stout", "pale 100%", "Ämber"] {
            store.add_recipe(&recipe(name), NOON).await.unwrap();
        }
        let names = async |search: &str, retired| {
            let found = store.recipes(search, retired).await.unwrap();
            found.into_iter().map(|record| record.recipe.name).collect::<Vec<_>>()
        };
        assert_eq!(names("", false).await, ["pale 100%", "Stout", "Ämber"]);
        assert_eq!(names("0%", false).await, ["pale 100%"]);
        assert_eq!(names("ST", false).await, ["Stout"]);
        assert_eq!(names(" äM", false).await, ["Ämber"]);
        assert!(store.retire_recipe(1, NOON).await.unwrap());
        assert_eq!(names("", false).await, ["pale 100%", "Ämber"]);
        assert_eq!(names("", true).await, ["Stout"]);
        assert!(store.unretire_recipe(1).await.unwrap());
        assert_eq!(names("st", false).await, ["Stout"]);
        assert!(!store.retire_recipe(99, NOON).await.unwrap());
    }

    #[tokio::test]
    async fn a_revision_can_be_neither_changed_nor_deleted() {
        let Book { store, folder: _folder } = book().await;
        store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let change = sqlx::query("update recipe_revision set name = 'x'").execute(&store.0.writer).await;
        assert!(change.unwrap_err().to_string().contains("a recipe revision is never changed"));
        let delete = sqlx::query("delete from recipe_revision").execute(&store.0.writer).await;
        assert!(delete.unwrap_err().to_string().contains("a recipe revision is never deleted"));
    }
}
