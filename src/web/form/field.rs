//! What a field holds, told by its name: the canonical names carry their units.

use crate::brewday::{
    choices::{Choice, EquipmentKind, Instrument},
    plausible::Dimension,
};

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A text, or one of a closed set of words.
    Text,
    /// A number of a dimension.
    Number(Dimension),
    /// The number of a record, or a place in a list.
    Id,
    /// Yes or no.
    Flag,
    /// A time.
    Time,
}

/// Endings of names that carry a unit, the longer before those they end in.
const SUFFIXES: [(&str, Dimension); 10] = [
    ("_w_per_k", Dimension::Plain),
    ("_l_per_h", Dimension::BoilOff),
    ("_l_min", Dimension::Flow),
    ("_min", Dimension::Minutes),
    ("_ebc", Dimension::Colour),
    ("_pct", Dimension::Percent),
    ("_kg", Dimension::Mass),
    ("_c", Dimension::Temperature),
    ("_l", Dimension::Volume),
    ("_m", Dimension::Height),
];

/// Groups whose masses are weighed in grams or ounces.
const WEIGHED_SMALL: [&str; 3] = ["hops", "other", "yeast"];
/// Kinds of entry whose masses are.
const ENTRIES_WEIGHED_SMALL: [&str; 2] = ["addition", "pitched"];

/// What the field of this name holds; `sibling` tells the text of a field beside it.
pub(super) fn kind<'a>(name: &str, sibling: impl Fn(&str) -> &'a str) -> Kind {
    let leaf = leaf(name);
    match leaf {
        // On a check list it is the kind of equipment, in a word.
        "equipment" if name.contains("items.") => Kind::Text,
        "recipe" | "equipment" | "planned" | "coil" | "bath" => Kind::Id,
        // A tick in a list of records: `equipment.0` holds an id.
        index if index.bytes().all(|byte| byte.is_ascii_digit()) => Kind::Id,
        "void" => Kind::Flag,
        "at" => Kind::Time,
        "min" => Kind::Number(Dimension::Minutes),
        "ph" | "wort_factor" | "cells_billion" | "wort_plato" => Kind::Number(Dimension::Plain),
        "reading" if sibling("instrument") == Instrument::Refractometer.key() => Kind::Number(Dimension::Brix),
        "reading" => Kind::Number(Dimension::Gravity),
        "offset" | "uncertainty" => Kind::Number(of_instrument(sibling("kind"))),
        "mass_kg" if is_weighed_small(name, sibling("kind")) => Kind::Number(Dimension::SmallMass),
        _ => SUFFIXES
            .iter()
            .find(|(suffix, _)| leaf.ends_with(suffix))
            .map_or(Kind::Text, |(_, dimension)| Kind::Number(*dimension)),
    }
}

/// The name of another field of the same group.
pub(super) fn beside(name: &str, other: &str) -> String {
    name.rsplit_once('.').map_or_else(|| other.to_owned(), |(group, _)| format!("{group}.{other}"))
}

/// The last part of a name.
pub(super) fn leaf(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// How far off an instrument is, is told in its own unit.
fn of_instrument(kind: &str) -> Dimension {
    match EquipmentKind::from_key(kind) {
        Some(EquipmentKind::Thermometer) => Dimension::TemperatureDifference,
        Some(EquipmentKind::Refractometer) => Dimension::Brix,
        Some(EquipmentKind::Scale) => Dimension::Mass,
        // A vessel is read by its marks.
        Some(EquipmentKind::MashVessel | EquipmentKind::Kettle | EquipmentKind::Fermenter) => Dimension::Volume,
        _ => Dimension::Plain,
    }
}

fn is_weighed_small(name: &str, kind: &str) -> bool {
    name.split('.').any(|part| WEIGHED_SMALL.contains(&part)) || ENTRIES_WEIGHED_SMALL.contains(&kind)
}
