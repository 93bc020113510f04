//! What could be compared: the newest batches, and a few good choices of them.

use super::chosen::query;
use crate::brewday::BatchState;
use crate::brewday::plausible::Dimension;
use crate::store::{LedgerQuery, LedgerRow};
use crate::web::{App, AppError, Frame};

/// The newest batches a form offers; any other can be asked for in the address.
const OFFERED: u32 = 60;
/// A preset takes so many.
const LAST: usize = 5;

/// The form of batches.
pub(super) struct Chooser {
    pub(super) offers: Vec<Offer>,
    pub(super) presets: Vec<Preset>,
    /// Chosen batches older than the form reaches: it carries them along.
    pub(super) older: Vec<i64>,
}

/// A batch that can be ticked.
pub(super) struct Offer {
    pub(super) batch: i64,
    pub(super) name: String,
    pub(super) about: String,
    pub(super) ticked: bool,
}

/// A choice made in one tap.
pub(super) struct Preset {
    pub(super) label: String,
    pub(super) href: String,
}

impl Chooser {
    pub(super) async fn load(app: &App, frame: &Frame, chosen: &[i64]) -> Result<Self, AppError> {
        let newest = LedgerQuery { take: OFFERED, ..LedgerQuery::default() };
        let mut rows = app.store.ledger(&newest).await?.rows;
        rows.retain(|row| row.state != BatchState::Planned);
        let chilled: Vec<i64> = rows.iter().filter(|row| !row.curve.is_empty()).map(|row| row.batch).collect();
        let mut presets: Vec<Preset> = preset("Last five".to_owned(), &chilled).into_iter().collect();
        let chillers = app.store.batches_by_chiller().await?;
        presets.extend(
            chillers
                .iter()
                .filter_map(|one| preset(format!("Last five with the {}", lowered(&one.name)), &one.batches)),
        );
        let older = chosen.iter().copied().filter(|id| rows.iter().all(|row| row.batch != *id)).collect();
        Ok(Self { offers: rows.into_iter().map(|row| offer(row, frame, chosen)).collect(), presets, older })
    }
}

/// The newest of these, where there are two to compare.
fn preset(label: String, newest_first: &[i64]) -> Option<Preset> {
    let last: Vec<i64> = newest_first.iter().copied().take(LAST).collect();
    (last.len() > 1).then(|| Preset { label, href: format!("/compare?{}", query(&last)) })
}

/// "Short coil" within a sentence: "short coil"; a name that begins otherwise stays.
fn lowered(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(letters).collect(),
        _ => name.to_owned(),
    }
}

fn offer(row: LedgerRow, frame: &Frame, chosen: &[i64]) -> Offer {
    let date = frame.clock.date(row.brewed_at);
    let about = match row.standard_chill_min {
        Some(minutes) => format!("{date}, standard chill {}", frame.show(minutes, Dimension::Minutes)),
        None if row.curve.is_empty() => format!("{date}, no chill logged"),
        None => date.text,
    };
    Offer { batch: row.batch, ticked: chosen.contains(&row.batch), name: row.name, about }
}
