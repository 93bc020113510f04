//! Everything that is in the book, read within one snapshot.

use sqlx::SqliteConnection;
use uuid::Uuid;

use crate::brewday::LoggedEntry;
use crate::brewday::carried::{BookBatch, BookEntry, BookEquipment, BookPlan, BookRecipe, BookRevision, CarriedEntry};
use crate::store::batches::Snapshot;
use crate::store::log::Row;
use crate::store::{Result, StoreError, from_json, from_ms};

pub(super) async fn recipes(snapshot: &mut SqliteConnection) -> Result<Vec<BookRecipe>> {
    let rows = sqlx::query!(
        "
        select
            recipe_id,
            recipe.created_ms,
            retired_ms,
            recipe_revision.created_ms as revised_ms,
            body
        from recipe
        join recipe_revision using (recipe_id)
        order by recipe_id, number
        "
    )
    .fetch_all(snapshot)
    .await?;
    let mut recipes: Vec<BookRecipe> = Vec::new();
    for row in rows {
        let revision = BookRevision { created_at: from_ms(row.revised_ms)?, recipe: from_json("a recipe", &row.body)? };
        match recipes.last_mut().filter(|recipe| recipe.id == row.recipe_id) {
            Some(recipe) => recipe.revisions.push(revision),
            None => recipes.push(BookRecipe {
                id: row.recipe_id,
                created_at: from_ms(row.created_ms)?,
                retired_at: row.retired_ms.map(from_ms).transpose()?,
                revisions: vec![revision],
            }),
        }
    }
    Ok(recipes)
}

pub(super) async fn equipment(snapshot: &mut SqliteConnection) -> Result<Vec<BookEquipment>> {
    let rows = sqlx::query!(
        "
        select
            equipment_id,
            body,
            created_ms,
            changed_ms,
            retired_ms
        from equipment
        order by equipment_id
        "
    )
    .fetch_all(snapshot)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(BookEquipment {
                id: row.equipment_id,
                created_at: from_ms(row.created_ms)?,
                changed_at: from_ms(row.changed_ms)?,
                retired_at: row.retired_ms.map(from_ms).transpose()?,
                equipment: from_json("a piece of equipment", &row.body)?,
            })
        })
        .collect()
}

pub(super) async fn batches(snapshot: &mut SqliteConnection) -> Result<Vec<BookBatch>> {
    let rows = sqlx::query!(
        r#"
        select
            batch.batch_id,
            name,
            recipe_id,
            recipe_revision,
            volume_l,
            batch.body,
            created_ms,
            chill_plan.body as "plan?",
            kept_ms as "kept_ms?",
            summary.body as "summary?"
        from batch
        left join chill_plan on chill_plan.batch_id = batch.batch_id
        left join summary on summary.batch_id = batch.batch_id
        order by batch.batch_id
        "#
    )
    .fetch_all(snapshot)
    .await?;
    rows.into_iter()
        .map(|row| {
            let Snapshot { equipment, tap_c, altitude_m, lists, kettle_loss, typed } = from_json("a batch", &row.body)?;
            let chill_plan = row.plan.zip(row.kept_ms).map(|(plan, kept_ms)| {
                Ok::<_, StoreError>(BookPlan { kept_at: from_ms(kept_ms)?, plan: from_json("a chill plan", &plan)? })
            });
            Ok(BookBatch {
                id: row.batch_id,
                name: row.name,
                recipe: row.recipe_id,
                recipe_revision: row.recipe_revision,
                volume_l: row.volume_l,
                tap_c,
                altitude_m,
                created_at: from_ms(row.created_ms)?,
                equipment,
                lists,
                kettle_loss,
                typed,
                chill_plan: chill_plan.transpose()?,
                summary: row.summary.map(|body| from_json("a summary", &body)).transpose()?,
            })
        })
        .collect()
}

pub(super) async fn entries(snapshot: &mut SqliteConnection) -> Result<Vec<BookEntry>> {
    let rows = sqlx::query_as!(
        Row,
        r#"
        select
            seq,
            entry_id as "entry_id: Uuid",
            batch_id,
            at_ms,
            received_ms,
            device,
            body
        from entry
        order by seq
        "#
    )
    .fetch_all(snapshot)
    .await?;
    rows.into_iter()
        .map(|row| {
            let batch = row.batch_id;
            let LoggedEntry { received_at, device, entry, .. } = row.logged()?;
            Ok(BookEntry { batch, carried: CarriedEntry { received_at, device, entry } })
        })
        .collect()
}
