//! A batch out of this book and into another, whole or not at all.

use std::collections::BTreeMap;
use std::sync::Arc;

use sqlx::SqliteConnection;

use super::log::{Append, Receipt};
use super::{
    Change, Result, Store, batches, chill_plans, from_json, from_ms, log, seen_through, summaries, to_json, to_ms,
};
use crate::brewday::carried::{Carried, CarriedBatch, CarriedEntry, CarriedEquipment, equipment_of, renumber};
use crate::brewday::choices::Choice;
use crate::brewday::{Batch, BrewDay, Equipment, EquipmentRecord, Fault, Recipe, Summary, Typed};

impl Store {
    /// Everything that is known of a batch, for another book.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn carry_out(&self, batch: i64) -> Result<Option<Carried>> {
        let mut snapshot = self.0.readers.begin().await?;
        let Some(day) = log::fold(&mut snapshot, batch).await? else { return Ok(None) };
        let summary = Summary::of(&day);
        let BrewDay { batch, lines, .. } = day;
        let mut numbers = BTreeMap::new();
        let mut equipment = Vec::new();
        for mut record in batch.equipment {
            // Which batch it was in that state from means nothing in another book.
            record.care.batch = None;
            equipment.push(CarriedEquipment { equipment: record.equipment, care: Some(record.care) });
            numbers.insert(record.id, number_of(equipment.len()));
        }
        for id in lines.iter().filter_map(|line| equipment_of(&line.logged.entry.body)) {
            if let (false, Some(piece)) = (numbers.contains_key(&id), described(&mut snapshot, id).await?) {
                equipment.push(CarriedEquipment { equipment: piece, care: None });
                numbers.insert(id, number_of(equipment.len()));
            }
        }
        let entries = lines.into_iter().map(|line| {
            let mut entry = line.logged.entry;
            renumber(&mut entry.body, |id| numbers.get(&id).copied().unwrap_or(0));
            CarriedEntry { received_at: line.logged.received_at, device: line.logged.device, entry }
        });
        let entries = entries.collect();
        let fixed = CarriedBatch {
            name: batch.name,
            volume_l: batch.volume_l,
            tap_c: batch.tap_c,
            altitude_m: batch.altitude_m,
            created_at: batch.created_at,
            lists: batch.lists,
            chill_plan: batch.chill_plan,
            kettle_loss: batch.kettle_loss,
        };
        Ok(Some(Carried::new(fixed, batch.recipe, equipment, entries, summary)))
    }

    /// Takes a batch from another book and gives its id here. A recipe or a
    /// piece of equipment that is in this book word for word is used, any other
    /// is added.
    ///
    /// The inner result holds what is wrong with it; then nothing was taken.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn carry_in(&self, carried: Carried) -> Result<std::result::Result<i64, Vec<Fault>>> {
        let store = self.clone();
        seen_through(async move { store.carry_in_now(carried).await }).await
    }

    async fn carry_in_now(&self, carried: Carried) -> Result<std::result::Result<i64, Vec<Fault>>> {
        let mut change = self.begin().await?;
        let Carried { batch: fixed, recipe, equipment, entries, .. } = carried;
        let created_ms = to_ms(fixed.created_at);
        let (recipe_id, recipe_revision) = recipe_here(&mut change, &recipe, created_ms).await?;
        let mut ids = Vec::with_capacity(equipment.len());
        let mut started_with = Vec::new();
        for CarriedEquipment { equipment, care } in equipment {
            let id = equipment_here(&mut change, &equipment, created_ms, &ids).await?;
            ids.push(id);
            if let Some(care) = care {
                started_with.push(EquipmentRecord { id, equipment, care });
            }
        }
        let mut batch = Batch {
            id: 0,
            name: fixed.name,
            recipe_id,
            recipe_revision,
            recipe,
            volume_l: fixed.volume_l,
            equipment: started_with,
            tap_c: fixed.tap_c,
            altitude_m: fixed.altitude_m,
            lists: fixed.lists,
            created_at: from_ms(created_ms)?,
            chill_plan: fixed.chill_plan,
            kettle_loss: fixed.kettle_loss,
        };
        batch.id = batches::insert(&mut change, &batch, Typed::new()).await?;
        let id = batch.id;
        if let Some(plan) = &batch.chill_plan {
            chill_plans::write(&mut change, id, plan, batch.created_at).await?;
        }

        let mut append = Append::to(Some(BrewDay::fold(batch, Vec::new())));
        for mut carried in entries {
            let here = |number: i64| usize::try_from(number - 1).ok().and_then(|at| ids.get(at)).copied();
            renumber(&mut carried.entry.body, |number| here(number).unwrap_or(0));
            append.device = carried.device;
            append.now = from_ms(to_ms(carried.received_at))?;
            append.take(&mut change, carried.entry).await?;
        }
        let seq = append.seq.unwrap_or(0);
        let (day, receipt) = append.finish();
        let faults = faults(&receipt);
        if !faults.is_empty() {
            return Ok(Err(faults));
        }
        if let Some(day) = day {
            summaries::write(&mut change, &day).await?;
            change.commit().await?;
            self.0.days.changed(Arc::new(day));
        }
        let _ = self.0.changes.send(Change { batch: Some(id), seq });
        Ok(Ok(id))
    }
}

