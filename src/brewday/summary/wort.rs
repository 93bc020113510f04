//! Volumes, extract and efficiencies.

use super::figures::{EfficiencyFigures, ExtractFigures, VolumeFigures};
use super::missing::{Figure, Missing, beyond};
use super::predicted::goods;
use super::readings::{corrected_gravity, original_gravity, plato_of, volume_at_20};
use crate::brewday::choices::{FermentableUse, GravityPoint, VolumePoint};
use crate::brewday::{Body, BrewDay};
use crate::science::extract::account::{Account, KettleReading};
use crate::science::extract::{self, efficiency, points};
use crate::science::units::{Mass, Measured, SpecificGravity, TimeSpan, Volume};
use crate::science::water;

/// The extract account of the boil: what was in the kettle, what came in, what is there now.
///
/// # Errors
/// The sentence that says which entry is missing.
pub fn account(day: &BrewDay) -> Figure<Account> {
    let sugar = extract::potential(&goods(&day.batch.scaled_recipe(), FermentableUse::Kettle));
    Ok(Account {
        before: kettle(day, VolumePoint::PreBoil, GravityPoint::PreBoil)?,
        sugar: Measured::exact(sugar.kilograms()),
        after: kettle(day, VolumePoint::PostBoil, GravityPoint::PostBoil)?,
    })
}

fn kettle(day: &BrewDay, volume: VolumePoint, gravity: GravityPoint) -> Figure<KettleReading> {
    Ok(KettleReading { volume: volume_at_20(day, volume)?, gravity: corrected_gravity(day, gravity)? })
}

/// Wort in the fermenter: as read there, and what was pushed out of the coil after the reading.
pub(super) fn into_fermenter(day: &BrewDay) -> Figure<Measured> {
    let read = volume_at_20(day, VolumePoint::IntoFermenter)?;
    let read_at = day.standing.iter().rev().find_map(|entry| match entry.body {
        Body::Volume { point: VolumePoint::IntoFermenter, .. } => Some(entry.at),
        _ => None,
    });
    let recovered_since: f64 = day
        .standing
        .iter()
        .filter(|entry| read_at.is_some_and(|read_at| entry.at > read_at))
        .map(|entry| if let Body::CoilDrained { recovered_l } = entry.body { recovered_l } else { 0.0 })
        .sum();
    Ok(read.plus(Measured::exact(recovered_since)))
}

/// Hours from the start of the boil to flame-out.
fn boiled_for(day: &BrewDay) -> Figure<TimeSpan> {
    let started = day.boil_started().ok_or("Log when the boil started.")?;
    let ended = day.flame_out().ok_or("Log the flame-out.")?;
    Ok(TimeSpan::from_seconds((ended - started).as_seconds_f64()))
}

fn boil_off(day: &BrewDay) -> Figure<efficiency::BoilOff> {
    let before = Volume::from_litres(volume_at_20(day, VolumePoint::PreBoil)?.value);
    let after = Volume::from_litres(volume_at_20(day, VolumePoint::PostBoil)?.value);
    efficiency::boil_off(before, after, boiled_for(day)?).map_err(beyond)
}

pub(super) fn volume_figures(day: &BrewDay, missing: &mut Missing) -> VolumeFigures {
    let mut both =
        |name: &str, figure| missing.keep_both(&format!("volume.{name}_l"), &format!("volume.{name}_se_l"), figure);
    let [pre_boil_l, pre_boil_se_l] = both("pre_boil", volume_at_20(day, VolumePoint::PreBoil));
    let [post_boil_l, post_boil_se_l] = both("post_boil", volume_at_20(day, VolumePoint::PostBoil));
    let [into_fermenter_l, into_fermenter_se_l] = both("into_fermenter", into_fermenter(day));
    let off = boil_off(day);
    let recovered = day.recovered_l().ok_or_else(|| "Log the draining of the coil.".to_owned());
    VolumeFigures {
        pre_boil_l,
        pre_boil_se_l,
        post_boil_l,
        post_boil_se_l,
        into_fermenter_l,
        into_fermenter_se_l,
        recovered_l: missing.keep("volume.recovered_l", recovered),
        boil_off_l_per_h: missing.keep("volume.boil_off_l_per_h", off.clone().map(|off| off.rate.litres_per_hour())),
        boil_off_pct_per_h: missing.keep("volume.boil_off_pct_per_h", off.map(|off| 100.0 * off.share_per_hour)),
    }
}

/// Kilograms of extract at the points of the day.
struct Extract {
    mash_potential: f64,
    potential: f64,
    pre_boil: Figure<Measured>,
    post_boil: Figure<Measured>,
    into_fermenter: Figure<Measured>,
}

impl Extract {
    fn of(day: &BrewDay) -> Self {
        let recipe = day.batch.scaled_recipe();
        let mash = extract::potential(&goods(&recipe, FermentableUse::Mash)).kilograms();
        let kettle_sugar = extract::potential(&goods(&recipe, FermentableUse::Kettle)).kilograms();
        let into = into_fermenter(day).and_then(|volume| Ok(KettleReading { volume, gravity: original_gravity(day)? }));
        Self {
            mash_potential: mash,
            potential: mash + kettle_sugar,
            pre_boil: kettle(day, VolumePoint::PreBoil, GravityPoint::PreBoil).map(KettleReading::extract),
            post_boil: kettle(day, VolumePoint::PostBoil, GravityPoint::PostBoil).map(KettleReading::extract),
            into_fermenter: into.map(KettleReading::extract),
        }
    }
}

