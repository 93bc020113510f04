//! Rows of a list, closed up: blank ones dropped, the rest numbered from 0.

use std::collections::{BTreeMap, BTreeSet};

use super::field::leaf;

/// The name of the buttons that add a row to a list or take one out.
pub(super) const ROW_BUTTON: &str = "row";

/// Choices are always made, so a row with nothing but choices in it is blank.
const CHOICES: [&str; 4] = ["use", "form", "kind", "stage"];

/// The same texts with every list's rows closed up, in the order of their numbers.
pub(super) fn closed_up(texts: Vec<(String, String)>) -> Vec<(String, String)> {
    let mut used: BTreeMap<String, BTreeSet<u64>> = BTreeMap::new();
    for (name, text) in &texts {
        if !text.trim().is_empty() && !CHOICES.contains(&leaf(name)) {
            for (list, index, _) in indices(name) {
                used.entry(list.to_owned()).or_default().insert(index);
            }
        }
    }
    texts.into_iter().filter_map(|(name, text)| Some((renumbered(&name, &used)?, text))).collect()
}

/// The same texts without the row that a pressed `row=remove-hops-2` takes out.
///
/// It goes before the rows are closed up, while its number is still the one
/// the page was made with.
pub(super) fn without_removed(texts: Vec<(String, String)>) -> Vec<(String, String)> {
    let removed = texts.iter().find(|(name, _)| name == ROW_BUTTON).and_then(|(_, act)| removal(act));
    let Some((list, index)) = removed else { return texts };
    let row = format!("{list}.{index}.");
    texts.into_iter().filter(|(name, _)| !name.starts_with(&row)).collect()
}

/// The list and the number of the row in `remove-hops-2`.
fn removal(act: &str) -> Option<(String, u64)> {
    let (list, index) = act.strip_prefix("remove-")?.rsplit_once('-')?;
    Some((list.to_owned(), number(index)?))
}

/// Whether a field is a choice in a group where nothing else is filled in: of
/// a recipe without yeast the form still says what kind it would be.
pub(super) fn is_idle_choice(name: &str, texts: &[(String, String)]) -> bool {
    let Some((group, _)) = name.rsplit_once('.').filter(|_| CHOICES.contains(&leaf(name))) else { return false };
    let is_beside = |other: &str| other.rsplit_once('.').is_some_and(|(of, _)| of == group);
    !texts.iter().any(|(other, text)| is_beside(other) && !CHOICES.contains(&leaf(other)) && !text.trim().is_empty())
}

/// The name with its rows' new numbers; nothing where one of them is blank.
fn renumbered(name: &str, used: &BTreeMap<String, BTreeSet<u64>>) -> Option<String> {
    let mut new = name.to_owned();
    // From the innermost list outwards, so that the outer places stay where they are.
    for (list, index, digits) in indices(name).into_iter().rev() {
        let rows = used.get(list)?;
        let place = rows.range(..index).count();
        rows.contains(&index).then_some(())?;
        let start = list.len() + 1;
        new.replace_range(start..start + digits, &place.to_string());
    }
    Some(new)
}

/// Every list a name goes through: its own name, the row's number, and how many digits it has.
fn indices(name: &str) -> Vec<(&str, u64, usize)> {
    let mut found = Vec::new();
    for (dot, _) in name.match_indices('.') {
        let part = name[dot + 1..].split('.').next().unwrap_or_default();
        if let Some(index) = number(part) {
            found.push((&name[..dot], index, part.len()));
        }
    }
    found
}

/// A row's number: digits alone.
pub(super) fn number(part: &str) -> Option<u64> {
    part.bytes().all(|byte| byte.is_ascii_digit()).then(|| part.parse().ok()).flatten()
}
