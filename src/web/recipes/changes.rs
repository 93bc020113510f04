//! What a revision changed, in a brewer's words.

use super::sheet::{Addition, Sheet};
use crate::{
    brewday::{Recipe, plausible::Dimension},
    web::Frame,
};

/// The most changes that are told one by one.
const TOLD_MOST: usize = 5;

/// What changed from one revision to the next, each in a few words.
pub(super) fn between(before: &Recipe, after: &Recipe, frame: &Frame) -> Vec<String> {
    let mut gone = lines(before, frame);
    let mut changes = Vec::new();
    for line in lines(after, frame) {
        match gone.iter().position(|known| known.what == line.what) {
            Some(place) => changes.extend(line.changed_from(&gone.remove(place))),
            None => changes.push(format!("{} is new", line.what)),
        }
    }
    if before.notes != after.notes {
        changes.push("Notes rewritten".to_owned());
    }
    changes.extend(gone.iter().map(|line| format!("{} is gone", line.what)));
    if changes.is_empty() {
        changes.push("Nothing a brewer would see".to_owned());
    }
    let more = changes.len().saturating_sub(TOLD_MOST);
    changes.truncate(TOLD_MOST);
    if more > 0 {
        changes.push(format!("and {more} more"));
    }
    changes
}

/// One thing of a recipe, and what is said of it.
struct Line {
    what: String,
    parts: Vec<String>,
}

impl Line {
    fn new<const N: usize>(what: impl Into<String>, parts: [&str; N]) -> Self {
        Self { what: what.into(), parts: parts.map(str::to_owned).to_vec() }
    }

    fn changed_from(&self, before: &Self) -> Vec<String> {
        let parts = before.parts.iter().zip(&self.parts).filter(|(was, is)| was != is);
        parts
            .map(|(was, is)| match (was.as_str(), is.as_str()) {
                ("", is) => format!("{} {is}", self.what),
                (was, "") => format!("{} no longer {was}", self.what),
                (was, is) => format!("{} {was} → {is}", self.what),
            })
            .collect()
    }
}

fn lines(recipe: &Recipe, frame: &Frame) -> Vec<Line> {
    let sheet = Sheet::of(recipe, frame);
    let volume = |litres: Option<f64>| {
        litres.map(|litres| frame.show(litres, Dimension::Volume).to_string()).unwrap_or_default()
    };
    let mut lines = vec![
        Line::new("Name", [&recipe.name]),
        Line::new("Style", [recipe.style.as_deref().unwrap_or_default()]),
        Line::new("Volume", [&volume(Some(recipe.volume_l))]),
        Line::new("Boil", [&frame.show(recipe.boil_min, Dimension::Minutes).to_string()]),
        Line::new("Mash water", [&volume(recipe.mash_water_l)]),
        Line::new("Sparge water", [&volume(recipe.sparge_water_l)]),
    ];
    lines.extend(sheet.grist.iter().map(|good| Line::new(&good.name, [&good.mass, &good.about])));
    let rests = sheet.rests.iter().enumerate();
    lines.extend(rests.map(|(index, rest)| Line::new(format!("Rest {}", index + 1), [&rest.temperature, &rest.time])));
    let addition = |one: &Addition| Line::new(format!("{} ({})", one.what, one.when), [&one.mass, &one.about]);
    lines.extend(sheet.boil.iter().chain(&sheet.others).map(addition));
    lines.extend(sheet.yeast.iter().map(|yeast| Line::new(&yeast.name, [&yeast.amount, &yeast.about])));
    lines.push(Line::new("Pitch", [&sheet.pitch_at, &sheet.pitch_range]));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::{page::Light, starter};

    fn changed(change: impl Fn(&mut Recipe)) -> Vec<String> {
        let before = starter::recipe();
        let mut after = before.clone();
        change(&mut after);
        between(&before, &after, &Frame::bare(Light::Device))
    }

    #[test]
    fn a_change_is_told_where_it_was_made_and_nowhere_else() {
        assert_eq!(changed(|_| ()), ["Nothing a brewer would see"]);
        let told = changed(|recipe| {
            recipe.fermentables[0].mass_kg = 5.0;
            recipe.mash_water_l = Some(15.0);
            recipe.hops.remove(0);
            recipe.notes = Some("Another".into());
        });
        assert_eq!(told.len(), 4, "{told:?}");
        assert_eq!(told[0], "Mash water 15.0\u{a0}L");
        assert!(told[1].starts_with("Pale malt ") && told[1].ends_with(" → 5\u{a0}kg"), "{told:?}");
        assert_eq!(told[2], "Notes rewritten");
        assert!(told[3].ends_with(" is gone"), "{told:?}");
    }

    #[test]
    fn two_of_one_name_are_told_apart_by_their_order() {
        let twice = |recipe: &mut Recipe| recipe.hops.push(recipe.hops[0].clone());
        let told = changed(twice);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].ends_with(" is new"), "{told:?}");
    }

    #[test]
    fn many_changes_are_counted() {
        let told = changed(|recipe| *recipe = recipe.scaled_to(12.0));
        assert_eq!(told.len(), TOLD_MOST + 1);
        assert!(told[TOLD_MOST].starts_with("and "), "{told:?}");
    }
}