pub(super) fn extract_figures(day: &BrewDay, missing: &mut Missing) -> ExtractFigures {
    let extract = Extract::of(day);
    let potential = if extract.potential > 0.0 { Ok(extract.potential) } else { Err(NO_GOODS.to_owned()) };
    let potential_kg = missing.keep("extract.potential_kg", potential);
    let mut both =
        |name: &str, figure| missing.keep_both(&format!("extract.{name}_kg"), &format!("extract.{name}_se_kg"), figure);
    let [pre_boil_kg, pre_boil_se_kg] = both("pre_boil", extract.pre_boil);
    let [post_boil_kg, post_boil_se_kg] = both("post_boil", extract.post_boil);
    let [into_fermenter_kg, into_fermenter_se_kg] = both("into_fermenter", extract.into_fermenter);
    let [account_gap_kg, account_gap_se_kg] = both("account_gap", account(day).map(Account::gap));
    ExtractFigures {
        potential_kg,
        pre_boil_kg,
        pre_boil_se_kg,
        post_boil_kg,
        post_boil_se_kg,
        into_fermenter_kg,
        into_fermenter_se_kg,
        account_gap_kg,
        account_gap_se_kg,
    }
}

const NO_GOODS: &str = "The recipe has no malt or sugar in it.";

pub(super) fn efficiency_figures(day: &BrewDay, missing: &mut Missing) -> EfficiencyFigures {
    let extract = Extract::of(day);
    let share = |part: &Figure<Measured>, whole: f64, no_whole: &str| -> Figure<Measured> {
        if whole > 0.0 { part.clone().map(|part| part.map(|kg| 100.0 * kg / whole)) } else { Err(no_whole.to_owned()) }
    };
    let no_mash = "The recipe has no malt in the mash.";
    let [into_kettle_pct, into_kettle_se_pct] = missing.keep_both(
        "efficiency.into_kettle_pct",
        "efficiency.into_kettle_se_pct",
        share(&extract.pre_boil, extract.mash_potential, no_mash),
    );
    let [brewhouse_pct, brewhouse_se_pct] = missing.keep_both(
        "efficiency.brewhouse_pct",
        "efficiency.brewhouse_se_pct",
        share(&extract.into_fermenter, extract.potential, NO_GOODS),
    );
    let recovery = extract.post_boil.clone().and_then(|post_boil| {
        share(&extract.into_fermenter, post_boil.value, "There was no extract in the kettle after the boil.")
    });
    let points = litre_degrees(day);
    EfficiencyFigures {
        conversion_pct: missing.keep("efficiency.conversion_pct", conversion(day, extract.mash_potential)),
        into_kettle_pct,
        into_kettle_se_pct,
        brewhouse_pct,
        brewhouse_se_pct,
        kettle_to_fermenter_pct: missing.keep("efficiency.kettle_to_fermenter_pct", recovery.map(|share| share.value)),
        into_kettle_ppg: missing.keep("efficiency.into_kettle_ppg", points.clone().map(points::ppg)),
        into_kettle_l_deg_per_kg: missing.keep("efficiency.into_kettle_l_deg_per_kg", points),
    }
}

/// The share of the mash's potential that the first wort shows to be dissolved.
fn conversion(day: &BrewDay, potential_kg: f64) -> Figure<f64> {
    let first_wort = plato_of(corrected_gravity(day, GravityPoint::FirstWort)?);
    let recipe = day.batch.scaled_recipe();
    let poured = match volume_at_20(day, VolumePoint::Strike) {
        Ok(volume) => volume.value,
        Err(why) => recipe.mash_water_l.ok_or(why)?,
    };
    let goods = goods(&recipe, FermentableUse::Mash);
    let in_the_grain: Mass = goods.iter().map(|one| one.water()).sum();
    let water = water::mass(Volume::from_litres(poured), crate::science::units::Temperature::REFERENCE) + in_the_grain;
    let dissolved = efficiency::dissolved(first_wort, water).map_err(beyond)?;
    if potential_kg <= 0.0 {
        return Err("The recipe has no malt in the mash.".to_owned());
    }
    Ok(100.0 * dissolved.kilograms() / potential_kg)
}

/// Litre-degrees a kilogram of mash goods gave before the boil.
fn litre_degrees(day: &BrewDay) -> Figure<f64> {
    let volume = volume_at_20(day, VolumePoint::PreBoil)?;
    let gravity = corrected_gravity(day, GravityPoint::PreBoil)?;
    let mass: Mass = goods(&day.batch.scaled_recipe(), FermentableUse::Mash).iter().map(|one| one.mass).sum();
    if mass <= Mass::ZERO {
        return Err("The recipe has no malt in the mash.".to_owned());
    }
    let (sg, litres) = (SpecificGravity::from_ratio(gravity.value), Volume::from_litres(volume.value));
    Ok(points::litre_degrees_per_kg(sg, litres, mass))
}
