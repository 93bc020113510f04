//! The append: the one way into the log.
//!
//! A phone sends its entries until it is told they are on disk, so the same
//! entry may come twice, or from two requests at once. All of them meet in one
//! transaction of the one writer, which answers for each: accepted, held (it
//! was here already) or refused, with the reason.

use std::sync::Arc;

use sqlx::SqliteConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::{Document, fold};
use crate::brewday::choices::Instrument;
use crate::brewday::entry::Amendment;
use crate::brewday::{Body, BrewDay, Entry, Fault, LoggedEntry};
use crate::store::{Change, Result, Store, from_ms, seen_through, summaries, to_json, to_ms};

/// What became of the entries that were sent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Receipt {
    /// On disk now.
    pub accepted: Vec<Uuid>,
    /// On disk before.
    pub held: Vec<Uuid>,
    /// Not taken, and why.
    pub refused: Vec<(Uuid, Fault)>,
}

/// What an amendment is about.
struct Target {
    batch: Option<i64>,
    equipment: Option<i64>,
    kind: String,
}

impl Store {
    /// Appends entries to a batch's log, or to the house's own, with whatever
    /// follows from them. Each is taken whole or not at all, and in this order;
    /// `None` where there is no such batch.
    ///
    /// Once begun it is seen through, even if the one who sent it is gone.
    ///
    /// # Errors
    /// The data file can't be written; then none of the entries was taken.
    pub async fn append(
        &self,
        batch: Option<i64>,
        entries: Vec<Entry>,
        device: Option<&str>,
        now: OffsetDateTime,
    ) -> Result<Option<Receipt>> {
        let (store, device) = (self.clone(), device.map(str::to_owned));
        seen_through(async move {
            let done = store.append_now(batch, entries, device, now).await;
            if let (Err(_), Some(batch)) = (&done, batch) {
                // A commit that failed may still have happened.
                store.0.days.forget(batch);
            }
            done
        })
        .await
    }

    async fn append_now(
        &self,
        batch: Option<i64>,
        entries: Vec<Entry>,
        device: Option<String>,
        now: OffsetDateTime,
    ) -> Result<Option<Receipt>> {
        let mut change = self.begin().await?;
        let day = match batch {
            None => None,
            Some(batch) => match self.day_within(&mut change, batch).await? {
                None => return Ok(None),
                day => day,
            },
        };
        let was_in_progress = day.as_ref().is_some_and(|day| day.state().in_progress());
        let mut append = Append { device, now: from_ms(to_ms(now))?, ..Append::to(day) };
        for entry in entries {
            append.take_with_consequences(&mut change, entry).await?;
        }
        let seq = append.seq;
        let (day, receipt) = append.finish();
        let Some(seq) = seq else {
            // Nothing was written: the day is as it was.
            if let Some(day) = day {
                self.0.days.put_back(day);
            }
            return Ok(Some(receipt));
        };
        if let Some(day) = &day {
            summaries::write(&mut change, day).await?;
            if was_in_progress && day.state().in_progress() {
                change.is_of_a_day_under_way();
            }
        }
        change.commit().await?;
        if let Some(day) = day {
            self.0.days.changed(Arc::new(day));
        }
        // Nobody listening is no fault.
        let _ = self.0.changes.send(Change { batch, seq });
        Ok(Some(receipt))
    }

    /// The day as the writer sees it. Only the writer changes the log, so a day
    /// kept from an earlier append is still the day.
    async fn day_within(&self, change: &mut SqliteConnection, batch: i64) -> Result<Option<BrewDay>> {
        match self.0.days.take(batch) {
            Some(day) => Ok(Some(day)),
            None => fold(change, batch).await,
        }
    }
}

/// One append under way.
pub(in crate::store) struct Append {
    /// The batch's day, folded as far as the last [`Append::settle`]; none for the house's own log.
    day: Option<BrewDay>,
    /// Written since then.
    unfolded: Vec<LoggedEntry>,
    /// Who sent the next entry.
    pub(in crate::store) device: Option<String>,
    /// When it came.
    pub(in crate::store) now: OffsetDateTime,
    /// The last entry written.
    pub(in crate::store) seq: Option<i64>,
    /// What became of those so far.
    pub(in crate::store) receipt: Receipt,
}

