//! The chill plan kept with a batch.

use std::sync::Arc;

use time::OffsetDateTime;

use sqlx::SqliteConnection;

use super::{Change, Result, Store, log, seen_through, summaries, to_json, to_ms};
use crate::brewday::chill_plan::KeptPlan;

impl Store {
    /// Keeps a plan with a batch, in the place of an earlier one. Tells whether
    /// there is such a batch.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn keep_chill_plan(&self, batch: i64, plan: &KeptPlan, now: OffsetDateTime) -> Result<bool> {
        let (store, plan) = (self.clone(), plan.clone());
        seen_through(async move {
            let mut change = store.begin().await?;
            if log::fold(&mut change, batch).await?.is_none() {
                return Ok(false);
            }
            write(&mut change, batch, &plan, now).await?;
            // The planned minutes stand in the summary.
            let Some(day) = log::fold(&mut change, batch).await? else { return Ok(false) };
            summaries::write(&mut change, &day).await?;
            change.commit().await?;
            let seq = day.seq();
            store.0.days.changed(Arc::new(day));
            // Nobody may be listening.
            let _ = store.0.changes.send(Change { batch: Some(batch), seq });
            Ok(true)
        })
        .await
    }
}

/// Writes a plan within a transaction.
pub(super) async fn write(
    change: &mut SqliteConnection,
    batch: i64,
    plan: &KeptPlan,
    now: OffsetDateTime,
) -> Result<()> {
    let (body, kept_ms) = (to_json(plan)?, to_ms(now));
    sqlx::query!("insert or replace into chill_plan (batch_id, body, kept_ms) values (?, ?, ?)", batch, body, kept_ms,)
        .execute(change)
        .await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses};
    use crate::store::testing::{NOON, started};

    fn plan(wort_l: f64) -> KeptPlan {
        let body = json!({"wort_l": wort_l, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
            "baths": [{"water_l": 17, "water_c": 12}, {"water_l": 17, "water_c": 12}, {"water_l": 12, "water_c": 12, "ice_kg": 6}]});
        let request = ChillPlanRequest::from_body(&body).expect("a sound request");
        KeptPlan::of(request, &CoilPasses::given(120.0))
    }

    #[tokio::test]
    async fn a_plan_kept_is_read_with_its_batch_and_stands_in_the_summary() {
        let (book, batch) = started().await;
        let store = &book.store;
        let before = store.summary(batch).await.unwrap().unwrap();
        assert_eq!(before.chill.planned_min, None);
        assert!(before.missing.contains_key("chill.planned_min"));
        assert!(store.keep_chill_plan(batch, &plan(20.0), NOON).await.unwrap());
        let second = plan(12.0);
        assert!(store.keep_chill_plan(batch, &second, NOON).await.unwrap());

        let after = store.summary(batch).await.unwrap().unwrap();
        assert_eq!(after.chill.planned_min, Some(second.plan.minutes));
        assert!(!after.missing.contains_key("chill.planned_min"));
        assert_eq!(store.day(batch).await.unwrap().unwrap().batch.chill_plan.as_ref(), Some(&second));
        assert_eq!(store.check_summaries().await.unwrap().different, [0; 0]);
        let path = store.path().to_owned();
        store.close().await;
        let again = Store::open(path).await.unwrap();
        assert_eq!(again.batch(batch).await.unwrap().unwrap().chill_plan, Some(second));
    }

    #[tokio::test]
    async fn no_plan_is_kept_with_a_batch_that_is_not_there() {
        let (book, _) = started().await;
        assert!(!book.store.keep_chill_plan(99, &plan(20.0), NOON).await.unwrap());
    }
}