/// What was not taken of the entries, as faults of the document.
pub(super) fn faults(receipt: &Receipt) -> Vec<Fault> {
    let held = receipt.held.iter().map(|id| {
        Fault::new("entries", format!("The entry {id} is in this book already: the batch was carried here before."))
    });
    let refused = receipt.refused.iter().map(|(id, fault)| {
        Fault::new(format!("entries.{}", fault.field), format!("The entry {id} can't be taken. {}", fault.why))
    });
    held.chain(refused).collect()
}

fn number_of(place: usize) -> i64 {
    i64::try_from(place).unwrap_or(i64::MAX)
}

async fn described(connection: &mut SqliteConnection, id: i64) -> Result<Option<Equipment>> {
    let body =
        sqlx::query_scalar!("select body from equipment where equipment_id = ?", id).fetch_optional(connection).await?;
    body.map(|body| from_json("a piece of equipment", &body)).transpose()
}

/// The id and the revision of this very recipe, added where it isn't in the book.
async fn recipe_here(change: &mut SqliteConnection, recipe: &Recipe, now: i64) -> Result<(i64, i64)> {
    let body = to_json(recipe)?;
    let found = sqlx::query!(
        "
        select
            recipe_id,
            number
        from recipe_revision
        where name = ? and body = ?
        order by recipe_id, number
        limit 1
        ",
        recipe.name,
        body,
    )
    .fetch_optional(&mut *change)
    .await?;
    if let Some(found) = found {
        return Ok((found.recipe_id, found.number));
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
    .execute(change)
    .await?;
    Ok((id, 1))
}

/// The id of this very piece of equipment, added where it isn't in the book.
/// Two pieces alike in the document stay two: one in `taken` is not used again.
async fn equipment_here(change: &mut SqliteConnection, equipment: &Equipment, now: i64, taken: &[i64]) -> Result<i64> {
    let (kind, body, taken) = (equipment.kind.key(), to_json(equipment)?, to_json(&taken)?);
    let found = sqlx::query_scalar!(
        "
        select equipment_id
        from equipment
        where name = ? and body = ? and equipment_id not in (select value from json_each(?))
        order by equipment_id
        limit 1
        ",
        equipment.name,
        body,
        taken,
    )
    .fetch_optional(&mut *change)
    .await?;
    if let Some(found) = found {
        return Ok(found);
    }
    let added = sqlx::query!(
        "insert into equipment (kind, name, body, created_ms, changed_ms) values (?, ?, ?, ?, ?)",
        kind,
        equipment.name,
        body,
        now,
        now,
    )
    .execute(change)
    .await?;
    Ok(added.last_insert_rowid())
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;
    use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan};
    use crate::brewday::testing::Day;
    use crate::store::testing::{Book, NOON, book, new_batch, recipe};

    /// A book with an ordinary day in it, and the batch carried out of it.
    async fn carried() -> (Book, i64, Value) {
        let book = book().await;
        let store = &book.store;
        // Not the first of anything, so that no number is right by chance.
        let other = store.add_recipe(&recipe("Other"), NOON).await.unwrap();
        store.start_batch(&new_batch(other), NOON).await.unwrap().unwrap();
        store.add_equipment(&crate::store::testing::equipment("Other", "other"), NOON).await.unwrap();
        let day = Day::ordinary();
        let mut new = new_batch(store.add_recipe(&day.batch.recipe, NOON).await.unwrap());
        new.tap_c = Some(11.7);
        let mut ids = Vec::new();
        for record in &day.batch.equipment {
            ids.push(store.add_equipment(&record.equipment, NOON).await.unwrap());
        }
        // The kettle is not among the batch's equipment, but in its log.
        new.equipment = ids[..2].to_vec();
        let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
        for mut logged in day.log {
            renumber(&mut logged.entry.body, |number| ids[usize::try_from(number).unwrap() - 1]);
            store.append(Some(batch), vec![logged.entry], Some("Phone"), logged.received_at).await.unwrap();
        }
        let kettle = format!(r#"{{"kind": "care", "equipment": {}, "act": "rinsed"}}"#, ids[2]);
        store.append(Some(batch), vec![crate::store::testing::entry(900, &kettle)], None, NOON).await.unwrap();
        let asked = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
            "baths": [{"water_l": 17, "water_c": 12}, {"water_l": 12, "water_c": 12, "ice_kg": 8}]});
        let plan = KeptPlan::of(ChillPlanRequest::from_body(&asked).unwrap(), &CoilPasses::given(120.0));
        store.keep_chill_plan(batch, &plan, NOON).await.unwrap();
        let document = serde_json::to_value(store.carry_out(batch).await.unwrap().unwrap()).unwrap();
        (book, batch, document)
    }

    fn read(document: &Value) -> std::result::Result<Carried, Vec<Fault>> {
        Carried::from_body(document, NOON + time::Duration::days(30))
    }

    async fn written(store: &Store, batch: i64) -> String {
        serde_json::to_string(&store.carry_out(batch).await.unwrap().unwrap()).unwrap()
    }

    #[tokio::test]
    async fn a_batch_carried_out_in_and_out_again_is_the_same_to_the_byte() {
        let (here, batch, document) = carried().await;
        let there = book().await;
        let id = there.store.carry_in(read(&document).unwrap()).await.unwrap().unwrap();
        assert_eq!(written(&there.store, id).await, written(&here.store, batch).await);
        assert_eq!(there.store.check_summaries().await.unwrap().different, [0; 0]);
        assert_eq!(there.store.equipment_list(None, false).await.unwrap().len(), 3);
        assert_eq!(there.store.summary(id).await.unwrap(), here.store.summary(batch).await.unwrap(),);
    }

    #[tokio::test]
    async fn a_check_taken_back_in_another_book_takes_its_care_along() {
        let here = book().await;
        // The coil has another number there than here.
        for number in 0..3 {
            here.store
                .add_equipment(&crate::store::testing::equipment(&format!("{number}"), "other"), NOON)
                .await
                .unwrap();
        }
        let coil = here.store.add_equipment(&crate::store::testing::equipment("Coil", "coil"), NOON).await.unwrap();
        let mut new = new_batch(here.store.add_recipe(&recipe("Pale"), NOON).await.unwrap());
        new.equipment = vec![coil];
        let batch = here.store.start_batch(&new, NOON).await.unwrap().unwrap();
        let check = crate::store::testing::entry(1, r#"{"kind": "check", "item": "coil_cleaned", "outcome": "done"}"#);
        here.store.append(Some(batch), vec![check], None, NOON).await.unwrap();
        let document = serde_json::to_value(here.store.carry_out(batch).await.unwrap().unwrap()).unwrap();
        assert_eq!(document["entries"].as_array().unwrap().len(), 2, "the check and the care it wrote");

        let there = book().await;
        let id = there.store.carry_in(read(&document).unwrap()).await.unwrap().unwrap();
        let coil = there.store.batch(id).await.unwrap().unwrap().equipment[0].id;
        assert!(there.store.equipment(coil).await.unwrap().unwrap().record.care.is_clean());
        let void = format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, uuid::Uuid::from_u128(1));
        there.store.append(Some(id), vec![crate::store::testing::entry(2, &void)], None, NOON).await.unwrap();
        assert!(!there.store.equipment(coil).await.unwrap().unwrap().record.care.is_clean());
        assert!(there.store.care_log(coil, None).await.unwrap().is_empty());
    }

    #[tokio::test]
    async fn what_is_in_the_book_word_for_word_is_used_again() {
        let (_here, _, document) = carried().await;
        let there = book().await;
        let day = Day::ordinary();
        let recipe = there.store.add_recipe(&day.batch.recipe, NOON).await.unwrap();
        let coil = there.store.add_equipment(&day.batch.equipment[0].equipment, NOON).await.unwrap();
        let id = there.store.carry_in(read(&document).unwrap()).await.unwrap().unwrap();
        let batch = there.store.batch(id).await.unwrap().unwrap();
        assert_eq!((batch.recipe_id, batch.equipment[0].id), (recipe, coil));
        assert!(!there.store.care_log(coil, None).await.unwrap().is_empty());
    }

    #[tokio::test]
    async fn the_same_batch_is_not_taken_twice() {
        let (here, _, document) = carried().await;
        let faults = here.store.carry_in(read(&document).unwrap()).await.unwrap().unwrap_err();
        assert_eq!(faults[0].field, "entries");
        assert_eq!(here.store.batch_ids().await.unwrap().len(), 2);
    }

    #[tokio::test]
    async fn a_bad_document_is_refused_by_field_and_leaves_nothing() {
        let (_here, _, document) = carried().await;
        for (pointer, bad, field) in [
            ("/gylebook", json!(7), "gylebook"),
            ("/batch/volume_l", json!(-1), "batch.volume_l"),
            ("/batch/chill_plan/request/wort_l", json!(-1), "batch.chill_plan.request.wort_l"),
            ("/batch/lists/0/stage", json!("lunch"), "batch.lists.0.stage"),
            ("/recipe/hops/0/alpha_pct", json!("much"), "recipe.hops.0.alpha_pct"),
            ("/equipment/1/kind", json!("spoon"), "equipment.1.kind"),
            ("/entries/3/temperature_c", json!(400), "entries.3.temperature_c"),
            ("/entries/3/received_at", json!("noon"), "entries.3.received_at"),
            ("/entries/0/equipment", json!(9), "entries.0.equipment"),
            ("/entries", json!({}), "entries"),
            ("/recipe", json!(null), "recipe"),
        ] {
            let mut document = document.clone();
            *document.pointer_mut(pointer).unwrap() = bad;
            let faults = read(&document).unwrap_err();
            assert_eq!(faults.iter().map(|fault| fault.field.as_str()).collect::<Vec<_>>(), [field]);
        }
        // A log that contradicts itself is found out only when it is written.
        let mut document = document;
        document["entries"][1]["id"] = document["entries"][0]["id"].clone();
        let there = book().await;
        assert!(there.store.carry_in(read(&document).unwrap()).await.unwrap().is_err());
        assert!(there.store.batch_ids().await.unwrap().is_empty());
        assert!(there.store.recipes("", false).await.unwrap().is_empty());
    }
}
