//! The summary's figures as pages tell them: one table of names, units and order
//! for the batch page, the sheet and the comparison.

use std::borrow::Cow;

use serde_json::Value;

use super::Frame;
use super::units::Shown;
use crate::brewday::Summary;
use crate::brewday::plausible::Dimension;
use crate::brewday::summary::WouldHelp;

/// A figure's place in the summary, its name and what it measures.
struct Figure {
    path: &'static str,
    /// Each `{}` in it stands for one of the marks.
    label: &'static str,
    marks: &'static [f64],
    dimension: Dimension,
    is_estimate: bool,
}

const fn figure(path: &'static str, label: &'static str, dimension: Dimension) -> Figure {
    Figure { path, label, marks: &[], dimension, is_estimate: false }
}

const fn estimate(path: &'static str, label: &'static str, dimension: Dimension) -> Figure {
    Figure { is_estimate: true, ..figure(path, label, dimension) }
}

/// Minutes between temperatures that its label names, °C.
const fn minutes(path: &'static str, label: &'static str, marks: &'static [f64]) -> Figure {
    Figure { marks, ..figure(path, label, Dimension::Minutes) }
}

/// The temperature that gravities and volumes are told at, °C.
const AT_20: &[f64] = &[20.0];

const GROUPS: &[(&str, &[f64], &[Figure])] = &[
    (
        "Gravity at {}",
        AT_20,
        &[
            figure("gravity.first_wort_sg", "First wort", Dimension::Gravity),
            figure("gravity.pre_boil_sg", "Pre-boil", Dimension::Gravity),
            figure("gravity.post_boil_sg", "Post-boil", Dimension::Gravity),
            figure("gravity.original_sg", "Original gravity", Dimension::Gravity),
            figure("gravity.final_sg", "Final gravity", Dimension::Gravity),
            estimate("estimate.abv_pct", "Alcohol by volume", Dimension::Percent),
        ],
    ),
    (
        "Volume at {}",
        AT_20,
        &[
            figure("volume.pre_boil_l", "Pre-boil", Dimension::Volume),
            figure("volume.post_boil_l", "Post-boil", Dimension::Volume),
            figure("volume.into_fermenter_l", "Into fermenter", Dimension::Volume),
            figure("volume.recovered_l", "Recovered from the coil", Dimension::Volume),
            figure("volume.boil_off_l_per_h", "Boil-off", Dimension::BoilOff),
            figure("volume.boil_off_pct_per_h", "Boil-off, of the pre-boil volume an hour", Dimension::Percent),
        ],
    ),
    (
        "Extract",
        &[],
        &[
            figure("extract.potential_kg", "In the grist", Dimension::Mass),
            figure("extract.pre_boil_kg", "Pre-boil", Dimension::Mass),
            figure("extract.post_boil_kg", "Post-boil", Dimension::Mass),
            figure("extract.into_fermenter_kg", "Into fermenter", Dimension::Mass),
            figure("extract.account_gap_kg", "Gap in the extract account", Dimension::Mass),
        ],
    ),
    (
        "Efficiency",
        &[],
        &[
            figure("efficiency.conversion_pct", "Conversion", Dimension::Percent),
            figure("efficiency.into_kettle_pct", "Into kettle", Dimension::Percent),
            figure("efficiency.into_kettle_l_deg_per_kg", "Points into kettle, L°/kg", Dimension::Plain),
            figure("efficiency.into_kettle_ppg", "Points into kettle, ppg", Dimension::Plain),
            figure("efficiency.brewhouse_pct", "Brewhouse", Dimension::Percent),
            figure("efficiency.kettle_to_fermenter_pct", "Kettle to fermenter", Dimension::Percent),
        ],
    ),
    (
        "Hops, colour, yeast",
        &[],
        &[
            estimate("estimate.bitterness_ibu", "Bitterness, IBU", Dimension::Plain),
            estimate("estimate.colour_ebc", "Colour", Dimension::Colour),
            figure("yeast.cells_needed_billion", "Cells wanted, billion", Dimension::Plain),
            figure("yeast.cells_pitched_billion", "Cells pitched, billion", Dimension::Plain),
        ],
    ),
    (
        "Chill",
        &[],
        &[
            figure("chill.standard_chill_min", "Standard chill", Dimension::Minutes),
            figure("chill.minutes_to_settled", "Flame-out to settled", Dimension::Minutes),
            figure("chill.minutes_to_target", "Flame-out to pitch target", Dimension::Minutes),
            figure("chill.planned_min", "Planned, coil in to pitch target", Dimension::Minutes),
            minutes("chill.minutes_to_80c", "Flame-out to {}", &[80.0]),
            minutes("chill.minutes_60_to_30c", "{} to {}", &[60.0, 30.0]),
            figure("chill.mean_rate_c_per_min", "Mean fall a minute", Dimension::TemperatureDifference),
            figure("chill.max_rate_c_per_min", "Greatest fall a minute", Dimension::TemperatureDifference),
            figure("chill.conductance_w_per_k", "Coil conductance, W/K", Dimension::Plain),
            figure("chill.heat_mj", "Heat moved, MJ", Dimension::Plain),
            figure("chill.water_l", "Water used", Dimension::Volume),
            figure("chill.water_l_per_l", "Water, volumes for each of wort", Dimension::Plain),
            figure("chill.ice_kg", "Ice used", Dimension::Mass),
            figure("chill.ice_kg_per_l", "Ice for the wort", Dimension::MassPerVolume),
            figure("chill.bath_capacity_used_pct", "Bath capacity used", Dimension::Percent),
            estimate(
                "chill.alpha_isomerised_after_flame_out_mg_per_l",
                "α-acid isomerised after flame-out, mg/L",
                Dimension::Plain,
            ),
            estimate("chill.dms_precursor_turned_over_pct", "DMS precursor turned over", Dimension::Percent),
            figure("pitch.wort_c", "Wort at pitch", Dimension::Temperature),
        ],
    ),
];

