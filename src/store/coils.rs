//! What a coil's batches say of it.

use time::OffsetDateTime;

use super::batches::Snapshot;
use super::{Result, Store, from_json, from_ms};
use crate::brewday::batch::chiller;
use crate::brewday::choices::{Cooling, EquipmentKind};
use crate::brewday::summary::ChillStageFigures;

/// What one batch says of the coil it was chilled with.
#[derive(Clone, Debug, PartialEq)]
pub struct CoilRun {
    /// The batch.
    pub batch: i64,
    /// When it was brewed.
    pub at: OffsetDateTime,
    /// Conductance over all stages, W/K.
    pub conductance_w_per_k: f64,
    /// Its standard error, W/K, where that is known.
    pub se_w_per_k: Option<f64>,
    /// What the brewer calls the batch.
    pub name: String,
    /// Its cooling stages.
    pub stages: Vec<ChillStageFigures>,
    /// Pumps and hoses that were along, by name.
    pub along: Vec<String>,
    /// How often a bath was stirred.
    pub stirred: i64,
}

impl CoilRun {
    /// Whether a bath tells it: what running water passes says nothing of a bath.
    #[must_use]
    pub fn is_of_baths(&self) -> bool {
        let told = self.stages.iter().filter(|stage| stage.conductance_w_per_k.is_some());
        told.into_iter().any(|stage| matches!(stage.method, Cooling::StillBath | Cooling::IceBath))
    }
}

impl Store {
    /// The conductances of a coil or plate chiller, newest batch first: of each
    /// batch that was chilled with it and whose readings tell one.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn coil_history(&self, equipment: i64) -> Result<Vec<CoilRun>> {
        let rows = sqlx::query!(
            r#"
            select
                batch_id as "batch_id!",
                batch.name,
                batch.body,
                brewed_ms,
                json_extract(summary.body, '$.chill.stages') as "stages!: String",
                (
                    select count(*)
                    from entry as stir
                    where stir.batch_id = batch.batch_id
                        and stir.kind = 'bath_stirred'
                        and not exists (
                            select 1
                            from entry as amendment
                            where amendment.batch_id = stir.batch_id
                                and amendment.kind = 'amendment'
                                and replace(upper(json_extract(amendment.body, '$.of')), '-', '') = hex(stir.entry_id)
                        )
                ) as "stirred!: i64",
                json_extract(summary.body, '$.chill.conductance_w_per_k') as "conductance_w_per_k!: f64",
                json_extract(summary.body, '$.chill.conductance_se_w_per_k') as "se_w_per_k: f64"
            from batch
            join summary using (batch_id)
            where json_extract(summary.body, '$.chill.conductance_w_per_k') is not null
                and exists (
                    select 1
                    from json_each(batch.body, '$.equipment') as piece
                    where json_extract(piece.value, '$.id') = ?
                )
            order by brewed_ms desc, batch_id desc
            "#,
            equipment,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let mut runs = Vec::with_capacity(rows.len());
        for row in rows {
            let snapshot: Snapshot = from_json("a batch", &row.body)?;
            // A second coil that was only taken along says nothing here.
            if chiller(&snapshot.equipment).is_some_and(|record| record.id == equipment) {
                let moves_wort = |kind| matches!(kind, EquipmentKind::Pump | EquipmentKind::Hose);
                let along = snapshot.equipment.iter().filter(|record| moves_wort(record.equipment.kind));
                runs.push(CoilRun {
                    batch: row.batch_id,
                    at: from_ms(row.brewed_ms)?,
                    conductance_w_per_k: row.conductance_w_per_k,
                    se_w_per_k: row.se_w_per_k,
                    name: row.name,
                    stages: from_json("a batch's cooling stages", &row.stages)?,
                    along: along.map(|record| record.equipment.name.clone()).collect(),
                    stirred: row.stirred,
                });
            }
        }
        Ok(runs)
    }
}

#[cfg(test)]
mod tests {
    use crate::store::testing::{NOON, book, equipment, new_batch, recipe};

    #[tokio::test]
    async fn a_coil_is_known_by_the_batches_it_chilled_newest_first() {
        let book = book().await;
        let store = &book.store;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let spare = store.add_equipment(&equipment("Spare coil", "coil"), NOON).await.unwrap();
        for (pieces, conductance) in [
            (vec![coil], Some(100.5)),
            (vec![coil, spare], Some(120.0)),
            (vec![spare, coil], Some(80.0)),
            (vec![coil], None),
            (vec![], Some(60.0)),
        ] {
            let mut new = new_batch(recipe);
            new.equipment = pieces;
            let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
            let told =
                "update summary set body = json_set(body, '$.chill.conductance_w_per_k', ?1) where batch_id = ?2";
            sqlx::query(told).bind(conductance).bind(batch).execute(&store.0.writer).await.unwrap();
        }
        let told = async |coil| {
            let runs = store.coil_history(coil).await.unwrap();
            runs.iter().map(|run| (run.batch, run.conductance_w_per_k)).collect::<Vec<_>>()
        };
        assert_eq!(told(coil).await, [(2, 120.0), (1, 100.5)]);
        assert_eq!(told(spare).await, [(3, 80.0)]);
        assert_eq!(told(99).await, []);
    }
}
