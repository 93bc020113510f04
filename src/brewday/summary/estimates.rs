//! Estimates: bitterness, colour, alcohol, and the yeast a wort wants.

use super::figures::{EstimateFigures, YeastFigures};
use super::missing::{Figure, Missing};
use super::readings::{corrected_gravity, original_gravity, plato_of, volume_at_20};
use super::wort::into_fermenter;
use crate::brewday::choices::{GravityPoint, HopUse, VolumePoint, YeastForm, YeastKind};
use crate::brewday::recipe::Hop;
use crate::brewday::{Body, BrewDay, Recipe};
use crate::science::bitterness::tinseth;
use crate::science::gravity::attenuation;
use crate::science::units::{Colour, Mass, Plato, SpecificGravity, TimeSpan, Volume};
use crate::science::{colour, yeast};

pub(super) fn estimate_figures(day: &BrewDay, missing: &mut Missing) -> EstimateFigures {
    EstimateFigures {
        bitterness_ibu: missing.keep("estimate.bitterness_ibu", bitterness(day)),
        colour_ebc: missing.keep("estimate.colour_ebc", wort_colour(day)),
        abv_pct: missing.keep("estimate.abv_pct", alcohol(day)),
    }
}

/// The wort the hops and the colour are in: as it left the boil, else as the batch means it to be.
fn finished_volume(day: &BrewDay) -> Volume {
    Volume::from_litres(volume_at_20(day, VolumePoint::PostBoil).map_or(day.batch.volume_l, |volume| volume.value))
}

/// A hop addition as it was made.
#[derive(Clone, Copy, Debug)]
pub(super) struct HopAddition {
    /// Its mass.
    pub(super) mass: Mass,
    /// Alpha acids, 0 to 1.
    pub(super) alpha: f64,
    /// How long it was boiled.
    pub(super) boiled: TimeSpan,
}

/// Every hop of the recipe, with mass and time as logged where they were logged.
pub(super) fn hop_additions(day: &BrewDay) -> Vec<HopAddition> {
    let recipe = day.batch.scaled_recipe();
    recipe.hops.iter().enumerate().map(|(index, hop)| as_made(day, &recipe, index, hop)).collect()
}

fn as_made(day: &BrewDay, recipe: &Recipe, index: usize, hop: &Hop) -> HopAddition {
    let logged = day.standing.iter().rev().find_map(|entry| match &entry.body {
        Body::Addition { mass_kg, planned: Some(planned), .. } if usize::try_from(*planned) == Ok(index) => {
            Some((entry.at, *mass_kg))
        }
        _ => None,
    });
    let planned_min = match hop.used {
        HopUse::FirstWort => recipe.boil_min,
        HopUse::Boil => hop.min,
        HopUse::FlameOut => 0.0,
    };
    let (started, flame_out) = (day.boil_started(), day.flame_out());
    let boiled_min = match (logged, flame_out) {
        (Some((at, _)), Some(flame_out)) if hop.used != HopUse::FlameOut => {
            // Hops in the kettle before it boils count from the boil.
            let from = started.map_or(at, |started| started.max(at));
            (flame_out - from).as_seconds_f64().max(0.0) / 60.0
        }
        _ => planned_min,
    };
    HopAddition {
        mass: Mass::from_kilograms(logged.map_or(hop.mass_kg, |(_, mass_kg)| mass_kg)),
        alpha: hop.alpha_pct / 100.0,
        boiled: TimeSpan::from_minutes(boiled_min.min(1440.0)),
    }
}

fn bitterness(day: &BrewDay) -> Figure<f64> {
    let gravity = corrected_gravity(day, GravityPoint::PostBoil).or_else(|_| original_gravity(day))?;
    let gravity = SpecificGravity::from_ratio(gravity.value);
    let volume = finished_volume(day);
    hop_additions(day)
        .into_iter()
        .map(|hop| {
            let utilisation = tinseth::utilisation(gravity, hop.boiled).map_err(|why| why.to_string())?;
            tinseth::bitterness(utilisation, hop.alpha, hop.mass, volume).map_err(|why| why.to_string())
        })
        .sum()
}

fn wort_colour(day: &BrewDay) -> Figure<f64> {
    recipe_colour(&day.batch.scaled_recipe(), finished_volume(day))
}

/// The colour a recipe's goods give a volume of wort, EBC.
pub(crate) fn recipe_colour(recipe: &Recipe, volume: Volume) -> Figure<f64> {
    if recipe.fermentables.is_empty() {
        return Err("The recipe has no malt or sugar in it.".to_owned());
    }
    let goods = recipe.fermentables.iter();
    let goods = goods.map(|one| (Mass::from_kilograms(one.mass_kg), Colour::from_ebc(one.colour_ebc)));
    let mcu = colour::malt_colour_units(goods, volume).map_err(|why| format!("The colour can't be told: {why}."))?;
    colour::morey(mcu).map(Colour::ebc).map_err(|why| format!("The colour can't be told: {why}."))
}

fn alcohol(day: &BrewDay) -> Figure<f64> {
    let last = corrected_gravity(day, GravityPoint::Final)?;
    let original = original_gravity(day)?;
    let (original, last) = (SpecificGravity::from_ratio(original.value), SpecificGravity::from_ratio(last.value));
    let alcohol = attenuation::alcohol_by_volume(original, last);
    alcohol.map(|fraction| 100.0 * fraction).map_err(|why| format!("The alcohol can't be told: {why}."))
}

/// Cells a wort wants, in thousand millions.
pub(crate) fn cells_needed(recipe: &Recipe, volume: Volume, strength: Plato) -> Figure<f64> {
    let kind = recipe.yeast.as_ref().map(|yeast| yeast.kind).ok_or("The recipe has no yeast in it.")?;
    let rate = if kind == YeastKind::Lager { yeast::LAGER } else { yeast::ALE };
    Ok(yeast::needed(volume, strength, rate).billions())
}

pub(super) fn yeast_figures(day: &BrewDay, missing: &mut Missing) -> YeastFigures {
    let volume = into_fermenter(day).map_or(day.batch.volume_l, |volume| volume.value);
    let needed = original_gravity(day)
        .and_then(|gravity| cells_needed(&day.batch.recipe, Volume::from_litres(volume), plato_of(gravity)));
    YeastFigures {
        cells_needed_billion: missing.keep("yeast.cells_needed_billion", needed),
        cells_pitched_billion: missing.keep("yeast.cells_pitched_billion", cells_pitched(day)),
    }
}

/// Cells that went in: as counted, else the least a maker promises for that mass of dry yeast.
fn cells_pitched(day: &BrewDay) -> Figure<f64> {
    let (_, pitched) = day.pitched().ok_or("Log the pitch.")?;
    if let Some(cells) = pitched.cells_billion {
        return Ok(cells);
    }
    let mass = Mass::from_kilograms(pitched.mass_kg.ok_or("Log the cells pitched, or the yeast's mass.")?);
    match day.batch.recipe.yeast.as_ref().map(|yeast| yeast.form) {
        Some(YeastForm::Dry) | None => Ok(yeast::in_dry(mass).low.billions()),
        Some(YeastForm::Slurry) => Ok(yeast::in_slurry(mass).low.billions()),
        Some(YeastForm::Liquid) => Err("Liquid yeast is counted by its cells: log the cells on the pack.".to_owned()),
    }
}
