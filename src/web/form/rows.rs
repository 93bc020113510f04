//! Rows of a list, closed up: blank ones dropped, the rest numbered from 0.

use std::collections::{BTreeMap, BTreeSet};

use super::field::leaf;

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
