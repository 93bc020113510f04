//! The records of a carried book, written with the numbers they have.

use sqlx::SqliteConnection;

use crate::brewday::BrewDay;
use crate::brewday::carried::{BookBatch, BookEquipment, BookPlan, BookRecipe, CarriedBook};
use crate::brewday::choices::Choice;
use crate::store::batches::Snapshot;
use crate::store::{Result, StoreError, chill_plans, log, to_json, to_ms};

pub(super) async fn settings(change: &mut SqliteConnection, book: &CarriedBook) -> Result<()> {
    let settings = to_json(&book.settings)?;
    sqlx::query!("insert or replace into setting (setting_id, body) values (1, ?)", settings)
        .execute(&mut *change)
        .await?;
    if let Some(lists) = &book.check_lists {
        let lists = to_json(lists)?;
        sqlx::query!("insert or replace into check_lists (check_lists_id, body) values (1, ?)", lists)
            .execute(change)
            .await?;
    }
    Ok(())
}

pub(super) async fn recipe(change: &mut SqliteConnection, recipe: &BookRecipe) -> Result<()> {
    let (created_ms, retired_ms) = (to_ms(recipe.created_at), recipe.retired_at.map(to_ms));
    sqlx::query!(
        "insert into recipe (recipe_id, created_ms, retired_ms) values (?, ?, ?)",
        recipe.id,
        created_ms,
        retired_ms,
    )
    .execute(&mut *change)
    .await?;
    for (revision, number) in recipe.revisions.iter().zip(1_i64..) {
        let (body, revised_ms) = (to_json(&revision.recipe)?, to_ms(revision.created_at));
        sqlx::query!(
            "insert into recipe_revision (recipe_id, number, name, body, created_ms) values (?, ?, ?, ?, ?)",
            recipe.id,
            number,
            revision.recipe.name,
            body,
            revised_ms,
        )
        .execute(&mut *change)
        .await?;
    }
    Ok(())
}

pub(super) async fn equipment(change: &mut SqliteConnection, piece: &BookEquipment) -> Result<()> {
    let (kind, body) = (piece.equipment.kind.key(), to_json(&piece.equipment)?);
    let (created_ms, changed_ms) = (to_ms(piece.created_at), to_ms(piece.changed_at));
    let retired_ms = piece.retired_at.map(to_ms);
    sqlx::query!(
        "
        insert into equipment (equipment_id, kind, name, body, created_ms, changed_ms, retired_ms)
        values (?, ?, ?, ?, ?, ?, ?)
        ",
        piece.id,
        kind,
        piece.equipment.name,
        body,
        created_ms,
        changed_ms,
        retired_ms,
    )
    .execute(change)
    .await?;
    Ok(())
}

/// Writes a batch and what was planned for it, and gives its day with nothing in its log yet.
pub(super) async fn batch(change: &mut SqliteConnection, batch: BookBatch) -> Result<BrewDay> {
    let created_ms = to_ms(batch.created_at);
    let snapshot = Snapshot {
        equipment: batch.equipment,
        tap_c: batch.tap_c,
        altitude_m: batch.altitude_m,
        lists: batch.lists,
        kettle_loss: batch.kettle_loss,
        typed: batch.typed,
    };
    let body = to_json(&snapshot)?;
    sqlx::query!(
        "
        insert into batch (batch_id, name, recipe_id, recipe_revision, volume_l, body, created_ms)
        values (?, ?, ?, ?, ?, ?, ?)
        ",
        batch.id,
        batch.name,
        batch.recipe,
        batch.recipe_revision,
        batch.volume_l,
        body,
        created_ms,
    )
    .execute(&mut *change)
    .await?;
    if let Some(BookPlan { kept_at, plan }) = &batch.chill_plan {
        chill_plans::write(change, batch.id, plan, *kept_at).await?;
    }
    let missing = || StoreError::Unreadable { what: "a batch just written", why: "it is gone".into() };
    log::fold(change, batch.id).await?.ok_or_else(missing)
}
