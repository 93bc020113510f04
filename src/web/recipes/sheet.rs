//! A recipe as a brewer reads it: the grist, the boil from the top down, the rest.

use crate::{
    brewday::{
        Recipe,
        choices::{Choice, FermentableUse, HopUse, OtherUse},
        plausible::Dimension,
        recipe::{Hop, Other},
    },
    web::Frame,
};

use super::figures::billions;

/// A recipe, ready to be read.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    pub(super) grist: Vec<Good>,
    /// The grist's mass, where it is of more than one thing.
    pub(super) grist_mass: String,
    pub(super) rests: Vec<Rest>,
    pub(super) boil: Vec<Addition>,
    pub(super) yeast: Option<Pitch>,
    pub(super) pitch_at: String,
    pub(super) pitch_range: String,
    /// What goes in before or after the boil.
    pub(super) others: Vec<Addition>,
}

/// One fermentable.
#[derive(Clone, Debug)]
pub(super) struct Good {
    pub(super) name: String,
    pub(super) mass: String,
    /// Its share of all that is weighed out.
    pub(super) share: String,
    pub(super) about: String,
}

/// One rest of the mash.
#[derive(Clone, Debug)]
pub(super) struct Rest {
    pub(super) temperature: String,
    pub(super) time: String,
}

/// One thing that goes in at a time.
#[derive(Clone, Debug)]
pub(super) struct Addition {
    pub(super) when: String,
    pub(super) what: String,
    pub(super) mass: String,
    pub(super) about: String,
}

/// The yeast.
#[derive(Clone, Debug)]
pub(super) struct Pitch {
    pub(super) name: String,
    pub(super) amount: String,
    pub(super) about: String,
}

impl Sheet {
    /// The sheet of a recipe, in the brewer's units.
    pub(super) fn of(recipe: &Recipe, frame: &Frame) -> Self {
        let temperature = |celsius| frame.show(celsius, Dimension::Temperature).to_string();
        let total: f64 = recipe.fermentables.iter().map(|one| one.mass_kg).sum();
        let several = recipe.fermentables.len() > 1;
        let rests = recipe.mash_rests.iter().map(|rest| Rest {
            temperature: temperature(rest.temperature_c),
            time: frame.show(rest.min, Dimension::Minutes).to_string(),
        });
        Self {
            grist: grist(recipe, total, frame),
            grist_mass: if several { frame.show(total, Dimension::Mass).to_string() } else { String::new() },
            rests: rests.collect(),
            boil: boil(recipe, frame),
            yeast: recipe.yeast.as_ref().map(|yeast| {
                let cells = yeast.cells_billion.map(billions);
                let mass = yeast.mass_kg.map(|mass| frame.show(mass, Dimension::SmallMass).to_string());
                Pitch {
                    name: yeast.name.clone(),
                    amount: cells.into_iter().chain(mass).collect::<Vec<_>>().join(", "),
                    about: format!("{}, {}", yeast.kind.label(), yeast.form.label().to_lowercase()),
                }
            }),
            pitch_at: temperature(recipe.target_pitch_c),
            pitch_range: format!("{} to {}", temperature(recipe.pitch_low_c), temperature(recipe.pitch_high_c)),
            others: recipe.other.iter().filter(|one| !is_boiled(one)).map(|one| other(one, frame)).collect(),
        }
    }
}

fn grist(recipe: &Recipe, total: f64, frame: &Frame) -> Vec<Good> {
    let percent = |value| frame.show(value, Dimension::Percent).to_string();
    let good = |one: &crate::brewday::recipe::Fermentable| {
        let kettle = if one.used == FermentableUse::Kettle { "Into the kettle · " } else { "" };
        let colour = frame.show(one.colour_ebc, Dimension::Colour);
        let (yields, moisture) = (percent(one.yield_pct), percent(one.moisture_pct));
        Good {
            name: one.name.clone(),
            mass: frame.show(one.mass_kg, Dimension::Mass).to_string(),
            share: if total > 0.0 { percent(100.0 * one.mass_kg / total) } else { String::new() },
            about: format!("{kettle}{colour} · {yields} dry yield · {moisture} moisture"),
        }
    };
    recipe.fermentables.iter().map(good).collect()
}

