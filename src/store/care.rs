//! The care of equipment: its log over all batches and outside of them, and the
//! state that follows from it.

use std::collections::HashMap;

use sqlx::SqliteConnection;
use uuid::Uuid;

use super::log::Row;
use super::{Result, Store, from_json, from_ms};
use crate::brewday::care::{CareEvent, CareEventKind, CareState};
use crate::brewday::day::{Standing, standing};
use crate::brewday::{Body, Equipment, EquipmentRecord, LoggedEntry};

/// Something done to a piece of equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct CareLine {
    /// The batch it was done in; none outside of a brew day.
    pub batch: Option<i64>,
    /// The care entry, as it stands.
    pub entry: Standing,
}

/// A care entry as it was first written, and what stands of it now.
#[derive(Clone, Debug, PartialEq)]
pub struct CareWritten {
    /// The batch it was done in; none outside of a brew day.
    pub batch: Option<i64>,
    /// The entry as it was received.
    pub written: LoggedEntry,
    /// The entry as it stands; none where it was struck out.
    pub stands: Option<Standing>,
}

impl Store {
    /// All that was ever written about the care of a piece of equipment, what was
    /// struck out or moved to another piece included, in the order it happened.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_history(&self, equipment: i64) -> Result<Vec<CareWritten>> {
        let mut reader = self.0.readers.acquire().await?;
        history(&mut reader, equipment).await
    }

    /// All that was done to a piece of equipment and still stands, in the order it happened.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_log(&self, equipment: i64) -> Result<Vec<CareLine>> {
        let mut reader = self.0.readers.acquire().await?;
        read(&mut reader, equipment).await
    }
}

/// A piece of equipment from its document, with the state it is in.
pub(super) async fn with_care(connection: &mut SqliteConnection, id: i64, body: &str) -> Result<EquipmentRecord> {
    let equipment: Equipment = from_json("a piece of equipment", body)?;
    let cared = read(&mut *connection, id).await?.into_iter().filter_map(|line| match line.entry.body {
        Body::Care(care) => Some(CareEvent { at: line.entry.at, batch: line.batch, what: CareEventKind::Cared(care) }),
        _ => None,
    });
    let mut events: Vec<CareEvent> = uses(connection, id).await?;
    events.extend(cared);
    // Stable: what was done at the very time of a use was done after it.
    events.sort_by_key(|event| event.at);
    let care = CareState::default().after(&events, equipment.dry_mass_kg);
    Ok(EquipmentRecord { id, equipment, care })
}

async fn read(connection: &mut SqliteConnection, equipment: i64) -> Result<Vec<CareLine>> {
    let history = history(connection, equipment).await?.into_iter();
    let stands = history.filter_map(|care| Some(CareLine { batch: care.batch, entry: care.stands? }));
    Ok(stands.filter(|line| is_care_of(equipment, &line.entry.body)).collect())
}

/// An amendment may move a care entry from one piece to another. The entry and
/// its amendments stay filed under the first piece, so that one is read as well.
async fn history(connection: &mut SqliteConnection, equipment: i64) -> Result<Vec<CareWritten>> {
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
        where equipment_id = ?1
            or equipment_id in (
                select equipment_id
                from entry
                where equipment_id is not null
                    and kind = 'amendment'
                    and json_extract(body, '$.replacement.equipment') = ?1
            )
        order by seq
        "#,
        equipment,
    )
    .fetch_all(connection)
    .await?;
    let batches: HashMap<Uuid, Option<i64>> = rows.iter().map(|row| (row.entry_id, row.batch_id)).collect();
    let log: Vec<LoggedEntry> = rows.into_iter().map(Row::logged).collect::<Result<_>>()?;
    let mut standing: HashMap<Uuid, Standing> =
        standing(log.clone()).into_iter().map(|entry| (entry.id, entry)).collect();
    let mut history: Vec<CareWritten> = log
        .into_iter()
        .filter(|logged| !matches!(logged.entry.body, Body::Amendment(_)))
        .map(|written| CareWritten {
            batch: batches.get(&written.entry.id).copied().flatten(),
            stands: standing.remove(&written.entry.id),
            written,
        })
        .filter(|care| {
            let stands = care.stands.as_ref().is_some_and(|entry| is_care_of(equipment, &entry.body));
            stands || is_care_of(equipment, &care.written.entry.body)
        })
        .collect();
    history
        .sort_by_key(|care| (care.stands.as_ref().map_or(care.written.entry.at, |entry| entry.at), care.written.seq));
    Ok(history)
}

fn is_care_of(equipment: i64, body: &Body) -> bool {
    matches!(body, Body::Care(care) if care.equipment == equipment)
}

