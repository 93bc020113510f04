//! Every figure of the chosen batches, the chill first.

use std::borrow::Cow;

use super::chosen::Chosen;
use crate::brewday::choices::Cooling;
use crate::brewday::plausible::Dimension;
use crate::brewday::summary::ChillStageFigures;
use crate::web::Frame;
use crate::web::figures::{self, FigureGroup, FigureRow, Unknown};
use crate::web::stage_labels::stage_labels;
use crate::web::units::Shown;

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
    /// Whether what holds a chill back stands in it.
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
#[derive(Clone, Default)]
pub(super) struct Cell {
    pub(super) value: Option<Shown>,
    pub(super) se: Option<String>,
}

/// What one batch does not have, and why.
pub(super) struct UnknownOf {
    pub(super) name: String,
    pub(super) unknown: Vec<Unknown>,
}

/// The chill's figures in parts that fit a sheet's width: heading and keys. What
/// is in none of them stands in the last.
const PARTS: [(&str, &[&str]); 4] = [
    (
        "Chill: how long",
        &[
            "chill.minutes_to_settled",
            "chill.minutes_to_target",
            "chill.planned_min",
            "chill.minutes_to_80c",
            "chill.minutes_60_to_30c",
            "chill.mean_rate_c_per_min",
            "chill.max_rate_c_per_min",
        ],
    ),
    ("Chill: the coil", &["chill.conductance_w_per_k"]),
    (
        "Chill: what it took",
        &[
            "chill.heat_mj",
            "chill.water_l",
            "chill.water_l_per_l",
            "chill.ice_kg",
            "chill.ice_kg_per_l",
            "chill.bath_capacity_used_pct",
        ],
    ),
    ("Chill: what it did to the wort", &[]),
];
/// The part that each stage's own conductance stands in.
const COIL: usize = 1;

impl Figures {
    pub(super) fn of(chosen: &Chosen, frame: &Frame) -> Self {
        let each: Vec<Vec<FigureGroup>> =
            chosen.batches.iter().map(|batch| figures::groups(&batch.kept.summary, frame)).collect();
        let groups = (0..each.first().map_or(0, Vec::len)).map(|at| group(&each, at));
        let (chill, others): (Vec<Group>, Vec<Group>) = groups.partition(|group| group.is_chill);
        let mut lines: Vec<Line> = chill.into_iter().flat_map(|group| group.lines).collect();
        let at = lines.iter().position(|line| line.key == STANDARD);
        let standard = at.map(|at| lines.remove(at));
        let mut parts: Vec<Group> =
            PARTS.iter().map(|(name, _)| Group { name: (*name).into(), is_chill: false, lines: Vec::new() }).collect();
        for line in lines {
            let part = PARTS.iter().position(|(_, keys)| keys.contains(&line.key)).unwrap_or(PARTS.len() - 1);
            parts[part].lines.push(line);
        }
        parts[COIL].lines.extend(stages(chosen, frame));
        parts[COIL].is_chill = true;
        Self { standard, groups: parts.into_iter().chain(others).collect() }
    }
}

/// Each stage's own conductance, a line for each kind of stage in the order they come.
fn stages(chosen: &Chosen, frame: &Frame) -> Vec<Line> {
    let told: Vec<Vec<(String, Cell)>> = chosen
        .batches
        .iter()
        .map(|batch| {
            let stages = &batch.kept.summary.chill.stages;
            let labels = stage_labels(stages.iter().map(|stage| stage.method));
            let coils = labels.into_iter().zip(stages).filter(|(_, stage)| stage.method != Cooling::Air);
            coils.map(|(label, stage)| (label, stage_cell(stage, frame))).collect()
        })
        .collect();
    let mut labels: Vec<&String> = told.iter().flatten().map(|(label, _)| label).collect();
    // "bath 1" before "bath 2", and those before the others.
    labels.sort_by_key(|label| (!label.starts_with("bath"), *label));
    labels.dedup();
    let line = |label: &String| Line {
        key: "chill.stages.conductance_w_per_k",
        label: format!("Conductance in {label}, W/K").into(),
        is_estimate: false,
        cells: told
            .iter()
            .map(|stages| {
                let mine = stages.iter().find(|(mine, _)| mine == label);
                mine.map_or_else(Cell::default, |(_, cell)| cell.clone())
            })
            .collect(),
    };
    labels.into_iter().map(line).collect()
}

fn stage_cell(stage: &ChillStageFigures, frame: &Frame) -> Cell {
    let Some(value) = stage.conductance_w_per_k else { return Cell::default() };
    let se = stage.conductance_se_w_per_k.unwrap_or_default();
    let (value, se) = frame.show_measured(value, se, Dimension::Plain);
    Cell { value: Some(value), se }
}

impl Group {
    /// Whether it tells of the day beyond the chill.
    pub(super) fn is_beyond(&self) -> bool {
        !PARTS.iter().any(|(name, _)| *name == self.name)
    }

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
        unknown: figures::unknown(&figures::groups(&batch.kept.summary, frame)),
    });
    of.filter(|batch| !batch.unknown.is_empty()).collect()
}
