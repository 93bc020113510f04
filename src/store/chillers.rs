//! Which batches were chilled with what.

use super::{Result, Store};

/// How far back this looks: comparing a coil with itself needs its newest batches.
const LOOK_BACK: i64 = 200;

/// A coil or plate chiller and the batches it chilled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChillerBatches {
    /// Its id.
    pub equipment: i64,
    /// Its name.
    pub name: String,
    /// The batches, newest first.
    pub batches: Vec<i64>,
}

impl Store {
    /// The chillers of the newest batches that have a cooling curve, the one
    /// used last first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn batches_by_chiller(&self) -> Result<Vec<ChillerBatches>> {
        let rows = sqlx::query!(
            r#"
            select
                newest.batch_id as "batch_id!",
                equipment.equipment_id as "equipment_id!",
                equipment.name as "name!"
            from (
                select batch_id, chiller_id, brewed_ms
                from summary
                where curve <> '[]'
                order by brewed_ms desc, batch_id desc
                limit ?
            ) as newest
            join equipment on equipment.equipment_id = newest.chiller_id
            order by newest.brewed_ms desc, newest.batch_id desc
            "#,
            LOOK_BACK,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let mut chillers: Vec<ChillerBatches> = Vec::new();
        for row in rows {
            match chillers.iter_mut().find(|known| known.equipment == row.equipment_id) {
                Some(known) => known.batches.push(row.batch_id),
                None => chillers.push(ChillerBatches {
                    equipment: row.equipment_id,
                    name: row.name,
                    batches: vec![row.batch_id],
                }),
            }
        }
        Ok(chillers)
    }
}

#[cfg(test)]
mod tests {
    use crate::store::testing::{Book, NOON, book, entry, equipment, new_batch, recipe};

    #[tokio::test]
    async fn a_coil_has_its_batches_newest_first_and_a_batch_without_a_curve_has_none() {
        let Book { store, folder: _folder } = book().await;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let plate = store.add_equipment(&equipment("Plate", "plate_chiller"), NOON).await.unwrap();
        let mut ids = Vec::new();
        for (index, pieces) in [vec![coil], vec![plate, coil], vec![plate], vec![coil], vec![]].into_iter().enumerate()
        {
            let mut new = new_batch(recipe);
            new.equipment = pieces;
            let id = store.start_batch(&new, NOON).await.unwrap().unwrap();
            ids.push(id);
            if index == 3 {
                continue;
            }
            let number = 10 * u128::try_from(index).unwrap();
            let log = vec![
                entry(number + 1, r#"{"kind": "flame_out"}"#),
                entry(number + 2, r#"{"kind": "temperature", "place": "wort", "temperature_c": 98}"#),
            ];
            store.append(Some(id), log, None, NOON).await.unwrap().unwrap();
        }
        let chillers = store.batches_by_chiller().await.unwrap();
        let told: Vec<_> = chillers.iter().map(|one| (one.name.as_str(), one.batches.clone())).collect();
        assert_eq!(told, [("Plate", vec![ids[2]]), ("Coil", vec![ids[1], ids[0]])]);
    }
}
