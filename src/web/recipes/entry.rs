//! From a form's body to a recipe: what a page may leave unsaid is filled in.

use serde_json::{Value, json};

use crate::brewday::{
    Fault, Recipe,
    choices::{Choice, HopUse},
};

/// Reads a recipe from what a form describes.
pub(super) fn read(body: &Value) -> Result<Recipe, Vec<Fault>> {
    Recipe::from_body(&completed(body))
}

/// The body with what needn't be typed: a recipe without yeast has two choices
/// made about it all the same, and a hop that isn't boiled by the clock needs no minutes.
fn completed(body: &Value) -> Value {
    let mut body = body.clone();
    let nameless = |yeast: &Value| ["name", "cells_billion", "mass_kg"].iter().all(|part| yeast.get(part).is_none());
    if body.get("yeast").is_some_and(nameless) {
        body["yeast"] = Value::Null;
    }
    let boil = body.get("boil_min").cloned().unwrap_or_default();
    for hop in body.get_mut("hops").and_then(Value::as_array_mut).into_iter().flatten() {
        let used = hop.get("use").and_then(Value::as_str).and_then(HopUse::from_key);
        let minutes = match used {
            Some(HopUse::FirstWort) => &boil,
            Some(HopUse::FlameOut) => &json!(0.0),
            _ => continue,
        };
        if let Some(hop) = hop.as_object_mut() {
            hop.entry("min").or_insert_with(|| minutes.clone());
        }
    }
    body
}

/// Reads what can be read of a recipe that is still being written, for its
/// figures alone: rows that can't be read yet are left out.
///
/// # Errors
/// The fields nothing can be told without.
pub(super) fn read_unfinished(body: &Value) -> Result<Unfinished, Vec<Fault>> {
    let mut body = completed(body);
    // These play no part in any figure, and a recipe is named last.
    for (field, stand_in) in [("name", json!("-")), ("style", Value::Null), ("notes", Value::Null)] {
        body[field] = stand_in;
    }
    for field in ["target_pitch_c", "pitch_low_c", "pitch_high_c"] {
        body[field] = json!(20.0);
    }
    let Err(faults) = Recipe::from_body(&body).map(drop) else {
        return Recipe::from_body(&body).map(|recipe| Unfinished { recipe, left_out: Vec::new() });
    };
    let (parts, whole): (Vec<_>, Vec<_>) = faults.into_iter().partition(|fault| fault.field.contains('.'));
    if !whole.is_empty() {
        return Err(whole);
    }
    let mut left_out: Vec<LeftOut> = Vec::new();
    for fault in parts {
        let row = part(&fault.field);
        match left_out.iter_mut().find(|one| one.row == row) {
            Some(one) => one.wanting.push(fault.field),
            None => left_out.push(LeftOut { row, wanting: vec![fault.field] }),
        }
    }
    // From the end, so that the rows before keep their numbers.
    for one in left_out.iter().rev() {
        leave_out(&mut body, &one.row);
    }
    Recipe::from_body(&body).map(|recipe| Unfinished { recipe, left_out })
}

/// A recipe that is still being written.
#[derive(Debug)]
pub(super) struct Unfinished {
    /// What can be read of it.
    pub(super) recipe: Recipe,
    /// The rows that can't be read yet.
    pub(super) left_out: Vec<LeftOut>,
}

/// A row that no figure counts yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LeftOut {
    /// `hops.1`, or `yeast`.
    pub(super) row: String,
    /// What it wants: `hops.1.alpha_pct`.
    pub(super) wanting: Vec<String>,
}

/// The row or group a field is in: `hops.1` of `hops.1.alpha_pct`.
fn part(field: &str) -> String {
    let parts: Vec<&str> = field.split('.').collect();
    let depth = if parts.get(1).is_some_and(|second| second.parse::<usize>().is_ok()) { 2 } else { 1 };
    parts[..depth].join(".")
}

fn leave_out(body: &mut Value, name: &str) {
    match name.split_once('.') {
        Some((list, index)) => {
            let rows = body.get_mut(list).and_then(Value::as_array_mut);
            if let (Some(rows), Ok(index)) = (rows, index.parse::<usize>()) {
                rows.remove(index);
            }
        }
        None => body[name] = Value::Null,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body() -> Value {
        json!({
            "volume_l": 20, "boil_min": 60,
            "yeast": {"kind": "ale", "form": "dry"},
            "fermentables": [
                {"name": "Malt", "mass_kg": 4, "yield_pct": 80, "moisture_pct": 4, "colour_ebc": 6, "use": "mash"},
                {"name": "More", "use": "mash"},
                {"name": "Sugar", "mass_kg": 1, "yield_pct": 100, "moisture_pct": 0, "colour_ebc": 0, "use": "kettle"},
            ],
            "hops": [
                {"name": "A", "mass_kg": 0.02, "alpha_pct": 5, "form": "cone", "use": "first_wort"},
                {"name": "B", "mass_kg": 0.02, "alpha_pct": 5, "form": "cone", "use": "flame_out"},
                {"name": "C", "mass_kg": 0.02, "alpha_pct": 5, "form": "cone", "use": "boil"},
            ],
        })
    }

    #[test]
    fn only_a_hop_boiled_by_the_clock_needs_its_minutes() {
        let faults = read(&body()).unwrap_err();
        let minutes: Vec<_> = faults.iter().filter(|fault| fault.field.ends_with(".min")).collect();
        assert_eq!(minutes.len(), 1, "{minutes:?}");
        assert_eq!(minutes[0].field, "hops.2.min");
        assert!(!faults.iter().any(|fault| fault.field.starts_with("yeast")), "no yeast was named: {faults:?}");
    }

    #[test]
    fn an_unfinished_recipe_has_figures_from_the_rows_that_are_whole() {
        let Unfinished { recipe, left_out } = read_unfinished(&body()).unwrap();
        let rows: Vec<_> = left_out.iter().map(|one| one.row.as_str()).collect();
        assert_eq!(rows, ["fermentables.1", "hops.2"]);
        assert_eq!(left_out[1].wanting, ["hops.2.min"]);
        let names: Vec<_> = recipe.fermentables.iter().map(|one| one.name.as_str()).collect();
        assert_eq!(names, ["Malt", "Sugar"]);
        assert_eq!((recipe.hops[0].min, recipe.hops[1].min), (60.0, 0.0));
    }

    #[test]
    fn without_a_volume_nothing_can_be_told() {
        let mut body = body();
        body["volume_l"] = Value::Null;
        let faults = read_unfinished(&body).unwrap_err();
        assert_eq!(faults.iter().map(|fault| fault.field.as_str()).collect::<Vec<_>>(), ["volume_l"]);
    }
}
