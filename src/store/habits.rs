//! What the last finished batches say of how this brewer's equipment behaves.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use sqlx::SqliteConnection;

use super::{AsOf, Result, Store, batches, log, to_json};
use crate::brewday::choices::{Choice, EquipmentKind};
use crate::brewday::habits::{Finished, Habits, absorbed_l_per_kg};
use crate::brewday::{Batch, BatchState, BrewDay};

/// How many batches this reads: a habit is the median of five, and not every
/// batch has every figure.
const LOOK_BACK: i64 = 12;
/// Habits that are kept: a brewer looks at a few batches.
const KEPT: usize = 32;

struct Row {
    batch_id: i64,
    into_kettle_pct: Option<f64>,
    boil_off_l_per_h: Option<f64>,
    post_boil_l: Option<f64>,
    into_fermenter_l: Option<f64>,
    is_sparge_logged: bool,
}

/// Whose habits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Asked {
    kettle: Option<i64>,
    mash_vessel: Option<i64>,
    before: i64,
}

/// The habits asked for last. Reading them takes two dozen batches, every stage of
/// a brew day asks for them, and what is logged on it changes none.
#[derive(Debug, Default)]
pub(super) struct Known(Mutex<Option<(AsOf, HashMap<Asked, Habits>)>>);

impl Known {
    fn get(&self, as_of: AsOf, asked: &Asked) -> Option<Habits> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.as_ref().filter(|(at, _)| *at == as_of)?.1.get(asked).copied()
    }

    fn keep(&self, as_of: AsOf, asked: Asked, habits: Habits) {
        // A panic under this lock can only have lost them, never bent them.
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (at, kept) = known.get_or_insert_with(|| (as_of, HashMap::new()));
        if *at != as_of || kept.len() >= KEPT {
            (*at, *kept) = (as_of, HashMap::new());
        }
        kept.insert(asked, habits);
    }
}

impl Store {
    /// The habits to plan the next brew day with, on this kettle and in this mash
    /// vessel: from batches that were pitched, the newest ones first. `None`
    /// stands for batches that name no such piece.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn habits(&self, kettle: Option<i64>, mash_vessel: Option<i64>) -> Result<Habits> {
        self.habits_before(kettle, mash_vessel, i64::MAX).await
    }

    /// The habits a batch is planned with: as [`Store::habits`] on its own
    /// equipment, from the batches before it only. So its plan does not follow
    /// its own readings, and stands when later batches are brewed.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn habits_of(&self, batch: &Batch) -> Result<Habits> {
        let first = |kind| batch.all(kind).next().map(|record| record.id);
        self.habits_before(first(EquipmentKind::Kettle), first(EquipmentKind::MashVessel), batch.id).await
    }

    async fn habits_before(&self, kettle: Option<i64>, mash_vessel: Option<i64>, before: i64) -> Result<Habits> {
        let (asked, as_of) = (Asked { kettle, mash_vessel, before }, self.as_of_beyond_days_under_way());
        if let Some(known) = self.0.habits.get(as_of, &asked) {
            return Ok(known);
        }
        let habits = self.read_habits(asked).await?;
        self.0.habits.keep(as_of, asked, habits);
        Ok(habits)
    }

    async fn read_habits(&self, Asked { kettle, mash_vessel, before }: Asked) -> Result<Habits> {
        // One snapshot for all that is read.
        let mut snapshot = self.0.readers.begin().await?;
        let on_kettle = last_with(&mut snapshot, EquipmentKind::Kettle, kettle, before).await?;
        let on_kettle: Vec<Finished> = on_kettle.iter().map(Row::finished).collect();
        let mut in_mash_vessel = Vec::new();
        for row in last_with(&mut snapshot, EquipmentKind::MashVessel, mash_vessel, before).await? {
            let absorption_l_per_kg =
                if row.is_sparge_logged { absorbed(&mut snapshot, row.batch_id).await? } else { None };
            in_mash_vessel.push(Finished { absorption_l_per_kg, ..row.finished() });
        }
        Ok(Habits::of(&on_kettle, &in_mash_vessel))
    }
}

impl Row {
    fn finished(&self) -> Finished {
        Finished {
            into_kettle_pct: self.into_kettle_pct,
            boil_off_l_per_h: self.boil_off_l_per_h,
            post_boil_l: self.post_boil_l,
            into_fermenter_l: self.into_fermenter_l,
            absorption_l_per_kg: None,
        }
    }
}

/// The last finished batches whose first piece of a kind is this one.
async fn last_with(
    connection: &mut SqliteConnection,
    kind: EquipmentKind,
    piece: Option<i64>,
    before: i64,
) -> Result<Vec<Row>> {
    let finished = BatchState::ALL.iter().filter(|state| !state.in_progress());
    let states = to_json(&finished.map(|state| state.key()).collect::<Vec<_>>())?;
    let kind = kind.key();
    let rows = sqlx::query_as!(
        Row,
        r#"
        -- Which batches first, newest to oldest along the index until there are enough: what is
        -- told of each costs more than finding it.
        with last as materialized (
            select
                batch_id,
                brewed_ms
            from summary indexed by summary_sorted
            cross join batch using (batch_id)
            where state in (select value from json_each(?))
                and batch_id < ?
                and (
                    select json_extract(piece.value, '$.id')
                    from json_each(batch.body, '$.equipment') as piece
                    where json_extract(piece.value, '$.kind') = ?
                    order by piece.key
                    limit 1
                ) is ?
            order by brewed_ms desc, batch_id desc
            limit ?
        )
        select
            batch_id as "batch_id!",
            json_extract(body, '$.efficiency.into_kettle_pct') as "into_kettle_pct: f64",
            json_extract(body, '$.volume.boil_off_l_per_h') as "boil_off_l_per_h: f64",
            json_extract(body, '$.volume.post_boil_l') as "post_boil_l: f64",
            json_extract(body, '$.volume.into_fermenter_l') as "into_fermenter_l: f64",
            exists (
                select 1
                from entry
                where entry.batch_id = last.batch_id
                    and kind = 'volume'
                    and json_extract(entry.body, '$.point') = 'sparge'
            ) as "is_sparge_logged!: bool"
        from last
        join summary using (batch_id)
        order by last.brewed_ms desc, batch_id desc
        "#,
        states,
        before,
        kind,
        piece,
        LOOK_BACK,
    )
    .fetch_all(connection)
    .await?;
    Ok(rows)
}

