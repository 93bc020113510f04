//! The whole book out, and into an empty one: every record with its number.

mod read;
mod write;

use std::collections::{BTreeMap, BTreeSet};

use sqlx::SqliteConnection;

use super::log::Append;
use super::{Result, Store, from_json, from_ms, seen_through, summaries, to_ms};
use crate::brewday::Fault;
use crate::brewday::carried::{BookEntry, CarriedBook, CarriedEntry};

impl Store {
    /// Everything that is in the book, as it stands at one moment.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn carry_book_out(&self) -> Result<CarriedBook> {
        let mut snapshot = self.0.readers.begin().await?;
        let settings = sqlx::query_scalar!("select body from setting").fetch_optional(&mut *snapshot).await?;
        let settings = settings.map(|body| from_json("the settings", &body)).transpose()?.unwrap_or_default();
        let lists = sqlx::query_scalar!("select body from check_lists").fetch_optional(&mut *snapshot).await?;
        let lists = lists.map(|body| from_json("the check lists", &body)).transpose()?;
        Ok(CarriedBook {
            recipes: read::recipes(&mut snapshot).await?,
            equipment: read::equipment(&mut snapshot).await?,
            batches: read::batches(&mut snapshot).await?,
            entries: read::entries(&mut snapshot).await?,
            ..CarriedBook::new(settings, lists)
        })
    }

    /// Takes a whole book into this one, which has to be empty, and gives the
    /// number of its batches. Only the settings are written over.
    ///
    /// The inner result holds what is wrong with it; then nothing was taken.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn carry_book_in(&self, book: CarriedBook) -> Result<std::result::Result<usize, Vec<Fault>>> {
        let store = self.clone();
        seen_through(async move { store.carry_book_in_now(book).await }).await
    }

    async fn carry_book_in_now(&self, book: CarriedBook) -> Result<std::result::Result<usize, Vec<Fault>>> {
        let mut change = self.begin().await?;
        if !is_empty(&mut change).await? {
            let why = "This book has records already, and a whole book goes into an empty one only. \
                       Name a new file with --data, or import single batches.";
            return Ok(Err(vec![Fault::new("batches", why)]));
        }
        if let Err(fault) = holds_together(&book) {
            return Ok(Err(vec![fault]));
        }
        write::settings(&mut change, &book).await?;
        for recipe in &book.recipes {
            write::recipe(&mut change, recipe).await?;
        }
        for piece in &book.equipment {
            write::equipment(&mut change, piece).await?;
        }
        let count = book.batches.len();
        let mut logs: BTreeMap<Option<i64>, Append> = BTreeMap::new();
        logs.insert(None, Append::to(None));
        for batch in book.batches {
            let day = write::batch(&mut change, batch).await?;
            logs.insert(Some(day.batch.id), Append::to(Some(day)));
        }
        for BookEntry { batch, carried } in book.entries {
            let CarriedEntry { received_at, device, entry } = carried;
            let Some(log) = logs.get_mut(&batch) else { continue };
            log.device = device;
            log.now = from_ms(to_ms(received_at))?;
            log.take(&mut change, entry).await?;
        }
        for log in logs.into_values() {
            let (day, receipt) = log.finish();
            let faults = super::carry::faults(&receipt);
            if !faults.is_empty() {
                return Ok(Err(faults));
            }
            if let Some(day) = day {
                summaries::write(&mut change, &day).await?;
            }
        }
        change.commit().await?;
        Ok(Ok(count))
    }
}

/// Whether whatever a record of the document refers to is in the document.
fn holds_together(book: &CarriedBook) -> std::result::Result<(), Fault> {
    let revisions: BTreeMap<i64, usize> =
        book.recipes.iter().map(|recipe| (recipe.id, recipe.revisions.len())).collect();
    let batches: BTreeSet<i64> = book.batches.iter().map(|batch| batch.id).collect();
    for (index, batch) in book.batches.iter().enumerate() {
        let known = revisions.get(&batch.recipe).copied().unwrap_or(0);
        if !usize::try_from(batch.recipe_revision).is_ok_and(|number| (1..=known).contains(&number)) {
            let why = "There is no such recipe, or no such revision of it, in the document.";
            return Err(Fault::new(format!("batches.{index}.recipe"), why));
        }
    }
    for (index, entry) in book.entries.iter().enumerate() {
        if entry.batch.is_some_and(|batch| !batches.contains(&batch)) {
            let why = "There is no batch with this number in the document.";
            return Err(Fault::new(format!("entries.{index}.batch"), why));
        }
    }
    Ok(())
}

async fn is_empty(change: &mut SqliteConnection) -> Result<bool> {
    let records = sqlx::query_scalar!(
        r#"
        select exists (select 1 from recipe)
            + exists (select 1 from equipment)
            + exists (select 1 from batch)
            + exists (select 1 from entry) as "records!: i64"
        "#
    )
    .fetch_one(change)
    .await?;
    Ok(records == 0)
}

#[cfg(test)]
mod tests;
