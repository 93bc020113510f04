//! What a coil's batches say of it.

use time::OffsetDateTime;

use super::batches::Snapshot;
use super::care::CareLine;
use super::{Result, Store, from_json, from_ms, to_ms};
use crate::brewday::choices::{Cooling, EquipmentKind};
use crate::brewday::summary::ChillStageFigures;

/// The batches that a coil's page shows.
const SHOWN: i64 = 60;
/// More batches than what a coil usually does is learned from.
const TOLD_BY: i64 = 20;

/// A conductance that a batch tells, and no more of that batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoilTells {
    /// The batch.
    pub batch: i64,
    /// Conductance over all stages, W/K.
    pub conductance_w_per_k: f64,
    /// Whether a bath tells it: what running water passes says nothing of a bath.
    pub of_baths: bool,
}

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
        told_by_bath(&self.stages)
    }
}

impl Store {
    /// What a coil's or plate chiller's batches say of it, newest first: each of
    /// the last sixty that were chilled with it and whose readings tell a conductance.
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
                conductance_w_per_k as "conductance_w_per_k!: f64",
                conductance_se_w_per_k
            from summary
            join batch using (batch_id)
            where chiller_id = ? and conductance_w_per_k is not null
            order by brewed_ms desc, batch_id desc
            limit ?
            "#,
            equipment,
            SHOWN,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let run = rows.into_iter().map(|row| {
            let snapshot: Snapshot = from_json("a batch", &row.body)?;
            let moves_wort = |kind| matches!(kind, EquipmentKind::Pump | EquipmentKind::Hose);
            let along = snapshot.equipment.iter().filter(|record| moves_wort(record.equipment.kind));
            Ok(CoilRun {
                batch: row.batch_id,
                at: from_ms(row.brewed_ms)?,
                conductance_w_per_k: row.conductance_w_per_k,
                se_w_per_k: row.conductance_se_w_per_k,
                name: row.name,
                stages: from_json("a batch's cooling stages", &row.stages)?,
                along: along.map(|record| record.equipment.name.clone()).collect(),
                stirred: row.stirred,
            })
        });
        run.collect()
    }

    /// What was done to a coil between the runs of its history, and before the
    /// oldest of them since the one before that.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_between(&self, equipment: i64, runs: &[CoilRun]) -> Result<Vec<CareLine>> {
        let Some(oldest) = runs.last().map(|run| to_ms(run.at)) else { return Ok(Vec::new()) };
        let before = sqlx::query_scalar!(
            r#"
            select max(brewed_ms) as "ms: i64"
            from summary
            where chiller_id = ? and conductance_w_per_k is not null and brewed_ms < ?
            "#,
            equipment,
            oldest,
        )
        .fetch_one(&self.0.readers)
        .await?;
        self.care_log(equipment, before.map(from_ms).transpose()?).await
    }

    /// What a coil's newest batches tell of it, newest first: all that a plan or a
    /// chill under way asks for.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn coil_tells(&self, equipment: i64) -> Result<Vec<CoilTells>> {
        let told = sqlx::query_as!(
            CoilTells,
            r#"
            select
                batch_id as batch,
                conductance_w_per_k as "conductance_w_per_k!: f64",
                told_by_bath as "of_baths!: bool"
            from summary
            where chiller_id = ? and conductance_w_per_k is not null
            order by brewed_ms desc, batch_id desc
            limit ?
            "#,
            equipment,
            TOLD_BY,
        )
        .fetch_all(&self.0.readers)
        .await?;
        Ok(told)
    }
}

/// Whether a bath tells a conductance among these stages.
pub(super) fn told_by_bath(stages: &[ChillStageFigures]) -> bool {
    let mut told = stages.iter().filter(|stage| stage.conductance_w_per_k.is_some());
    told.any(|stage| matches!(stage.method, Cooling::StillBath | Cooling::IceBath))
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
            let told = "update summary set conductance_w_per_k = ?1 where batch_id = ?2";
            sqlx::query(told).bind(conductance).bind(batch).execute(&store.0.writer).await.unwrap();
        }
        let told = async |coil| {
            let (runs, tells) = (store.coil_history(coil).await.unwrap(), store.coil_tells(coil).await.unwrap());
            assert!(runs.iter().map(|run| run.batch).eq(tells.iter().map(|one| one.batch)));
            runs.iter().map(|run| (run.batch, run.conductance_w_per_k)).collect::<Vec<_>>()
        };
        assert_eq!(told(coil).await, [(2, 120.0), (1, 100.5)]);
        assert_eq!(told(spare).await, [(3, 80.0)]);
        assert_eq!(told(99).await, []);
    }
}
