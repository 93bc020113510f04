//! Long rows of thermometer readings, as a table instead of line after line.

use std::collections::HashSet;

use uuid::Uuid;

use crate::brewday::choices::{Choice, Place};
use crate::brewday::day::Reading;
use crate::brewday::plausible::Dimension;
use crate::brewday::{Body, BrewDay};
use crate::web::Frame;
use crate::web::chart::{Point, thin};

/// Fewer readings of a place than this stay lines of the log.
const FEWEST: usize = 4;
/// No more than this are printed of one place: a probe may have sent thousands.
const MOST: usize = 60;

/// The readings of one place.
#[derive(Clone, Debug)]
pub(super) struct Series {
    pub(super) place: &'static str,
    pub(super) unit: &'static str,
    pub(super) cells: Vec<Cell>,
    /// Says that some are left out, where some are.
    pub(super) left_out: Option<String>,
    ids: HashSet<Uuid>,
}

/// One reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) at: String,
    pub(super) value: String,
    /// Whether it was put right afterwards: its line in the log says how.
    pub(super) corrected: bool,
}

impl Series {
    /// Whether this table tells a reading.
    pub(super) fn holds(&self, id: Uuid) -> bool {
        self.ids.contains(&id)
    }

    /// Whether a reading in the table was put right.
    pub(super) fn has_corrected(&self) -> bool {
        self.cells.iter().any(|cell| cell.corrected)
    }
}

/// A table for each place that was read often.
pub(super) fn series(day: &BrewDay, frame: &Frame) -> Vec<Series> {
    let places = Place::ALL.iter().map(|place| (*place, day.temperatures(*place).collect::<Vec<_>>()));
    places.filter(|(_, all)| all.len() >= FEWEST).map(|(place, all)| of_place(day, frame, place, &all)).collect()
}

fn of_place(day: &BrewDay, frame: &Frame, place: Place, all: &[Reading]) -> Series {
    let corrected: HashSet<Uuid> = day
        .standing
        .iter()
        .filter(|entry| entry.amended_by.is_some() && matches!(entry.body, Body::Temperature { .. }))
        .map(|entry| entry.id)
        .collect();
    let shown = thinned(all);
    let left_out = (shown.len() < all.len()).then(|| {
        format!("{} of {} readings, every peak among them; the readings’ file has them all.", shown.len(), all.len())
    });
    let cells = shown.iter().map(|reading| Cell {
        at: frame.clock.short(reading.at).text,
        value: frame.show(reading.shown_c, Dimension::Temperature).text,
        corrected: corrected.contains(&reading.id),
    });
    Series {
        place: place.label(),
        unit: frame.degree_unit(),
        cells: cells.collect(),
        left_out,
        ids: all.iter().map(|reading| reading.id).collect(),
    }
}

/// The readings that show the curve's shape best.
fn thinned(all: &[Reading]) -> Vec<Reading> {
    let Some(first) = all.first() else { return Vec::new() };
    let along = |reading: &Reading| Point::new((reading.at - first.at).as_seconds_f64(), reading.temperature_c);
    let kept = thin(&all.iter().map(along).collect::<Vec<_>>(), MOST);
    let mut kept = kept.into_iter().peekable();
    all.iter().filter(|reading| kept.next_if(|point| *point == along(reading)).is_some()).copied().collect()
}
