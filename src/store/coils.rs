//! What a coil's batches say of it.

use time::OffsetDateTime;

use super::{Result, Store, from_ms};

/// More than any page looks back for what a coil usually does.
const NEWEST: i64 = 20;

/// What one batch says of the coil it was chilled with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoilRun {
    /// The batch.
    pub batch: i64,
    /// When it was brewed.
    pub at: OffsetDateTime,
    /// Conductance over all stages, W/K.
    pub conductance_w_per_k: f64,
    /// Its standard error, W/K, where that is known.
    pub se_w_per_k: Option<f64>,
}

impl Store {
    /// The conductances of a coil or plate chiller, newest batch first: of the last
    /// twenty that were chilled with it and whose readings tell one.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn coil_history(&self, equipment: i64) -> Result<Vec<CoilRun>> {
        let rows = sqlx::query!(
            r#"
            select
                batch_id,
                brewed_ms,
                conductance_w_per_k as "conductance_w_per_k!: f64",
                conductance_se_w_per_k
            from summary
            where chiller_id = ? and conductance_w_per_k is not null
            order by brewed_ms desc, batch_id desc
            limit ?
            "#,
            equipment,
            NEWEST,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let run = rows.into_iter().map(|row| {
            Ok(CoilRun {
                batch: row.batch_id,
                at: from_ms(row.brewed_ms)?,
                conductance_w_per_k: row.conductance_w_per_k,
                se_w_per_k: row.conductance_se_w_per_k,
            })
        });
        run.collect()
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
            let told = "update summary set conductance_w_per_k = ?1 where batch_id = ?2";
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
