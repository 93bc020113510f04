//! Batches side by side: what was computed of each, without folding a log.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::{Result, Store, from_json, from_ms, to_json};
use crate::brewday::batch::chiller;
use crate::brewday::{EquipmentRecord, Summary};

/// A batch as a comparison needs it.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Its number.
    pub batch: i64,
    /// What the brewer calls it.
    pub name: String,
    /// What its recipe is called.
    pub recipe: String,
    /// The revision it was brewed from.
    pub recipe_revision: i64,
    /// When it was brewed.
    pub brewed_at: OffsetDateTime,
    /// What it was chilled with.
    pub chiller: Option<String>,
    /// Every figure.
    pub summary: Summary,
    /// The wort's cooling as a few points: minutes since flame-out and °C.
    pub curve: Vec<(f64, f64)>,
}

impl Store {
    /// These batches by number; one that isn't there is left out.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn compared(&self, batches: &[i64]) -> Result<BTreeMap<i64, Compared>> {
        let ids = to_json(&batches)?;
        let rows = sqlx::query!(
            r#"
            select
                batch_id as "batch_id!: i64",
                batch.name as "name!: String",
                recipe.name as "recipe!: String",
                recipe_revision as "recipe_revision!: i64",
                brewed_ms as "brewed_ms!: i64",
                json_extract(batch.body, '$.equipment') as "equipment!: String",
                summary.body as "summary!: String",
                curve as "curve!: String"
            from batch
            join recipe_revision as recipe
                on recipe.recipe_id = batch.recipe_id and recipe.number = batch.recipe_revision
            join summary using (batch_id)
            where batch_id in (select value from json_each(?))
            "#,
            ids,
        )
        .fetch_all(&self.0.readers)
        .await?;
        let compared = rows.into_iter().map(|row| {
            let equipment: Vec<EquipmentRecord> = from_json("a batch's equipment", &row.equipment)?;
            let compared = Compared {
                batch: row.batch_id,
                name: row.name,
                recipe: row.recipe,
                recipe_revision: row.recipe_revision,
                brewed_at: from_ms(row.brewed_ms)?,
                chiller: chiller(&equipment).map(|record| record.equipment.name.clone()),
                summary: from_json("a summary", &row.summary)?,
                curve: from_json("a curve", &row.curve)?,
            };
            Ok((row.batch_id, compared))
        });
        compared.collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::store::testing::{NOON, book, entry, equipment, new_batch, recipe};

    #[tokio::test]
    async fn a_batch_comes_with_its_figures_its_curve_and_what_chilled_it() {
        let book = book().await;
        let store = &book.store;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let mut new = new_batch(recipe);
        new.equipment = vec![coil];
        let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let log = vec![
            entry(1, r#"{"kind": "flame_out"}"#),
            entry(2, r#"{"kind": "temperature", "place": "wort", "temperature_c": 98}"#),
        ];
        store.append(Some(batch), log, None, NOON).await.unwrap().unwrap();
        let found = store.compared(&[batch, 99]).await.unwrap();
        assert_eq!(found.keys().collect::<Vec<_>>(), [&batch]);
        let one = &found[&batch];
        assert_eq!((one.chiller.as_deref(), one.curve.as_slice()), (Some("Coil"), &[(0.0, 98.0)][..]));
        assert_eq!(one.summary, store.summary(batch).await.unwrap().unwrap());
    }
}