impl Append {
    pub(in crate::store) fn to(day: Option<BrewDay>) -> Self {
        Self {
            day,
            unfolded: Vec::new(),
            device: None,
            now: OffsetDateTime::UNIX_EPOCH,
            seq: None,
            receipt: Receipt::default(),
        }
    }

    /// The day with all that was written, and what became of each entry.
    pub(in crate::store) fn finish(mut self) -> (Option<BrewDay>, Receipt) {
        self.settle();
        (self.day, self.receipt)
    }

    /// Takes one entry, and what follows from it, or says why not.
    async fn take_with_consequences(&mut self, change: &mut SqliteConnection, entry: Entry) -> Result<()> {
        let leans = self.leans_on_the_day(change, &entry.body).await?;
        if leans {
            self.settle();
        }
        // Nothing follows from a reading that is struck out, and a thermometer's whole log is
        // not searched for each of them.
        let is_struck_reading = matches!(entry.body, Body::Amendment(_)) && !leans;
        let day = self.day.as_ref().filter(|_| !is_struck_reading);
        let follow_ups = day.map(|day| day.follow_ups(&entry)).unwrap_or_default();
        if self.take(change, entry).await? {
            for entry in follow_ups {
                // Its id follows from the entry's, so it may have come before; then it stays as it is.
                if let Ok(equipment) = self.judge(change, &entry).await? {
                    self.write(change, entry, equipment).await?;
                }
            }
        }
        Ok(())
    }

    /// Takes one entry, or says why not. Tells whether it was taken.
    pub(in crate::store) async fn take(&mut self, change: &mut SqliteConnection, entry: Entry) -> Result<bool> {
        let id = entry.id;
        match self.judge(change, &entry).await? {
            Ok(equipment) if self.write(change, entry, equipment).await? => {
                self.receipt.accepted.push(id);
                return Ok(true);
            }
            // What is here already stands, whatever would be said of it now.
            Err(fault) if !is_here(change, id).await? => self.receipt.refused.push((id, fault)),
            _ => self.receipt.held.push(id),
        }
        Ok(false)
    }

    /// Why an entry can't be taken, or the equipment it is about.
    async fn judge(
        &mut self,
        change: &mut SqliteConnection,
        entry: &Entry,
    ) -> Result<std::result::Result<Option<i64>, Fault>> {
        let equipment = match &entry.body {
            Body::Care(care) if is_equipment(change, care.equipment).await? => Some(care.equipment),
            Body::Care(_) => return Ok(Err(unknown_equipment("equipment"))),
            Body::Amendment(amendment) => {
                let target = target(change, amendment.of).await?.filter(|target| target.batch == self.batch());
                let Some(target) = target else {
                    return Ok(Err(Fault::new("of", "The entry this is about is not in this log.")));
                };
                if let Some(Body::Care(care)) = amendment.replacement.as_ref().map(|replacement| &replacement.body) {
                    if !is_equipment(change, care.equipment).await? {
                        return Ok(Err(unknown_equipment("replacement.equipment")));
                    }
                    // A care log is found by its equipment, which this entry was never filed under.
                    if target.equipment.is_none() {
                        let why = "Only care of equipment can become other care. Strike this out and enter the care.";
                        return Ok(Err(Fault::new("replacement.kind", why)));
                    }
                }
                target.equipment
            }
            _ => None,
        };
        let leans = self.leans_on_the_day(change, &entry.body).await?;
        if leans {
            self.settle();
        }
        let judged = match &self.day {
            Some(day) if leans => day.refuses(entry),
            Some(_) => Ok(()),
            None => belongs_in_house(&entry.body),
        };
        Ok(judged.map(|()| equipment))
    }