/// Everything that goes into the kettle, in the order it goes in.
fn boil(recipe: &Recipe, frame: &Frame) -> Vec<Addition> {
    let hops = recipe.hops.iter().map(|one| (hop_order(one), hop(one, frame)));
    let others = recipe.other.iter().filter(|one| is_boiled(one)).map(|one| (other_order(one), other(one, frame)));
    let mut all: Vec<((u8, f64), Addition)> = hops.chain(others).collect();
    // A stable sort: what goes in together stays as the brewer wrote it.
    all.sort_by(|(a, _), (b, _)| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    all.into_iter().map(|(_, addition)| addition).collect()
}

/// First wort, then the boil from its start, then flame-out.
fn hop_order(hop: &Hop) -> (u8, f64) {
    match hop.used {
        HopUse::FirstWort => (0, 0.0),
        HopUse::Boil => (1, hop.min),
        HopUse::FlameOut => (2, 0.0),
    }
}

fn other_order(other: &Other) -> (u8, f64) {
    match other.used {
        OtherUse::Boil => (1, other.min),
        _ => (2, 0.0),
    }
}

fn is_boiled(other: &Other) -> bool {
    matches!(other.used, OtherUse::Boil | OtherUse::FlameOut)
}

fn hop(hop: &Hop, frame: &Frame) -> Addition {
    let alpha = frame.show(hop.alpha_pct, Dimension::Percent);
    Addition {
        when: match hop.used {
            HopUse::Boil => frame.show(hop.min, Dimension::Minutes).to_string(),
            at => at.label().to_owned(),
        },
        what: hop.name.clone(),
        mass: frame.show(hop.mass_kg, Dimension::SmallMass).to_string(),
        about: format!("{}, {alpha} alpha", hop.form.label()),
    }
}

fn other(other: &Other, frame: &Frame) -> Addition {
    let minutes = frame.show(other.min, Dimension::Minutes);
    let when = match other.used {
        OtherUse::Boil => minutes.to_string(),
        OtherUse::FlameOut => OtherUse::FlameOut.label().to_owned(),
        stage if other.min > 0.0 => format!("{}, after {minutes}", stage.label()),
        stage => stage.label().to_owned(),
    };
    let mass = frame.show(other.mass_kg, Dimension::SmallMass).to_string();
    Addition { when, what: other.name.clone(), mass, about: String::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::page::Light;
    use serde_json::json;

    fn sheet(hops: serde_json::Value, other: serde_json::Value) -> Sheet {
        let recipe = Recipe::from_body(&json!({
            "name": "Pale", "volume_l": 20, "boil_min": 60,
            "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
            "fermentables": [
                {"name": "Malt", "mass_kg": 3, "yield_pct": 80, "moisture_pct": 4, "colour_ebc": 6, "use": "mash"},
                {"name": "Sugar", "mass_kg": 1, "yield_pct": 100, "moisture_pct": 0, "colour_ebc": 0, "use": "kettle"},
            ],
            "hops": hops, "other": other,
        }));
        Sheet::of(&recipe.unwrap(), &Frame::bare(Light::Device))
    }

    #[test]
    fn the_boil_reads_from_its_start_to_flame_out() {
        let hop = |name: &str, used: &str, min: u32| json!({"name": name, "mass_kg": 0.02, "alpha_pct": 5, "form": "cone", "use": used, "min": min});
        let hops = json!([
            hop("End", "flame_out", 0),
            hop("Late", "boil", 5),
            hop("Early", "boil", 60),
            hop("First", "first_wort", 60)
        ]);
        let other = json!([
            {"name": "Finings", "mass_kg": 0.001, "use": "boil", "min": 15},
            {"name": "Gypsum", "mass_kg": 0.005, "use": "mash", "min": 0},
        ]);
        let sheet = sheet(hops, other);
        let order: Vec<_> = sheet.boil.iter().map(|one| (one.what.as_str(), one.when.as_str())).collect();
        assert_eq!(
            order,
            [
                ("First", "First wort"),
                ("Early", "60\u{a0}min"),
                ("Finings", "15\u{a0}min"),
                ("Late", "5\u{a0}min"),
                ("End", "Flame-out")
            ]
        );
        assert_eq!(sheet.others.len(), 1, "gypsum is no addition to the boil");
    }

    #[test]
    fn shares_are_of_all_that_is_weighed_out() {
        let sheet = sheet(json!([]), json!([]));
        let shares: Vec<_> = sheet.grist.iter().map(|one| one.share.as_str()).collect();
        assert_eq!(shares, ["75\u{a0}%", "25\u{a0}%"]);
        assert_eq!(sheet.grist_mass, "4\u{a0}kg");
    }
}