/// What the grain of a batch kept. The summary doesn't hold the waters, so this
/// reads the few entries that do, not the whole log.
async fn absorbed(connection: &mut SqliteConnection, batch: i64) -> Result<Option<f64>> {
    let Some(record) = batches::read(&mut *connection, batch).await? else { return Ok(None) };
    let waters = log::read_volumes(connection, batch).await?;
    Ok(absorbed_l_per_kg(&BrewDay::fold(record, waters)))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use crate::brewday::habits::{Habits, Learned};
    use crate::store::Store;
    use crate::store::testing::{NOON, book, entry, equipment, new_batch, recipe};

    /// A pitched batch on these pieces whose boil took so much off and whose grain kept so much.
    async fn brewed(store: &Store, recipe: i64, pieces: &[i64], boil_off_l: f64, kept_l: f64) -> i64 {
        let mut new = new_batch(recipe);
        new.equipment = pieces.to_vec();
        let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let volume = |point: &str, litres: f64| {
            json!({"kind": "volume", "point": point, "volume_l": litres, "temperature_c": 20.0}).to_string()
        };
        let log = [
            volume("strike", 15.0),
            volume("sparge", 11.0 + kept_l),
            volume("pre_boil", 26.0),
            volume("post_boil", 26.0 - boil_off_l),
            volume("into_fermenter", 25.0 - boil_off_l),
            r#"{"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.04, "temperature_c": 20}"#.to_owned(),
            r#"{"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18, "wort_c": 19}"#.to_owned(),
        ];
        let first = u128::try_from(batch).unwrap() * 100;
        let entries = (first..).zip(&log).map(|(number, body)| entry(number, body)).collect();
        let receipt = store.append(Some(batch), entries, None, NOON).await.unwrap().unwrap();
        assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
        batch
    }

    fn absorption(habits: Habits) -> Option<(f64, usize)> {
        habits.absorption_l_per_kg.map(|one| ((one.value * 1e6).round() / 1e6, one.batches))
    }

    #[tokio::test]
    async fn a_kettle_and_a_mash_vessel_are_known_by_the_finished_batches_on_them() {
        let book = book().await;
        let store = &book.store;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let kettle = store.add_equipment(&equipment("Kettle", "kettle"), NOON).await.unwrap();
        let other = store.add_equipment(&equipment("Other", "kettle"), NOON).await.unwrap();
        let tun = store.add_equipment(&equipment("Tun", "mash_vessel"), NOON).await.unwrap();
        assert_eq!(store.habits(Some(kettle), Some(tun)).await.unwrap(), Habits::default());

        // 4.2 kg of grain keep 4.2, 8.4, 6.3 L.
        brewed(store, recipe, &[tun, kettle], 3.0, 4.2).await;
        brewed(store, recipe, &[tun, other, kettle], 6.0, 8.4).await;
        let third = brewed(store, recipe, &[kettle], 5.0, 6.3).await;

        let habits = store.habits(Some(kettle), Some(tun)).await.unwrap();
        assert_eq!(habits.kettle_loss_l, Some(Learned { value: 1.0, batches: 2 }));
        assert_eq!(absorption(habits), Some((1.5, 2)), "of the two in the tun");
        assert_eq!(habits.into_kettle_pct.map(|one| one.batches), Some(2));
        assert_eq!(habits.boil_off_l_per_h, None, "nobody logged how long it boiled");
        assert_eq!(absorption(store.habits(None, None).await.unwrap()), Some((1.5, 1)), "no mash vessel named");
        assert_eq!(store.habits(None, None).await.unwrap().kettle_loss_l, None, "every batch names a kettle");

        let batch = store.batch(third).await.unwrap().unwrap();
        let before = store.habits_of(&batch).await.unwrap();
        assert_eq!(before.kettle_loss_l.map(|one| one.batches), Some(1), "its own readings don't count");
        assert_eq!(before.absorption_l_per_kg, None);
    }

    #[tokio::test]
    async fn a_batch_still_under_way_teaches_nothing_and_an_amendment_counts() {
        let book = book().await;
        let store = &book.store;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let batch = brewed(store, recipe, &[], 3.0, 4.2).await;
        let amend = |number: u128, of: u128, replacement: &str| {
            let of = uuid::Uuid::from_u128(u128::try_from(batch).unwrap() * 100 + of);
            entry(number, &format!(r#"{{"kind": "amendment", "of": "{of}", "why": "Misread.", {replacement}}}"#))
        };
        let sparge = r#""replacement": {"kind": "volume", "point": "sparge", "volume_l": 19.4, "temperature_c": 20}"#;
        store.append(Some(batch), vec![amend(900, 1, sparge)], None, NOON).await.unwrap();
        assert_eq!(absorption(store.habits(None, None).await.unwrap()), Some((2.0, 1)));
        store.append(Some(batch), vec![amend(901, 6, r#""void": true"#)], None, NOON).await.unwrap();
        assert_eq!(store.habits(None, None).await.unwrap(), Habits::default(), "the pitch was struck out");
    }
}
