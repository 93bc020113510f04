//! What was computed from a batch's log, kept beside it so that lists never fold one.

use std::collections::BTreeMap;
use std::sync::Arc;

use sqlx::SqliteConnection;

use super::coils::told_by_bath;
use super::{Result, Store, from_json, log, to_json, to_ms};
use crate::brewday::choices::Choice;
use crate::brewday::curve::curve_points;
use crate::brewday::{BrewDay, Summary};

/// The version that computes, as a number: its parts with a nought between them.
const COMPUTED_BY: &str = concat!(
    env!("CARGO_PKG_VERSION_MAJOR"),
    "0",
    env!("CARGO_PKG_VERSION_MINOR"),
    "0",
    env!("CARGO_PKG_VERSION_PATCH")
);
/// Notes in the file which version computed its summaries.
const SET_COMPUTED_BY: &str = concat!(
    "pragma user_version = ",
    env!("CARGO_PKG_VERSION_MAJOR"),
    "0",
    env!("CARGO_PKG_VERSION_MINOR"),
    "0",
    env!("CARGO_PKG_VERSION_PATCH")
);

/// What comparing the kept summaries with the log has shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checked {
    /// Batches looked at.
    pub batches: usize,
    /// Entries folded.
    pub entries: usize,
    /// Batches whose kept summary is not what the log says.
    pub different: Vec<i64>,
}

/// A summary as its row holds it.
#[derive(Debug, PartialEq)]
struct Row {
    seq: i64,
    body: String,
    brewed_ms: i64,
    state: String,
    original_sg: Option<f64>,
    into_fermenter_l: Option<f64>,
    abv_pct: Option<f64>,
    minutes_to_settled: Option<f64>,
    standard_chill_min: Option<f64>,
    curve: String,
    chiller_id: Option<i64>,
    conductance_w_per_k: Option<f64>,
    conductance_se_w_per_k: Option<f64>,
    told_by_bath: i64,
}

impl Store {
    /// A batch's summary.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn summary(&self, batch: i64) -> Result<Option<Summary>> {
        let body = sqlx::query_scalar!("select body from summary where batch_id = ?", batch)
            .fetch_optional(&self.0.readers)
            .await?;
        body.map(|body| from_json("a summary", &body)).transpose()
    }

    /// The summary of a day that was read: kept with the day, so that its pages
    /// read it once between two entries.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn summary_of(&self, day: &BrewDay) -> Result<Option<Arc<Summary>>> {
        if let Some(known) = day.known_summary() {
            return Ok(Some(Arc::clone(known)));
        }
        let summary = self.summary(day.batch.id).await?.map(Arc::new);
        if let Some(summary) = &summary {
            day.know(summary);
        }
        Ok(summary)
    }

    /// Computes every summary anew where another version computed them: it may
    /// have done so otherwise.
    pub(super) async fn refresh_summaries(&self) -> Result<()> {
        let by: i64 = sqlx::query_scalar("pragma user_version").fetch_one(&self.0.writer).await?;
        if COMPUTED_BY.parse() != Ok(by) {
            self.rebuild_summaries().await?;
        }
        Ok(())
    }

    /// Computes every summary anew from its log and keeps it: where [`Store::check_summaries`] found one
    /// that differs. Gives how many there are.
    ///
    /// # Errors
    /// The data file can't be written; then all summaries are as they were.
    pub async fn rebuild_summaries(&self) -> Result<usize> {
        let mut change = self.begin().await?;
        let batches = batch_ids(&mut change).await?;
        for &batch in &batches {
            if let Some(day) = log::fold(&mut change, batch).await? {
                write(&mut change, &day).await?;
            }
        }
        sqlx::query(SET_COMPUTED_BY).execute(&mut *change).await?;
        change.commit().await?;
        Ok(batches.len())
    }

    /// Computes every summary anew and compares it with the one that is kept.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn check_summaries(&self) -> Result<Checked> {
        let mut snapshot = self.0.readers.begin().await?;
        let mut checked = Checked::default();
        for batch in batch_ids(&mut snapshot).await? {
            let Some(day) = log::fold(&mut snapshot, batch).await? else { continue };
            let same = kept(&mut snapshot, batch).await? == Some(Row::of(&day, &Summary::of(&day))?);
            if !same || kept_uses(&mut snapshot, batch).await? != uses(&day) {
                checked.different.push(batch);
            }
            checked.batches += 1;
            checked.entries += day.lines.len();
        }
        Ok(checked)
    }
}

