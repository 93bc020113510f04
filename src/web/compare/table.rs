//! Every figure of the chosen batches, the chill first.

use std::borrow::Cow;

use super::chosen::Chosen;
use crate::web::Frame;
use crate::web::figures::{self, FigureGroup, FigureRow, Unknown};

/// The group that a comparison begins with, and the figure it begins with.
const FIRST: &str = "chill.";
/// The one figure that leaves out water, weather and volume.
const STANDARD: &str = "chill.standard_chill_min";

/// Figures by group, each with one cell a batch.
pub(super) struct Figures {
    /// The one that is comparable, on its own.
    pub(super) standard: Option<Line>,
    pub(super) groups: Vec<Group>,
}

/// A heading and its figures.
pub(super) struct Group {
    pub(super) name: Cow<'static, str>,
    pub(super) is_chill: bool,
    pub(super) lines: Vec<Line>,
}

/// One figure across the batches.
pub(super) struct Line {
    pub(super) key: &'static str,
    pub(super) label: Cow<'static, str>,
    pub(super) is_estimate: bool,
    pub(super) cells: Vec<Cell>,
}

/// One batch's figure.
pub(super) struct Cell {
    pub(super) value: Option<String>,
    pub(super) se: Option<String>,
}

/// What one batch does not have, and why.
pub(super) struct UnknownOf {
    pub(super) name: String,
    pub(super) unknown: Vec<Unknown>,
}

impl Figures {
    pub(super) fn of(chosen: &Chosen, frame: &Frame) -> Self {
        let each: Vec<Vec<FigureGroup>> =
            chosen.batches.iter().map(|batch| figures::groups(&batch.summary, frame)).collect();
        let mut groups: Vec<Group> = (0..each.first().map_or(0, Vec::len)).map(|at| group(&each, at)).collect();
        // A stable sort: the chill comes first, the others keep their order.
        groups.sort_by_key(|group| !group.is_chill);
        let standard = groups.iter_mut().find_map(|group| {
            let at = group.lines.iter().position(|line| line.key == STANDARD)?;
            Some(group.lines.remove(at))
        });
        Self { standard, groups }
    }
}

impl Group {
    /// One batch's cells, figure by figure.
    pub(super) fn row(&self, batch: &usize) -> Vec<&Cell> {
        self.lines.iter().filter_map(|line| line.cells.get(*batch)).collect()
    }
}

/// Every batch's summary has the same groups with the same rows.
fn group(each: &[Vec<FigureGroup>], at: usize) -> Group {
    let of_batches: Vec<&FigureGroup> = each.iter().filter_map(|groups| groups.get(at)).collect();
    let pattern: &[FigureRow] = of_batches.first().map_or(&[], |group| &group.rows);
    let line = |(index, row): (usize, &FigureRow)| Line {
        key: row.key,
        label: row.label.clone(),
        is_estimate: row.is_estimate,
        cells: of_batches.iter().filter_map(|group| group.rows.get(index)).map(cell).collect(),
    };
    let lines: Vec<Line> = pattern.iter().enumerate().map(line).collect();
    Group {
        name: of_batches.first().map_or("".into(), |group| group.name.clone()),
        is_chill: lines.first().is_some_and(|line| line.key.starts_with(FIRST)),
        lines,
    }
}

fn cell(row: &FigureRow) -> Cell {
    Cell { value: row.value.clone(), se: row.se.clone() }
}

/// Batch by batch, what is not known and why.
pub(super) fn unknown(chosen: &Chosen, frame: &Frame) -> Vec<UnknownOf> {
    let of = chosen.batches.iter().map(|batch| UnknownOf {
        name: batch.name.clone(),
        unknown: figures::unknown(&figures::groups(&batch.summary, frame)),
    });
    of.filter(|batch| !batch.unknown.is_empty()).collect()
}
