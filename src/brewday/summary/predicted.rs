//! What a recipe should give, before any of it is measured.

use super::missing::{Figure, beyond};
use crate::brewday::Recipe;
use crate::brewday::choices::{FermentableUse, HopUse, YeastKind};
use crate::brewday::recipe::Hop;
use crate::science::bitterness::tinseth;
use crate::science::extract::Fermentable;
use crate::science::units::{Colour, Mass, Plato, SpecificGravity, TimeSpan, Volume};
use crate::science::{colour as colours, yeast};

/// The recipe's goods that go in at one place.
pub(crate) fn goods(recipe: &Recipe, used: FermentableUse) -> Vec<Fermentable> {
    let here = recipe.fermentables.iter().filter(|one| one.used == used);
    here.map(|one| Fermentable {
        mass: Mass::from_kilograms(one.mass_kg),
        dry_yield: one.yield_pct / 100.0,
        moisture: one.moisture_pct / 100.0,
    })
    .collect()
}

/// A hop addition: how much of it, how strong, boiled how long.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HopAddition {
    /// Its mass.
    pub(crate) mass: Mass,
    /// Alpha acids, 0 to 1.
    pub(crate) alpha: f64,
    /// How long it is boiled.
    pub(crate) boiled: TimeSpan,
}

impl HopAddition {
    /// A hop of a recipe as it is meant to be added.
    pub(crate) fn planned(recipe: &Recipe, hop: &Hop) -> Self {
        let boiled_min = match hop.used {
            HopUse::FirstWort => recipe.boil_min,
            HopUse::Boil => hop.min,
            HopUse::FlameOut => 0.0,
        };
        Self {
            mass: Mass::from_kilograms(hop.mass_kg),
            alpha: hop.alpha_pct / 100.0,
            boiled: TimeSpan::from_minutes(boiled_min),
        }
    }
}

/// The bitterness a recipe's hops give a volume of wort, IBU.
pub(crate) fn bitterness(recipe: &Recipe, gravity: SpecificGravity, volume: Volume) -> Figure<f64> {
    let additions: Vec<HopAddition> = recipe.hops.iter().map(|hop| HopAddition::planned(recipe, hop)).collect();
    bitterness_of(&additions, gravity, volume)
}

/// The bitterness that additions give a volume of wort, IBU.
pub(crate) fn bitterness_of(additions: &[HopAddition], gravity: SpecificGravity, volume: Volume) -> Figure<f64> {
    additions
        .iter()
        .map(|hop| {
            let utilisation = tinseth::utilisation(gravity, hop.boiled)?;
            tinseth::bitterness(utilisation, hop.alpha, hop.mass, volume)
        })
        .sum::<Result<f64, _>>()
        // The sum of no floats is −0; no hops are plainly 0.
        .map(|bitterness| bitterness + 0.0)
        .map_err(beyond)
}

/// The colour a recipe's goods give a volume of wort, EBC.
pub(crate) fn colour(recipe: &Recipe, volume: Volume) -> Figure<f64> {
    if recipe.fermentables.is_empty() {
        return Err("The recipe has no malt or sugar in it.".to_owned());
    }
    let goods = recipe.fermentables.iter();
    let goods = goods.map(|one| (Mass::from_kilograms(one.mass_kg), Colour::from_ebc(one.colour_ebc)));
    colours::malt_colour_units(goods, volume).and_then(colours::morey).map(Colour::ebc).map_err(beyond)
}

/// Cells a wort wants, in thousand millions.
pub(crate) fn cells_needed(recipe: &Recipe, volume: Volume, strength: Plato) -> Figure<f64> {
    let kind = recipe.yeast.as_ref().map(|yeast| yeast.kind).ok_or("The recipe has no yeast in it.")?;
    let rate = if kind == YeastKind::Lager { yeast::LAGER } else { yeast::ALE };
    Ok(yeast::needed(volume, strength, rate).billions())
}
