//! The whole book out, and into an empty one: every record with its number.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use uuid::Uuid;

use super::log::{Append, Row};
use super::{Result, Store, batches::Snapshot, chill_plans, from_json, from_ms, log, seen_through, summaries};
use super::{to_json, to_ms};
use crate::brewday::carried::{
    BookBatch, BookEntry, BookEquipment, BookPlan, BookRecipe, BookRevision, CarriedBook, CarriedEntry,
};
use crate::brewday::choices::Choice;
use crate::brewday::{BrewDay, Fault, LoggedEntry};

impl Store {
    /// Everything that is in the book, as it stands at one moment.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn carry_book_out(&self) -> Result<CarriedBook> {
        let mut snapshot = self.0.readers.begin().await?;
        let settings = sqlx::query_scalar!("select body from setting").fetch_optional(&mut *snapshot).await?;
        let settings = settings.map(|body| from_json("the settings", &body)).transpose()?.unwrap_or_default();
        let lists = sqlx::query_scalar!("select body from check_lists").fetch_optional(&mut *snapshot).await?;
        let lists = lists.map(|body| from_json("the check lists", &body)).transpose()?;
        Ok(CarriedBook {
            recipes: recipes(&mut snapshot).await?,
            equipment: equipment(&mut snapshot).await?,
            batches: all_batches(&mut snapshot).await?,
            entries: entries(&mut snapshot).await?,
            ..CarriedBook::new(settings, lists)
        })
    }

    /// Takes a whole book into this one, which has to be empty, and gives the
    /// number of its batches. Only the settings are written over.
    ///
    /// The inner result holds what is wrong with it; then nothing was taken.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn carry_book_in(&self, book: CarriedBook) -> Result<std::result::Result<usize, Vec<Fault>>> {
        let store = self.clone();
        seen_through(async move { store.carry_book_in_now(book).await }).await
    }

    async fn carry_book_in_now(&self, book: CarriedBook) -> Result<std::result::Result<usize, Vec<Fault>>> {
        let mut change = self.begin().await?;
        if !is_empty(&mut change).await? {
            let why = "This book has records already, and a whole book goes into an empty one only. \
                       Name a new file with --data, or import single batches.";
            return Ok(Err(vec![Fault::new("batches", why)]));
        }
        if let Err(fault) = holds_together(&book) {
            return Ok(Err(vec![fault]));
        }
        write_settings(&mut change, &book).await?;
        for recipe in &book.recipes {
            write_recipe(&mut change, recipe).await?;
        }
        for piece in &book.equipment {
            write_equipment(&mut change, piece).await?;
        }
        let count = book.batches.len();
        let mut logs: BTreeMap<Option<i64>, Append> = BTreeMap::new();
        logs.insert(None, Append::to(None));
        for batch in book.batches {
            let day = write_batch(&mut change, batch).await?;
            logs.insert(Some(day.batch.id), Append::to(Some(day)));
        }
        for BookEntry { batch, carried } in book.entries {
            let CarriedEntry { received_at, device, entry } = carried;
            let Some(log) = logs.get_mut(&batch) else { continue };
            log.device = device;
            log.now = from_ms(to_ms(received_at))?;
            log.take(&mut change, entry).await?;
        }
        for log in logs.into_values() {
            let (day, receipt) = log.finish();
            let faults = super::carry::faults(&receipt);
            if !faults.is_empty() {
                return Ok(Err(faults));
            }
            if let Some(day) = day {
                summaries::write(&mut change, &day).await?;
            }
        }
        change.commit().await?;
        Ok(Ok(count))
    }
}

/// Whether whatever a record of the document refers to is in the document.
fn holds_together(book: &CarriedBook) -> std::result::Result<(), Fault> {
    let revisions: BTreeMap<i64, usize> =
        book.recipes.iter().map(|recipe| (recipe.id, recipe.revisions.len())).collect();
    let batches: std::collections::BTreeSet<i64> = book.batches.iter().map(|batch| batch.id).collect();
    for (index, batch) in book.batches.iter().enumerate() {
        let known = revisions.get(&batch.recipe).copied().unwrap_or(0);
        if !usize::try_from(batch.recipe_revision).is_ok_and(|number| (1..=known).contains(&number)) {
            let why = "There is no such recipe, or no such revision of it, in the document.";
            return Err(Fault::new(format!("batches.{index}.recipe"), why));
        }
    }
    for (index, entry) in book.entries.iter().enumerate() {
        if entry.batch.is_some_and(|batch| !batches.contains(&batch)) {
            let why = "There is no batch with this number in the document.";
            return Err(Fault::new(format!("entries.{index}.batch"), why));
        }
    }
    Ok(())
}