    /// Writes an entry, unless one with its id is here. Tells whether it was written.
    async fn write(&mut self, change: &mut SqliteConnection, mut entry: Entry, equipment: Option<i64>) -> Result<bool> {
        // What is kept in memory is what will be read back.
        entry.at = from_ms(to_ms(entry.at))?;
        let document = Document { body: entry.body, note: entry.note, typed: entry.typed };
        let (body, kind, batch) = (to_json(&document)?, document.body.kind(), self.batch());
        let (at_ms, received_ms) = (to_ms(entry.at), to_ms(self.now));
        let added = sqlx::query!(
            "
            insert into entry (entry_id, batch_id, at_ms, received_ms, device, kind, body, equipment_id)
            values (?, ?, ?, ?, ?, ?, ?, ?)
            on conflict (entry_id) do nothing
            ",
            entry.id,
            batch,
            at_ms,
            received_ms,
            self.device,
            kind,
            body,
            equipment,
        )
        .execute(change)
        .await?;
        if added.rows_affected() == 0 {
            return Ok(false);
        }
        let seq = added.last_insert_rowid();
        let Document { body, note, typed } = document;
        let entry = Entry { body, note, typed, ..entry };
        self.seq = Some(seq);
        self.unfolded.push(LoggedEntry { seq, received_at: self.now, device: self.device.clone(), entry });
        Ok(true)
    }

    /// Whether an entry can only be judged, or followed up, by what was logged
    /// before it. A thermometer's whole log isn't, nor is striking it out again,
    /// so either costs one fold and not one for each reading.
    async fn leans_on_the_day(&self, change: &mut SqliteConnection, body: &Body) -> Result<bool> {
        match body {
            Body::Gravity { instrument, .. } => Ok(*instrument == Instrument::Refractometer),
            Body::Amendment(Amendment { replacement: Some(_), .. }) => Ok(true),
            Body::Amendment(amendment) => {
                let of = target(change, amendment.of).await?;
                Ok(of.is_none_or(|of| of.kind != Body::TEMPERATURE))
            }
            _ => Ok(false),
        }
    }

    /// Folds in what was written since the day was folded last.
    fn settle(&mut self) {
        if self.unfolded.is_empty() {
            return;
        }
        let mut unfolded = std::mem::take(&mut self.unfolded);
        self.day = self.day.take().map(|mut day| {
            // One more entry is the usual case, and the day grows by it without being folded.
            if unfolded.len() == 1 {
                unfolded.drain(..).for_each(|one| day.grow(one));
                return day;
            }
            let log = day.lines.into_iter().map(|line| line.logged).chain(unfolded);
            BrewDay::fold(day.batch, log.collect())
        });
    }

    fn batch(&self) -> Option<i64> {
        self.day.as_ref().map(|day| day.batch.id)
    }
}

fn belongs_in_house(body: &Body) -> std::result::Result<(), Fault> {
    let kind = match body {
        Body::Amendment(amendment) => amendment.replacement.as_ref().map(|replacement| &replacement.body),
        other => Some(other),
    };
    match kind {
        None | Some(Body::Care(_) | Body::Note) => Ok(()),
        Some(_) => Err(Fault::new("kind", "Only care of equipment and notes are kept outside a batch.")),
    }
}

fn unknown_equipment(field: &str) -> Fault {
    Fault::new(field, "There is no such equipment in the book.")
}

async fn is_here(change: &mut SqliteConnection, id: Uuid) -> Result<bool> {
    let found = sqlx::query_scalar!("select seq from entry where entry_id = ?", id).fetch_optional(change).await?;
    Ok(found.is_some())
}

async fn is_equipment(change: &mut SqliteConnection, id: i64) -> Result<bool> {
    let found = sqlx::query_scalar!("select equipment_id from equipment where equipment_id = ?", id)
        .fetch_optional(change)
        .await?;
    Ok(found.is_some())
}

async fn target(change: &mut SqliteConnection, id: Uuid) -> Result<Option<Target>> {
    let target = sqlx::query_as!(
        Target,
        "
        select
            batch_id as batch,
            equipment_id as equipment,
            kind
        from entry
        where entry_id = ?
        ",
        id,
    )
    .fetch_optional(change)
    .await?;
    Ok(target)
}

#[cfg(test)]
mod tests;