async fn uses(connection: &mut SqliteConnection, equipment: i64) -> Result<Vec<CareEvent>> {
    let rows = sqlx::query!(
        "
        select
            batch_id,
            used_ms
        from equipment_use
        where equipment_id = ?
        ",
        equipment,
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter()
        .map(|row| Ok(CareEvent { at: from_ms(row.used_ms)?, batch: Some(row.batch_id), what: CareEventKind::Used }))
        .collect()
}

#[cfg(test)]
mod tests {
    use time::Duration;
    use uuid::Uuid;

    use super::*;
    use crate::brewday::care::CareCondition;
    use crate::store::testing::{NOON, book, entry, equipment, new_batch, recipe};

    async fn acts(store: &Store, equipment: i64) -> Vec<(u128, Option<i64>)> {
        let log = store.care_log(equipment).await.unwrap();
        log.iter().map(|line| (line.entry.id.as_u128(), line.batch)).collect()
    }

    fn rinsed(number: u128, equipment: i64) -> crate::brewday::Entry {
        entry(number, &format!(r#"{{"kind": "care", "equipment": {equipment}, "act": "rinsed"}}"#))
    }

    #[tokio::test]
    async fn a_care_log_follows_its_equipment_through_amendments_and_batches() {
        let book = book().await;
        let store = &book.store;
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let hose = store.add_equipment(&equipment("Hose", "hose"), NOON).await.unwrap();
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let batch = store.start_batch(&new_batch(recipe), NOON).await.unwrap().unwrap();
        let moved = format!(
            r#"{{"kind": "amendment", "of": "{}", "replacement": {{"kind": "care", "equipment": {hose}, "act": "rinsed"}}}}"#,
            Uuid::from_u128(1)
        );
        let void = |number| format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, Uuid::from_u128(number));
        store.append(None, vec![rinsed(1, coil), rinsed(10, coil)], None, NOON).await.unwrap();
        store.append(Some(batch), vec![rinsed(2, coil), rinsed(3, coil)], None, NOON).await.unwrap();
        assert_eq!(acts(store, coil).await, [(1, None), (10, None), (2, Some(batch)), (3, Some(batch))]);
        store.append(None, vec![entry(4, &moved)], None, NOON).await.unwrap();
        store.append(Some(batch), vec![entry(5, &void(2))], None, NOON).await.unwrap();
        assert_eq!(acts(store, coil).await, [(10, None), (3, Some(batch))]);
        assert_eq!(acts(store, hose).await, [(1, None)]);
        let written: Vec<_> = store.care_history(coil).await.unwrap();
        let told = written.iter().map(|care| (care.written.entry.id.as_u128(), care.stands.is_some()));
        assert_eq!(told.collect::<Vec<_>>(), [(1, true), (10, true), (2, false), (3, true)]);
        store.append(None, vec![entry(6, &void(4))], None, NOON).await.unwrap();
        assert_eq!(acts(store, hose).await, []);
        assert_eq!(acts(store, coil).await, [(1, None), (10, None), (3, Some(batch))]);
    }

    #[tokio::test]
    async fn a_coil_used_since_it_was_cleaned_is_dirty_and_the_next_batch_keeps_that() {
        let book = book().await;
        let store = &book.store;
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let mut new = new_batch(recipe);
        new.equipment = vec![coil];
        let condition = async || store.equipment(coil).await.unwrap().unwrap().record.care.condition;
        assert_eq!(condition().await, CareCondition::NotKnown);

        let mut cleaned = entry(1, &format!(r#"{{"kind": "care", "equipment": {coil}, "act": "cleaned"}}"#));
        cleaned.at = NOON - Duration::hours(1);
        store.append(None, vec![cleaned], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::CleanWet);
        let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let chill = entry(2, r#"{"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12}"#);
        store.append(Some(batch), vec![chill], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::Dirty);
        let uses = store.equipment_uses(coil).await.unwrap();
        assert_eq!(
            uses.iter().map(|one| (one.batch, one.name.as_str(), one.used_at)).collect::<Vec<_>>(),
            [(batch, "Pale", NOON)]
        );
        let next = store.start_batch(&new, NOON).await.unwrap().unwrap();

        // Striking the chill out takes the use back; the batch started meanwhile keeps what it saw.
        let void = format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, Uuid::from_u128(2));
        store.append(Some(batch), vec![entry(3, &void)], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::CleanWet);
        let seen = async |batch| store.batch(batch).await.unwrap().unwrap().equipment[0].care.condition;
        assert_eq!((seen(batch).await, seen(next).await), (CareCondition::CleanWet, CareCondition::Dirty));
    }
}
