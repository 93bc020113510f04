//! What a page asks for, by kind of entry.

use crate::brewday::choices::{
    CareAct, Cooling, GravityPoint, Instrument, Outcome, PhPoint, Place, Stage, VolumePoint,
};
use crate::web::form::options;

/// One field of an entry's form.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its canonical name.
    pub name: &'static str,
    /// Its words.
    pub label: &'static str,
    /// Key and words of each choice; empty for a text or a number.
    pub options: Vec<(&'static str, &'static str)>,
}

/// The fields of a kind of entry, in the order a page asks for them.
#[must_use]
pub fn fields(kind: &str) -> Vec<Field> {
    let text = |name, label| Field { name, label, options: Vec::new() };
    let choice = |name, label, options| Field { name, label, options };
    match kind {
        "stage_started" | "stage_finished" => vec![choice("stage", "Stage", options::<Stage>())],
        "temperature" => vec![choice("place", "Of what", options::<Place>()), text("temperature_c", "Temperature")],
        "volume" => vec![
            choice("point", "Of what", options::<VolumePoint>()),
            text("volume_l", "Volume"),
            text("temperature_c", "Its temperature"),
        ],
        "gravity" => vec![
            choice("point", "Of what", options::<GravityPoint>()),
            choice("instrument", "Read with", options::<Instrument>()),
            text("reading", "Reading"),
            text("temperature_c", "The sample's temperature"),
        ],
        "ph" => vec![choice("point", "Of what", options::<PhPoint>()), text("ph", "pH")],
        "addition" => vec![text("what", "What"), text("mass_kg", "How much")],
        "flush_started" | "flush_finished" => vec![text("temperature_c", "Temperature at the outlet")],
        "cooling_started" => vec![
            choice("method", "Cooled by", options::<Cooling>()),
            text("water_l", "Water in the bath"),
            text("water_c", "The water's temperature"),
            text("ice_kg", "Ice in the bath"),
            text("flow_l_min", "Flow of running water"),
        ],
        "ice_added" => vec![text("ice_kg", "Ice")],
        "coil_drained" => vec![text("recovered_l", "Wort recovered")],
        "check" => vec![choice("outcome", "Outcome", options::<Outcome>())],
        "pitched" => vec![
            text("yeast", "Yeast"),
            text("cells_billion", "Cells, in billions"),
            text("mass_kg", "Or its mass"),
            text("yeast_c", "Yeast temperature"),
            text("wort_c", "Wort temperature"),
        ],
        "care" => vec![
            choice("act", "What was done", options::<CareAct>()),
            text("mass_kg", "What it weighs"),
            text("where", "Where it is stored"),
        ],
        _ => Vec::new(),
    }
}