/// Keeps the summary of a day, and when it used its equipment.
pub(super) async fn write(change: &mut SqliteConnection, day: &BrewDay) -> Result<()> {
    let summary = Arc::new(Summary::of(day));
    let row = Row::of(day, &summary)?;
    day.know(&summary);
    sqlx::query!(
        "
        insert into summary (
            batch_id,
            seq,
            body,
            brewed_ms,
            state,
            original_sg,
            into_fermenter_l,
            abv_pct,
            minutes_to_settled,
            standard_chill_min,
            curve,
            chiller_id,
            conductance_w_per_k,
            conductance_se_w_per_k,
            told_by_bath
        )
        values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
        on conflict (batch_id) do update set
            seq = excluded.seq,
            body = excluded.body,
            brewed_ms = excluded.brewed_ms,
            state = excluded.state,
            original_sg = excluded.original_sg,
            into_fermenter_l = excluded.into_fermenter_l,
            abv_pct = excluded.abv_pct,
            minutes_to_settled = excluded.minutes_to_settled,
            standard_chill_min = excluded.standard_chill_min,
            curve = excluded.curve,
            chiller_id = excluded.chiller_id,
            conductance_w_per_k = excluded.conductance_w_per_k,
            conductance_se_w_per_k = excluded.conductance_se_w_per_k,
            told_by_bath = excluded.told_by_bath
        ",
        day.batch.id,
        row.seq,
        row.body,
        row.brewed_ms,
        row.state,
        row.original_sg,
        row.into_fermenter_l,
        row.abv_pct,
        row.minutes_to_settled,
        row.standard_chill_min,
        row.curve,
        row.chiller_id,
        row.conductance_w_per_k,
        row.conductance_se_w_per_k,
        row.told_by_bath,
    )
    .execute(&mut *change)
    .await?;
    write_uses(change, day).await
}

/// A reading seldom changes when equipment was used, and what is as it was is not written.
async fn write_uses(change: &mut SqliteConnection, day: &BrewDay) -> Result<()> {
    let uses = uses(day);
    if kept_uses(&mut *change, day.batch.id).await? == uses {
        return Ok(());
    }
    sqlx::query!("delete from equipment_use where batch_id = ?", day.batch.id).execute(&mut *change).await?;
    for (equipment, used_ms) in uses {
        sqlx::query!(
            "insert into equipment_use (equipment_id, batch_id, used_ms) values (?, ?, ?)",
            equipment,
            day.batch.id,
            used_ms,
        )
        .execute(&mut *change)
        .await?;
    }
    Ok(())
}

/// When the day used its equipment, by equipment.
fn uses(day: &BrewDay) -> BTreeMap<i64, i64> {
    day.uses().into_iter().map(|(equipment, at)| (equipment, to_ms(at))).collect()
}

async fn kept_uses(connection: &mut SqliteConnection, batch: i64) -> Result<BTreeMap<i64, i64>> {
    let rows = sqlx::query!(
        r#"
        select
            equipment_id as "equipment_id!",
            used_ms
        from equipment_use
        where batch_id = ?
        "#,
        batch,
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.equipment_id, row.used_ms)).collect())
}

async fn kept(connection: &mut SqliteConnection, batch: i64) -> Result<Option<Row>> {
    let row = sqlx::query_as!(
        Row,
        "
        select
            seq,
            body,
            brewed_ms,
            state,
            original_sg,
            into_fermenter_l,
            abv_pct,
            minutes_to_settled,
            standard_chill_min,
            curve,
            chiller_id,
            conductance_w_per_k,
            conductance_se_w_per_k,
            told_by_bath
        from summary
        where batch_id = ?
        ",
        batch,
    )
    .fetch_optional(connection)
    .await?;
    Ok(row)
}

async fn batch_ids(connection: &mut SqliteConnection) -> Result<Vec<i64>> {
    Ok(sqlx::query_scalar!("select batch_id from batch order by batch_id").fetch_all(connection).await?)
}