async fn is_empty(change: &mut SqliteConnection) -> Result<bool> {
    let records = sqlx::query_scalar!(
        r#"
        select exists (select 1 from recipe)
            + exists (select 1 from equipment)
            + exists (select 1 from batch)
            + exists (select 1 from entry) as "records!: i64"
        "#
    )
    .fetch_one(change)
    .await?;
    Ok(records == 0)
}

async fn recipes(snapshot: &mut SqliteConnection) -> Result<Vec<BookRecipe>> {
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

async fn equipment(snapshot: &mut SqliteConnection) -> Result<Vec<BookEquipment>> {
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

async fn all_batches(snapshot: &mut SqliteConnection) -> Result<Vec<BookBatch>> {
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
                Ok::<_, super::StoreError>(BookPlan {
                    kept_at: from_ms(kept_ms)?,
                    plan: from_json("a chill plan", &plan)?,
                })
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

async fn entries(snapshot: &mut SqliteConnection) -> Result<Vec<BookEntry>> {
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

async fn write_settings(change: &mut SqliteConnection, book: &CarriedBook) -> Result<()> {
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

async fn write_recipe(change: &mut SqliteConnection, recipe: &BookRecipe) -> Result<()> {
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

async fn write_equipment(change: &mut SqliteConnection, piece: &BookEquipment) -> Result<()> {
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
async fn write_batch(change: &mut SqliteConnection, batch: BookBatch) -> Result<BrewDay> {
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
    let missing = || super::StoreError::Unreadable { what: "a batch just written", why: "it is gone".into() };
    log::fold(change, batch.id).await?.ok_or_else(missing)
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};
    use time::Duration;

    use super::*;
    use crate::brewday::Settings;
    use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan};
    use crate::demo;
    use crate::store::testing::{Book, NOON, book, entry, equipment as piece, new_batch, recipe};

    const LATER: Duration = Duration::days(400);

    async fn written(store: &Store) -> Value {
        serde_json::to_value(store.carry_book_out().await.unwrap()).unwrap()
    }

    fn read(document: &Value) -> std::result::Result<CarriedBook, Vec<Fault>> {
        CarriedBook::from_body(document, NOON + LATER)
    }

    /// A year of brewing, and besides whatever the demo has none of.
    async fn full() -> Book {
        let book = book().await;
        let store = &book.store;
        demo::fill(store, NOON).await.unwrap();
        let id = store.add_recipe(&recipe("Put away"), NOON).await.unwrap();
        store.revise_recipe(id, &recipe("Put away, paler"), NOON + Duration::hours(1)).await.unwrap();
        store.retire_recipe(id, NOON + Duration::hours(2)).await.unwrap();
        let spoon = store.add_equipment(&piece("Spoon", "other"), NOON).await.unwrap();
        store.change_equipment(spoon, &piece("Long spoon", "other"), NOON + Duration::hours(1)).await.unwrap();
        store.retire_equipment(spoon, NOON + Duration::hours(3)).await.unwrap();
        let asked = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
            "baths": [{"water_l": 17, "water_c": 12}, {"water_l": 12, "water_c": 12, "ice_kg": 8}]});
        let plan = KeptPlan::of(ChillPlanRequest::from_body(&asked).unwrap(), &CoilPasses::given(120.0));
        assert!(store.keep_chill_plan(2, &plan, NOON).await.unwrap());
        let mut lists = store.check_lists().await.unwrap();
        lists.0.truncate(1);
        store.save_check_lists(&lists).await.unwrap();
        // A batch that came from elsewhere.
        let other = super::super::testing::book().await;
        let recipe = other.store.add_recipe(&recipe("Carried"), NOON).await.unwrap();
        let mut new = new_batch(recipe);
        new.typed.insert("volume_l".into(), "5 gal".into());
        let batch = other.store.start_batch(&new, NOON).await.unwrap().unwrap();
        let note = entry(77, r#"{"kind": "note", "note": "=1+1"}"#);
        other.store.append(Some(batch), vec![note], Some("Other phone"), NOON).await.unwrap();
        let carried = other.store.carry_out(batch).await.unwrap().unwrap();
        store.carry_in(carried).await.unwrap().unwrap();
        store
            .save_settings(&Settings { house: "Both".into(), altitude_m: Some(3.5), ..Settings::default() })
            .await
            .unwrap();
        book
    }

    #[tokio::test]
    async fn a_book_carried_out_in_and_out_again_is_the_same_to_the_byte() {
        let here = full().await;
        let document = written(&here.store).await;
        let has = |pointer: &str, some: fn(&Value) -> bool| {
            let rows = document[pointer].as_array().unwrap();
            assert!(rows.iter().any(some), "the book has such a thing among its {pointer}");
        };
        has("recipes", |recipe| recipe["revisions"].as_array().unwrap().len() > 1 && !recipe["retired_at"].is_null());
        has("equipment", |piece| piece["created_at"] != piece["changed_at"] && !piece["retired_at"].is_null());
        has("batches", |batch| !batch["chill_plan"].is_null());
        has("entries", |entry| entry["batch"].is_null());
        has("entries", |entry| entry["kind"] == "amendment");

        let there = book().await;
        let batches = there.store.carry_book_in(read(&document).unwrap()).await.unwrap().unwrap();
        assert_eq!(batches, document["batches"].as_array().unwrap().len());
        let (one, other) = (written(&here.store).await.to_string(), written(&there.store).await.to_string());
        let at = one.bytes().zip(other.bytes()).position(|(one, other)| one != other).unwrap_or(one.len());
        assert!(
            one == other,
            "…{} is now …{}",
            &one[at.saturating_sub(80)..(at + 80).min(one.len())],
            &other[at.saturating_sub(80)..(at + 80).min(other.len())]
        );
        assert_eq!(there.store.check_summaries().await.unwrap().different, [0; 0]);
        assert_eq!(there.store.check_file().await.unwrap(), [""; 0]);
        // What is written next in either gets the same number.
        let next = recipe("Next");
        let (one, other) = (here.store.add_recipe(&next, NOON).await, there.store.add_recipe(&next, NOON).await);
        assert_eq!(one.unwrap(), other.unwrap());
    }

    #[tokio::test]
    async fn a_book_with_records_takes_no_other_in() {
        let Book { store, folder: _folder } = book().await;
        store.add_recipe(&recipe("Mine"), NOON).await.unwrap();
        let document = written(&store).await;
        let faults = store.carry_book_in(read(&document).unwrap()).await.unwrap().unwrap_err();
        assert!(format!("{}", faults[0].why).contains("an empty one only"), "{faults:?}");
        assert_eq!(written(&store).await, document);
    }

    #[tokio::test]
    async fn a_bad_book_is_refused_by_field_and_leaves_nothing() {
        let here = full().await;
        let document = written(&here.store).await;
        for (pointer, bad, field) in [
            ("/gylebook", json!(7), "gylebook"),
            ("/settings", json!("none"), "settings"),
            ("/check_lists/0/stage", json!("lunch"), "check_lists.0.stage"),
            ("/recipes/0/revisions/0/volume_l", json!(-1), "recipes.0.revisions.0.volume_l"),
            ("/recipes/0/revisions", json!([]), "recipes.0.revisions"),
            ("/recipes/1/id", json!(1), "recipes"),
            ("/recipes/0/id", json!(0), "recipes.0.id"),
            ("/equipment/0/kind", json!("spoon"), "equipment.0.kind"),
            ("/equipment/0/changed_at", json!("noon"), "equipment.0.changed_at"),
            ("/batches/0/volume_l", json!(0), "batches.0.volume_l"),
            ("/batches/0/equipment/0/care", json!(4), "batches.0.equipment.0.care"),
            ("/entries/0/batch", json!("one"), "entries.0.batch"),
            ("/entries/0/at", json!("2199-01-01T00:00:00Z"), "entries.0.at"),
            ("/entries", json!(3), "entries"),
        ] {
            let mut document = document.clone();
            *document.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = bad;
            let faults = read(&document).unwrap_err();
            assert_eq!(faults.iter().map(|fault| fault.field.as_str()).collect::<Vec<_>>(), [field], "{pointer}");
        }
        // What only holds together as a whole is found out before anything is written.
        for (pointer, bad) in [
            ("/batches/0/recipe", json!(99)),
            ("/batches/0/recipe_revision", json!(99)),
            ("/entries/9/batch", json!(99)),
            ("/entries/1/id", document["entries"][0]["id"].clone()),
        ] {
            let mut document = document.clone();
            *document.pointer_mut(pointer).unwrap() = bad;
            let there = book().await;
            assert!(there.store.carry_book_in(read(&document).unwrap()).await.unwrap().is_err(), "{pointer}");
            assert!(there.store.recipes("", false).await.unwrap().is_empty());
        }
    }
}
