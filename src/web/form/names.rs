//! A field's name in words, for the summary on top of a form.

use super::rows;

/// Parts of names whose words are not the name itself without its unit.
const WORDS: [(&str, &str); 29] = [
    ("at", "Time"),
    ("ph", "pH"),
    ("min", "Minutes"),
    ("recipe", "Recipe"),
    ("mash_rests", "Rest"),
    ("fermentables", "Malt or sugar"),
    ("hops", "Hop"),
    ("other", "Other addition"),
    ("baths", "Bath"),
    ("lists", "List"),
    ("items", "Item"),
    ("pieces", "Piece"),
    ("act", "What was done"),
    ("dry_mass_kg", "Dry weight"),
    ("volume_l", "Volume"),
    ("target_pitch_c", "Pitch target"),
    ("pitch_low_c", "Coldest pitch"),
    ("pitch_high_c", "Warmest pitch"),
    ("boil_min", "Boil"),
    ("pass_min", "One full pass"),
    ("change_min", "Change of bath"),
    ("alpha_pct", "Alpha acids"),
    ("colour_ebc", "Colour"),
    ("tap_c", "Tap water"),
    ("water_c", "Water temperature"),
    ("yeast_c", "Yeast temperature"),
    ("wort_c", "Wort temperature"),
    ("cells_billion", "Cells"),
    ("boil_off_l_per_h", "Boil-off"),
];

/// Endings that are units, not words.
const UNITS: [&str; 9] = ["_w_per_k", "_l_per_h", "_l_min", "_ebc", "_pct", "_kg", "_c", "_l", "_m"];

/// `hops.1.alpha_pct` is "Hop 2, alpha acids".
pub(super) fn spoken(name: &str) -> String {
    let mut spoken: Vec<String> = Vec::new();
    for part in name.split('.') {
        match (rows::number(part), spoken.last_mut()) {
            (Some(index), Some(list)) => *list = format!("{list} {}", index + 1),
            _ => spoken.push(word(part)),
        }
    }
    let mut words = spoken.into_iter();
    let first = words.next().unwrap_or_default();
    words.fold(first, |all, word| format!("{all}, {}", uncapitalised(&word)))
}

fn word(part: &str) -> String {
    if let Some((_, word)) = WORDS.iter().find(|(known, _)| *known == part) {
        return (*word).to_owned();
    }
    let bare = UNITS.iter().find_map(|unit| part.strip_suffix(unit)).unwrap_or(part).replace('_', " ");
    let mut letters = bare.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// "pH" stays as it is.
fn uncapitalised(word: &str) -> String {
    if word == "pH" {
        return word.to_owned();
    }
    let mut letters = word.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
