//! What goes in, in the order of the day.

use crate::brewday::Recipe;
use crate::brewday::choices::{Choice, FermentableUse, HopUse, OtherUse};
use crate::brewday::plausible::Dimension;
use crate::brewday::recipe::Yeast;
use crate::web::Frame;

/// More rows than this and the recipe no longer fits beside the readings.
const ROWS_BESIDE: usize = 14;

/// A recipe on paper, in the brewer's own units.
#[derive(Clone, Debug)]
pub(super) struct RecipeTold {
    pub(super) fermentables: Vec<Ingredient>,
    pub(super) additions: Vec<Addition>,
    pub(super) rests: Vec<String>,
    pub(super) yeast: Option<Ingredient>,
    pub(super) pitch: String,
    pub(super) notes: Option<String>,
}

/// Something to weigh.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Ingredient {
    pub(super) name: String,
    pub(super) about: String,
    pub(super) amount: String,
}

/// Something to weigh, and when it goes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Addition {
    pub(super) when: String,
    pub(super) ingredient: Ingredient,
}

impl RecipeTold {
    pub(super) fn of(recipe: &Recipe, frame: &Frame) -> Self {
        let degrees = |celsius: f64| frame.show(celsius, Dimension::Temperature).to_string();
        Self {
            fermentables: fermentables(recipe, frame),
            additions: additions(recipe, frame),
            rests: recipe
                .mash_rests
                .iter()
                .map(|rest| format!("{}, {}", degrees(rest.temperature_c), frame.show(rest.min, Dimension::Minutes)))
                .collect(),
            yeast: recipe.yeast.as_ref().map(|yeast| told(yeast, frame)),
            pitch: format!(
                "{}, from {} to {}",
                degrees(recipe.target_pitch_c),
                degrees(recipe.pitch_low_c),
                degrees(recipe.pitch_high_c)
            ),
            notes: recipe.notes.clone(),
        }
    }

    /// Whether nothing is to be weighed.
    pub(super) fn is_bare(&self) -> bool {
        self.rows() == 0
    }

    /// Whether it needs the width of the sheet.
    pub(super) fn is_long(&self) -> bool {
        self.rows() > ROWS_BESIDE
    }

    fn rows(&self) -> usize {
        self.fermentables.len() + self.additions.len() + usize::from(self.yeast.is_some())
    }
}

fn fermentables(recipe: &Recipe, frame: &Frame) -> Vec<Ingredient> {
    recipe
        .fermentables
        .iter()
        .map(|one| Ingredient {
            name: one.name.clone(),
            about: match one.used {
                FermentableUse::Mash => String::new(),
                FermentableUse::Kettle => "into the kettle".to_owned(),
            },
            amount: frame.show(one.mass_kg, Dimension::Mass).to_string(),
        })
        .collect()
}

/// Hops and everything else, in the order they go in.
fn additions(recipe: &Recipe, frame: &Frame) -> Vec<Addition> {
    let grams = |kg: f64| frame.show(kg, Dimension::SmallMass).to_string();
    let minutes = |min: f64| frame.show(min, Dimension::Minutes).to_string();
    // Minutes to the end of the boil put the day in order, from before it to after.
    let hops = recipe.hops.iter().map(|hop| {
        let (order, when) = match hop.used {
            HopUse::FirstWort => (f64::MAX, hop.used.label().to_owned()),
            HopUse::Boil => (hop.min, minutes(hop.min)),
            HopUse::FlameOut => (-1.0, hop.used.label().to_owned()),
        };
        let about = format!("{} α, {}", frame.show(hop.alpha_pct, Dimension::Percent), hop.form.label().to_lowercase());
        (order, Addition { when, ingredient: Ingredient { name: hop.name.clone(), about, amount: grams(hop.mass_kg) } })
    });
    let others = recipe.other.iter().map(|other| {
        let (order, when) = match other.used {
            OtherUse::Mash => (f64::INFINITY, other.used.label().to_owned()),
            OtherUse::Boil => (other.min, minutes(other.min)),
            OtherUse::FlameOut => (-1.0, other.used.label().to_owned()),
            OtherUse::Fermenter => (f64::NEG_INFINITY, other.used.label().to_owned()),
        };
        let ingredient = Ingredient { name: other.name.clone(), about: String::new(), amount: grams(other.mass_kg) };
        (order, Addition { when, ingredient })
    });
    let mut ordered: Vec<(f64, Addition)> = hops.chain(others).collect();
    ordered.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    ordered.into_iter().map(|(_, addition)| addition).collect()
}

fn told(yeast: &Yeast, frame: &Frame) -> Ingredient {
    let cells = yeast.cells_billion.map(|cells| format!("{} billion cells", frame.show(cells, Dimension::Plain)));
    let mass = yeast.mass_kg.map(|kg| frame.show(kg, Dimension::SmallMass).to_string());
    Ingredient {
        name: yeast.name.clone(),
        about: format!("{}, {}", yeast.kind.label().to_lowercase(), yeast.form.label().to_lowercase()),
        amount: cells.or(mass).unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::web::page::Light;

    #[test]
    fn additions_stand_in_the_order_of_the_day() {
        let hop = |name: &str, used: &str, min: u8| json!({"name": name, "mass_kg": 0.02, "alpha_pct": 5, "form": "pellet", "use": used, "min": min});
        let other = |name: &str, used: &str, min: u8| json!({"name": name, "mass_kg": 0.005, "use": used, "min": min});
        let recipe = Recipe::from_body(&json!({
            "name": "Order", "volume_l": 20, "boil_min": 60, "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
            "fermentables": [], "mash_rests": [],
            "hops": [hop("late", "flame_out", 0), hop("ten", "boil", 10), hop("first", "first_wort", 60), hop("sixty", "boil", 60)],
            "other": [other("cask", "fermenter", 0), other("finings", "boil", 15), other("salt", "mash", 0)],
        }))
        .expect("a recipe");
        let told = RecipeTold::of(&recipe, &Frame::bare(Light::Device));
        let order: Vec<&str> = told.additions.iter().map(|one| one.ingredient.name.as_str()).collect();
        assert_eq!(order, ["salt", "first", "sixty", "finings", "ten", "late", "cask"]);
        assert_eq!(told.additions[3].when, "15\u{a0}min");
    }
}