/// A heading and its figures.
#[derive(Clone, Debug)]
pub struct FigureGroup {
    /// The heading.
    pub name: Cow<'static, str>,
    /// The figures, in order.
    pub rows: Vec<FigureRow>,
}

/// One figure on a page.
#[derive(Clone, Debug)]
pub struct FigureRow {
    /// Its place in the summary, and its name in the glossary.
    pub key: &'static str,
    /// Its name.
    pub label: Cow<'static, str>,
    /// It, in the brewer's unit; none where it can't be computed.
    pub value: Option<Shown>,
    /// Its standard error, in the same unit.
    pub se: Option<String>,
    /// Why there is none.
    pub why: Option<String>,
    /// Whether it is an estimate.
    pub is_estimate: bool,
}

/// Every figure of a summary, in the brewer's units.
#[must_use]
pub fn groups(summary: &Summary, frame: &Frame) -> Vec<FigureGroup> {
    let all = serde_json::to_value(summary).unwrap_or_default();
    GROUPS
        .iter()
        .map(|(name, marks, figures)| FigureGroup {
            name: named(name, marks, frame),
            rows: figures.iter().map(|figure| row(figure, &all, summary, frame)).collect(),
        })
        .collect()
}

/// What a figure is called within a sentence, and what it measures: its name,
/// with its group's where two groups share it.
#[must_use]
pub fn in_a_sentence(path: &str, frame: &Frame) -> Option<(String, Dimension)> {
    let all = || GROUPS.iter().flat_map(|group| group.2.iter().map(move |figure| (group, figure)));
    let ((group, marks, _), figure) = all().find(|(_, figure)| figure.path == path)?;
    let is_shared = all().filter(|(_, other)| other.label == figure.label).count() > 1;
    let label = named(figure.label, figure.marks, frame);
    let label = if is_shared { format!("{label} ({})", named(group, marks, frame)) } else { label.into_owned() };
    let starts_with_a_word = label.chars().nth(1).is_some_and(|second| second.is_lowercase());
    let mut letters = label.chars();
    let lowered = letters.next().map(|first| first.to_lowercase().chain(letters).collect());
    Some((if starts_with_a_word { lowered.unwrap_or_default() } else { label }, figure.dimension))
}

/// The groups that have a figure, with the figures they have.
#[must_use]
pub fn known(groups: Vec<FigureGroup>) -> Vec<FigureGroup> {
    let known = groups.into_iter().map(|mut group| {
        group.rows.retain(|row| row.value.is_some());
        group
    });
    known.filter(|group| !group.rows.is_empty()).collect()
}

/// Figures that can't be computed, for one reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// Their names, each with its group's where two groups share it.
    pub labels: Vec<String>,
    /// The reason, and the entry they wait for.
    pub why: String,
}

