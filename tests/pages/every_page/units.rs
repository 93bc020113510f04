//! What a page says in a unit the house did not choose.

use gylebook::brewday::{
    Units,
    choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
};
use gylebook::store::Store;

use crate::book::Answer;

/// The choices a new house does not start with, all of them.
pub(super) const OTHER: Units = Units {
    temperature: TemperatureUnit::Fahrenheit,
    volume: VolumeUnit::UsGallons,
    mass: MassUnit::Avoirdupois,
    gravity: GravityUnit::Plato,
    colour: ColourUnit::Srm,
};

/// Words of the units that house does not use.
const STRAY: [&str; 16] = [
    "°C",
    "degrees Celsius",
    "L",
    "L/h",
    "L/min",
    "mL",
    "litre",
    "litres",
    "kg",
    "g",
    "gram",
    "kilogram",
    "kilograms",
    "SG",
    "EBC",
    "m",
];

/// Pages that speak of units themselves: the choices, and formulas in SI.
pub(super) fn is_about_units(address: &str) -> bool {
    ["/settings", "/welcome", "/glossary"].iter().any(|about| address.starts_with(about))
}

/// What the brewer wrote, in whatever units: it is never rewritten.
pub(super) async fn own_words(store: &Store) -> Vec<String> {
    let mut recipes = store.recipes("", true).await.expect("readable");
    recipes.extend(store.recipes("", false).await.expect("readable"));
    let mut equipment = store.equipment_list(None, true).await.expect("readable");
    equipment.extend(store.equipment_list(None, false).await.expect("readable"));
    let mut own: Vec<String> = recipes.into_iter().filter_map(|record| record.recipe.notes).collect();
    own.extend(equipment.into_iter().filter_map(|stored| stored.record.equipment.notes));
    let mut batches = 0;
    while let Some(day) = store.day(batches + 1).await.expect("readable") {
        batches += 1;
        own.extend(day.lines.iter().filter_map(|line| line.logged.entry.note.clone()));
        own.extend(day.batch.recipe.notes.clone());
    }
    assert!(batches > 10, "a year has more batches");
    own
}

/// The sentences of a page that hold a unit it should not. A sentence that names
/// both units is for everybody.
pub(super) fn strays(page: &Answer, own: &[String]) -> Vec<String> {
    let is_stray = |text: &str| {
        let word =
            |word: &str| word.trim_matches(|c: char| matches!(c, '.' | ',' | ':' | ';' | '(' | ')' | '’')).to_owned();
        text.split_whitespace().map(word).any(|word| STRAY.contains(&word.as_str()))
    };
    let is_own = |line: &str| own.iter().any(|words| words.contains(line.trim_matches(['“', '”'])));
    page.lines().into_iter().filter(|line| is_stray(line) && !line.contains("°F") && !is_own(line)).collect()
}
