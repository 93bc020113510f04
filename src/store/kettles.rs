//! What a kettle's batches say of it.

use sqlx::SqliteConnection;

use super::Result;
use crate::brewday::Batch;
use crate::brewday::choices::EquipmentKind;
use crate::brewday::kettle_loss::KettleLoss;

/// What the kettle of a batch that is being started loses by itself, from the
/// batches on it that measured that.
pub(super) async fn loss(change: &mut SqliteConnection, batch: &Batch) -> Result<Option<KettleLoss>> {
    let Some(kettle) = batch.all(EquipmentKind::Kettle).next().map(|record| record.id) else { return Ok(None) };
    let rows = sqlx::query!(
        r#"
        select
            json_extract(summary.body, '$.chill.kettle_loss_w_per_k') as "w_per_k!: f64",
            json_extract(summary.body, '$.chill.kettle_loss_se_w_per_k') as "se_w_per_k!: f64"
        from batch
        join summary using (batch_id)
        where json_extract(summary.body, '$.chill.kettle_loss_se_w_per_k') is not null
            and (
                select json_extract(piece.value, '$.id')
                from json_each(batch.body, '$.equipment') as piece
                where json_extract(piece.value, '$.kind') = 'kettle'
                order by piece.key
                limit 1
            ) = ?
        order by brewed_ms desc, batch_id desc
        limit 5
        "#,
        kettle,
    )
    .fetch_all(change)
    .await?;
    Ok(KettleLoss::of(rows.into_iter().map(|row| (row.w_per_k, row.se_w_per_k))))
}

#[cfg(test)]
mod tests {
    use crate::store::testing::{NOON, book, equipment, new_batch, recipe};

    #[tokio::test]
    async fn a_batch_starts_with_what_its_kettle_lost_before_and_keeps_that() {
        let book = book().await;
        let store = &book.store;
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let kettle = store.add_equipment(&equipment("Kettle", "kettle"), NOON).await.unwrap();
        let other = store.add_equipment(&equipment("Pot", "kettle"), NOON).await.unwrap();
        let start = async |piece: i64| {
            let mut new = new_batch(recipe);
            new.equipment = vec![piece];
            store.start_batch(&new, NOON).await.unwrap().unwrap()
        };
        let first = start(kettle).await;
        let measured = "update summary set body = json_set(body, '$.chill.kettle_loss_w_per_k', ?1,
            '$.chill.kettle_loss_se_w_per_k', 0.7) where batch_id = ?2";
        let measure = async |batch: i64, w_per_k: f64| {
            sqlx::query(measured).bind(w_per_k).bind(batch).execute(&store.0.writer).await.unwrap();
        };
        measure(first, 8.4).await;
        let second = start(kettle).await;
        let elsewhere = start(other).await;
        measure(first, 12.0).await;
        let known = async |batch: i64| {
            let batch = store.batch(batch).await.unwrap().unwrap();
            batch.kettle_loss.map(|loss| (loss.w_per_k, loss.batches))
        };
        assert_eq!(known(first).await, None);
        assert_eq!(known(second).await, Some((8.4, 1)), "as it was known when it was started");
        assert_eq!(known(elsewhere).await, None, "another kettle loses otherwise");
    }
}
