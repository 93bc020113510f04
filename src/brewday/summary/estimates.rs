//! Estimates: bitterness, colour, alcohol, and the yeast a wort wants.

use super::figures::{EstimateFigures, YeastFigures};
use super::missing::{Figure, Missing, beyond};
use super::predicted::{self, HopAddition};
use super::readings::{corrected_gravity, original_gravity, plato_of, volume_at_20};
use super::wort::into_fermenter;
use crate::brewday::choices::{GravityPoint, HopUse, VolumePoint, YeastForm};
use crate::brewday::recipe::Hop;
use crate::brewday::{Body, BrewDay, Recipe};
use crate::science::gravity::attenuation;
use crate::science::units::{Mass, SpecificGravity, TimeSpan, Volume};
use crate::science::yeast;

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
    let planned = HopAddition::planned(recipe, hop);
    let (started, flame_out) = (day.boil_started(), day.flame_out());
    let boiled_min = match (logged, flame_out) {
        (Some((at, _)), Some(flame_out)) if hop.used != HopUse::FlameOut => {
            // Hops in the kettle before it boils count from the boil.
            let from = started.map_or(at, |started| started.max(at));
            (flame_out - from).as_seconds_f64().max(0.0) / 60.0
        }
        _ => planned.boiled.minutes(),
    };
    HopAddition {
        mass: logged.map_or(planned.mass, |(_, mass_kg)| Mass::from_kilograms(mass_kg)),
        boiled: TimeSpan::from_minutes(boiled_min.min(1440.0)),
        ..planned
    }
}

fn bitterness(day: &BrewDay) -> Figure<f64> {
    let gravity = corrected_gravity(day, GravityPoint::PostBoil).or_else(|_| original_gravity(day))?;
    let gravity = SpecificGravity::from_ratio(gravity.value);
    let volume = finished_volume(day);
    predicted::bitterness_of(&hop_additions(day), gravity, volume)
}

fn wort_colour(day: &BrewDay) -> Figure<f64> {
    predicted::colour(&day.batch.scaled_recipe(), finished_volume(day))
}

fn alcohol(day: &BrewDay) -> Figure<f64> {
    let last = corrected_gravity(day, GravityPoint::Final)?;
    let original = original_gravity(day)?;
    let (original, last) = (SpecificGravity::from_ratio(original.value), SpecificGravity::from_ratio(last.value));
    let alcohol = attenuation::alcohol_by_volume(original, last);
    alcohol.map(|fraction| 100.0 * fraction).map_err(beyond)
}

pub(super) fn yeast_figures(day: &BrewDay, missing: &mut Missing) -> YeastFigures {
    let volume = into_fermenter(day).map_or(day.batch.volume_l, |volume| volume.value);
    let needed = original_gravity(day)
        .and_then(|gravity| predicted::cells_needed(&day.batch.recipe, Volume::from_litres(volume), plato_of(gravity)));
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
