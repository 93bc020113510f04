//! The demo brew house: Slate Yard, a small club's brew space that never was.
//!
//! A year of brewing to look around in: batches in winter and in summer, three
//! ways of cooling, a coil that slowly scales up, one brew that went wrong, one
//! in the middle of its chill right now and one that is only planned. All of it
//! goes into the book through the same doors a real brew takes, so whatever the
//! pages say of it was worked out from its log like anything else.
//!
//! Reading order: [`batches`] (what happened), [`day`] (how a day is told from
//! its script), [`chill`] (what the thermometer shows).

mod batches;
mod chill;
mod cold;
mod day;
mod dice;
mod hot;
mod house;
mod log;
mod plans;
mod recipes;
mod wort;

use std::path::Path;

use time::{Duration, OffsetDateTime};

use crate::brewday::{Entry, Fault};
use crate::store::{OpenError, Store, StoreError};

/// Who writes the log in the yard.
const DEVICE: &str = "Shelf phone";
/// How long before now the yard was furnished.
const OPENED: Duration = Duration::days(375);

/// Why the demo brew house could not be filled.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The book could not be written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// There is no place for the book.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// Something in the demo is not what a book takes: a fault of this program.
    #[error("the demo's {what} does not hold together: {why}")]
    Unsound {
        /// Which part.
        what: &'static str,
        /// What is wrong with it.
        why: String,
    },
}

/// Opens the demo's own data file, made and filled first where there is none
/// or nothing is in it.
///
/// It is filled under another name and takes its own when it is whole: whatever
/// cuts that off, there is never half a brew house to look at.
///
/// # Errors
/// The file can't be used, or the book can't be written.
pub async fn open(path: &Path, now: OffsetDateTime) -> Result<Store, DemoError> {
    let store = Store::open(path).await?;
    if !is_empty(&store).await? {
        return Ok(store);
    }
    store.close().await;
    Store::begin_anew(path, async |book| fill(&book, now).await.map(drop)).await??;
    Ok(Store::open(path).await?)
}

/// Fills an empty book with the demo brew house as it stands `now`, and tells
/// whether it did: a book that has anything in it is left alone.
///
/// The same `now` gives the same book. Nothing in it lies after `now`.
///
/// # Errors
/// The book can't be written; what was filled in until then stays.
pub async fn fill(store: &Store, now: OffsetDateTime) -> Result<bool, DemoError> {
    if !is_empty(store).await? {
        return Ok(false);
    }
    store.save_settings(&house::settings()).await?;
    let house = house::House::furnish(store, now - OPENED).await?;
    batches::brew_all(store, &house, now).await?;
    Ok(true)
}

async fn is_empty(store: &Store) -> Result<bool, StoreError> {
    for put_away in [false, true] {
        if !store.recipes("", put_away).await?.is_empty() || !store.equipment_list(None, put_away).await?.is_empty() {
            return Ok(false);
        }
    }
    Ok(store.batch_ids().await?.is_empty())
}

/// Appends a whole log, received when its last entry was written.
async fn log_all(store: &Store, batch: Option<i64>, entries: Vec<Entry>) -> Result<(), DemoError> {
    let Some(received) = entries.last().map(|entry| entry.at) else { return Ok(()) };
    let receipt = store.append(batch, entries, Some(DEVICE), received).await?;
    match receipt.unwrap_or_default().refused.first() {
        None => Ok(()),
        Some((_, fault)) => Err(unsound("log", std::slice::from_ref(fault))),
    }
}

fn unsound(what: &'static str, faults: &[Fault]) -> DemoError {
    DemoError::Unsound {
        what,
        why: faults.iter().map(|fault| format!("{}: {}", fault.field, fault.why)).collect::<Vec<_>>().join(" "),
    }
}

/// What was read, unless it has faults.
fn sound<T>(what: &'static str, read: Result<T, Vec<Fault>>) -> Result<T, DemoError> {
    read.map_err(|faults| unsound(what, &faults))
}
