//! The wort at each point of the day: gravity, volume and extract in one table.

use crate::brewday::plausible::Dimension;
use crate::web::Frame;
use crate::web::figures::{FigureGroup, FigureRow};

/// A point of the day, and the figures that are known of it there.
const POINTS: [(&str, [&str; 3]); 5] = [
    ("First wort", ["gravity.first_wort_sg", "", ""]),
    ("Pre-boil", ["gravity.pre_boil_sg", "volume.pre_boil_l", "extract.pre_boil_kg"]),
    ("Post-boil", ["gravity.post_boil_sg", "volume.post_boil_l", "extract.post_boil_kg"]),
    ("Into fermenter", ["gravity.original_sg", "volume.into_fermenter_l", "extract.into_fermenter_kg"]),
    ("Final", ["gravity.final_sg", "", ""]),
];

/// The table.
#[derive(Clone, Debug)]
pub(super) struct WortTable {
    pub(super) units: [&'static str; 3],
    pub(super) rows: Vec<WortRow>,
}

/// The wort at one point.
#[derive(Clone, Debug)]
pub(super) struct WortRow {
    pub(super) point: &'static str,
    /// Gravity, volume, extract; each with how sure it is.
    pub(super) cells: [Option<(String, Option<String>)>; 3],
}

impl WortTable {
    /// Takes the table's figures out of the groups they stand in; what is left of
    /// those groups is drawn together into one. A figure that is not known is in
    /// neither: its reason stands with the others.
    pub(super) fn taken_from(groups: Vec<FigureGroup>, frame: &Frame) -> (Self, Vec<FigureGroup>) {
        let is_ours = |key: &str| POINTS.iter().any(|(_, keys)| keys.contains(&key));
        let (ours, mut others): (Vec<_>, Vec<_>) =
            groups.into_iter().partition(|group| group.rows.iter().any(|row| is_ours(row.key)));
        let (taken, left): (Vec<_>, Vec<_>) =
            ours.into_iter().flat_map(|group| group.rows).partition(|row| is_ours(row.key));
        others.insert(0, FigureGroup { name: "Boil-off and extract".into(), rows: left });
        let row =
            |(point, keys): &(&'static str, [&str; 3])| WortRow { point, cells: keys.map(|key| cell(&taken, key)) };
        let unit = |dimension| frame.show(1.0, dimension).unit;
        let table = Self {
            units: [unit(Dimension::Gravity), unit(Dimension::Volume), unit(Dimension::Mass)],
            rows: POINTS.iter().map(row).filter(|row| row.cells.iter().any(Option::is_some)).collect(),
        };
        (table, others)
    }
}

fn cell(taken: &[FigureRow], key: &str) -> Option<(String, Option<String>)> {
    let FigureRow { value, se, .. } = taken.iter().find(|row| row.key == key)?;
    // The unit stands at the head of the column.
    Some((value.as_ref()?.text.clone(), se.clone()))
}