/// What these groups don't have, reason by reason.
#[must_use]
pub fn unknown(groups: &[FigureGroup]) -> Vec<Unknown> {
    let mut found: Vec<Unknown> = Vec::new();
    let labels: Vec<&str> = groups.iter().flat_map(|group| &group.rows).map(|row| row.label.as_ref()).collect();
    for group in groups {
        for row in group.rows.iter().filter(|row| row.value.is_none()) {
            let why = row.why.as_deref().unwrap_or("Not known.");
            let is_shared = labels.iter().filter(|label| **label == row.label.as_ref()).count() > 1;
            let label = if is_shared { format!("{} ({})", row.label, group.name) } else { row.label.to_string() };
            match found.iter_mut().find(|unknown| unknown.why == why) {
                Some(unknown) => unknown.labels.push(label),
                None => found.push(Unknown { labels: vec![label], why: why.to_owned() }),
            }
        }
    }
    found
}

/// A name with its temperatures in the brewer's own unit.
fn named(name: &'static str, marks: &[f64], frame: &Frame) -> Cow<'static, str> {
    marks.iter().fold(name.into(), |name, mark| name.replacen("{}", &frame.mark(*mark).to_string(), 1).into())
}

fn row(figure: &Figure, all: &Value, summary: &Summary, frame: &Frame) -> FigureRow {
    // Until the yeast is in, it is the latest reading under another name.
    let is_ahead = figure.path == "pitch.wort_c" && summary.pitch.at.is_none();
    let se = se_paths(figure.path).iter().find_map(|path| at(all, path)).unwrap_or_default();
    let told = at(all, figure.path).filter(|_| !is_ahead).map(|value| frame.show_measured(value, se, figure.dimension));
    let (value, se) = told.map_or((None, None), |(value, se)| (Some(value), se));
    FigureRow {
        key: figure.path,
        label: named(figure.label, figure.marks, frame),
        value,
        se,
        why: if is_ahead { Some("Log the pitch.".to_owned()) } else { summary.missing.get(figure.path).cloned() },
        is_estimate: figure.is_estimate,
    }
}

/// Where a figure's standard error stands: `pre_boil_se_l` beside `pre_boil_l`,
/// `pre_boil_sg_se` beside `pre_boil_sg`.
fn se_paths(path: &str) -> [String; 2] {
    let unit = |unit: &str| path.strip_suffix(unit).map(|stem| format!("{stem}_se{unit}"));
    let before_unit = ["_w_per_k", "_kg", "_pct", "_min", "_l"].iter().find_map(|one| unit(one)).unwrap_or_default();
    [format!("{path}_se"), before_unit]
}

fn at(all: &Value, path: &str) -> Option<f64> {
    path.split('.').try_fold(all, |value, part| value.get(part))?.as_f64()
}

/// What would have helped a chill most, in a sentence; none where that can't be told.
#[must_use]
pub fn would_help(summary: &Summary) -> Option<String> {
    let (what, saves) = summary.chill.would_help.zip(summary.chill.would_help_saves_min)?;
    if saves < 0.5 {
        return Some("Nothing that can be computed would have saved even half a minute.".to_owned());
    }
    let what = match what {
        WouldHelp::BestTimes => "The same baths, each changed at its best time,",
        WouldHelp::Bucket => "One bucket of water more",
        WouldHelp::Ice => "2\u{a0}kg of ice more in the last bath",
        WouldHelp::Flow => "Twice the flow through the coil",
        WouldHelp::Coil => "A coil twice as long",
        WouldHelp::Stir => "Stirring the bath from the start",
    };
    Some(format!("{what} would have saved about {saves:.0}\u{a0}min."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_named_here_is_in_the_summary() {
        let all = serde_json::to_value(Summary::default()).expect("a summary is JSON");
        for (_, _, figures) in GROUPS {
            for figure in *figures {
                let found = figure.path.split('.').try_fold(&all, |value, part| value.get(part));
                assert!(found.is_some(), "{} is no figure", figure.path);
            }
        }
    }

    /// Every page that shows a figure links its name to `/glossary#` and its key.
    #[test]
    fn every_figure_named_here_is_explained() {
        for (_, _, figures) in GROUPS {
            for figure in *figures {
                assert!(crate::science::glossary::figure(figure.path).is_some(), "{} is not explained", figure.path);
                let anchors = crate::web::glossary::anchors(figure.path);
                assert!(anchors.iter().any(|anchor| anchor == figure.path), "{anchors:?}");
            }
        }
    }

    #[test]
    fn a_standard_error_is_found_beside_its_figure() {
        assert!(se_paths("volume.pre_boil_l").contains(&"volume.pre_boil_se_l".to_owned()));
        assert!(se_paths("gravity.original_sg").contains(&"gravity.original_sg_se".to_owned()));
        assert!(se_paths("chill.conductance_w_per_k").contains(&"chill.conductance_se_w_per_k".to_owned()));
    }
}