impl Row {
    fn of(day: &BrewDay, summary: &Summary) -> Result<Self> {
        Ok(Self {
            seq: day.seq(),
            body: to_json(summary)?,
            brewed_ms: to_ms(day.brewed_at()),
            state: day.state().key().to_owned(),
            original_sg: summary.gravity.original_sg,
            into_fermenter_l: summary.volume.into_fermenter_l,
            abv_pct: summary.estimate.abv_pct,
            minutes_to_settled: summary.chill.minutes_to_settled,
            standard_chill_min: summary.chill.standard_chill_min,
            curve: to_json(&curve_points(day))?,
            chiller_id: day.batch.chiller().map(|record| record.id),
            conductance_w_per_k: summary.chill.conductance_w_per_k,
            conductance_se_w_per_k: summary.chill.conductance_se_w_per_k,
            told_by_bath: i64::from(told_by_bath(&summary.chill.stages)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::COMPUTED_BY;
    use crate::brewday::Summary;
    use crate::brewday::testing::Day;
    use crate::store::Checked;
    use crate::store::testing::{NOON, entry, started};
    use crate::store::{LedgerQuery, Store};

    #[tokio::test]
    async fn a_batch_has_a_summary_from_its_start() {
        let (book, batch) = started().await;
        assert!(book.store.summary(batch).await.unwrap().is_some());
        assert_eq!(book.store.summary(99).await.unwrap(), None::<Summary>);
    }

    #[tokio::test]
    async fn a_summary_that_is_not_what_the_log_says_is_found_and_rebuilt() {
        let (book, batch) = started().await;
        let store = &book.store;
        let boil = entry(1, r#"{"kind": "boil_started"}"#);
        store.append(Some(batch), vec![boil], None, NOON).await.unwrap();
        assert_eq!(store.check_summaries().await.unwrap().different, [0; 0]);
        sqlx::query("update summary set abv_pct = 12.0").execute(&store.0.writer).await.unwrap();
        let Checked { batches, different, .. } = store.check_summaries().await.unwrap();
        assert_eq!((batches, different), (1, vec![batch]));
        assert_eq!(store.rebuild_summaries().await.unwrap(), 1);
        assert_eq!(store.check_summaries().await.unwrap().different, [0; 0]);
    }

    #[tokio::test]
    async fn a_day_written_as_it_went_is_the_day_read_back() {
        let (book, batch) = started().await;
        let store = &book.store;
        for logged in Day::ordinary().log {
            // Its care entries are about equipment this book doesn't have.
            if logged.entry.body.kind() != "care" {
                store.append(Some(batch), vec![logged.entry], None, logged.received_at).await.unwrap();
            }
        }
        assert_eq!(store.check_summaries().await.unwrap().different, [0; 0]);
        let kept = store.summary(batch).await.unwrap().unwrap();
        assert!(kept.chill.conductance_w_per_k.is_some(), "{:?}", kept.missing);
        let path = store.path().to_owned();
        store.close().await;
        let again = Store::open(path).await.unwrap();
        assert_eq!(Summary::of(&again.day(batch).await.unwrap().unwrap()), kept);
        let row = again.ledger(&LedgerQuery::default()).await.unwrap().rows.remove(0);
        assert_eq!(row.original_sg, kept.gravity.original_sg);
        assert_eq!(row.curve.len(), 16, "{:?}", row.curve);
    }

    #[tokio::test]
    async fn summaries_another_version_computed_are_computed_anew_when_the_book_is_opened() {
        let (book, batch) = started().await;
        let path = book.store.path().to_owned();
        let spoil = "update summary set abv_pct = 12.0";
        sqlx::query(spoil).execute(&book.store.0.writer).await.unwrap();
        book.store.close().await;
        let same = Store::open(&path).await.unwrap();
        assert_eq!(same.check_summaries().await.unwrap().different, [batch]);
        sqlx::query("pragma user_version = 9").execute(&same.0.writer).await.unwrap();
        same.close().await;
        let newer = Store::open(&path).await.unwrap();
        assert_eq!(newer.check_summaries().await.unwrap().different, [0; 0]);
        let by: i64 = sqlx::query_scalar("pragma user_version").fetch_one(&newer.0.writer).await.unwrap();
        assert_eq!(by.to_string(), COMPUTED_BY.trim_start_matches('0'));
    }
}
