//! Gravities and volumes as they were read, brought to 20 °C with their uncertainty.

use super::figures::GravityFigures;
use super::missing::{Figure, Missing, beyond};
use crate::brewday::choices::{Choice, EquipmentKind, GravityPoint, Instrument, VolumePoint};
use crate::brewday::{Batch, BrewDay};
use crate::science::gravity::hydrometer::Hydrometer;
use crate::science::gravity::{self, refractometer};
use crate::science::units::{Brix, Measured, Plato, SpecificGravity, Temperature};
use crate::science::{OutOfRange, uncertainty, wort};

/// °Bx over °P where it was never measured on this instrument, and how far that
/// may be off: the literature's range of 1.02 to 1.06 taken as ± two standard errors.
const UNMEASURED_FACTOR: Measured = Measured::new(1.04, 0.01);
/// How well a factor measured on the instrument is known (common practice, no source).
const MEASURED_FACTOR_SE: f64 = 0.003;

/// What an instrument shows, with its standard error: the brewer's own figure
/// for it, else the usual one of its kind.
fn trusted(own_se: Option<f64>, instrument: uncertainty::Instrument, reading: f64) -> Measured {
    match own_se {
        Some(se) => Measured::new(reading, se),
        None => uncertainty::usual(instrument).of(reading),
    }
}

/// The gravity read at a point, corrected to SG 20/20 °C.
///
/// # Errors
/// The sentence that says which entry is missing, or why the one there can't be used.
pub fn corrected_gravity(day: &BrewDay, point: GravityPoint) -> Figure<Measured> {
    let label = point.label().to_lowercase();
    let reading = day.gravity(point).ok_or_else(|| format!("Log the {label} gravity."))?;
    let own_se = day.batch.uncertainty(EquipmentKind::Thermometer);
    let sample = trusted(own_se, uncertainty::Instrument::Thermometer, reading.temperature_c);
    match reading.instrument {
        Instrument::Hydrometer => by_hydrometer(&day.batch, reading.reading, sample),
        Instrument::Refractometer => by_refractometer(&day.batch, reading.reading),
    }
    .map_err(|why| format!("The {label} gravity can't be used. {}", beyond(why)))
}

/// The original gravity: of the wort in the fermenter, else as it left the boil.
///
/// # Errors
/// The sentence that says which entry is missing.
pub fn original_gravity(day: &BrewDay) -> Figure<Measured> {
    corrected_gravity(day, GravityPoint::IntoFermenter).or_else(|why| {
        let after_boil = corrected_gravity(day, GravityPoint::PostBoil);
        after_boil.map_err(|_| {
            if day.gravity(GravityPoint::IntoFermenter).is_some() {
                why
            } else {
                "Log the gravity into the fermenter (or post-boil).".to_owned()
            }
        })
    })
}

fn by_hydrometer(batch: &Batch, reading: f64, sample: Measured) -> Result<Measured, OutOfRange> {
    let hydrometer = Hydrometer {
        calibration: Temperature::from_celsius(batch.marked_for_c()),
        offset: batch.offset(EquipmentKind::Hydrometer),
    };
    let corrected = |reading: f64, sample_c: f64| {
        hydrometer.corrected(SpecificGravity::from_ratio(reading), Temperature::from_celsius(sample_c))
    };
    corrected(reading, sample.value)?;
    let plain = |reading: f64, sample_c: f64| corrected(reading, sample_c).map_or(reading, SpecificGravity::ratio);
    let own_se = batch.uncertainty(EquipmentKind::Hydrometer);
    Ok(trusted(own_se, uncertainty::Instrument::Hydrometer, reading).with(sample, plain))
}

fn by_refractometer(batch: &Batch, reading: f64) -> Result<Measured, OutOfRange> {
    let factor = batch.wort_factor().map_or(UNMEASURED_FACTOR, |factor| Measured::new(factor, MEASURED_FACTOR_SE));
    let shown = reading - batch.offset(EquipmentKind::Refractometer);
    let strength = |brix: f64, factor: f64| refractometer::plato(Brix::from_degrees(brix), factor);
    strength(shown, factor.value)?;
    let sg =
        |brix: f64, factor: f64| strength(brix, factor).map_or(1.0, |plato| gravity::specific_gravity(plato).ratio());
    let own_se = batch.uncertainty(EquipmentKind::Refractometer);
    Ok(trusted(own_se, uncertainty::Instrument::Refractometer, shown).with(factor, sg))
}

/// The volume read at a point, brought to 20 °C.
///
/// All the liquid in the vessel counts, dead space and all: it holds extract
/// like the rest. What can't be drawn off is left behind at the end of the boil.
///
/// # Errors
/// The sentence that says which entry is missing.
pub fn volume_at_20(day: &BrewDay, point: VolumePoint) -> Figure<Measured> {
    let label = point.label().to_lowercase();
    let reading = day.volume(point).ok_or_else(|| format!("Log the {label} volume."))?;
    let kind = match point {
        VolumePoint::Strike | VolumePoint::Sparge => EquipmentKind::MashVessel,
        VolumePoint::PreBoil | VolumePoint::PostBoil => EquipmentKind::Kettle,
        VolumePoint::IntoFermenter => EquipmentKind::Fermenter,
    };
    let read = trusted(
        day.batch.first(kind).and_then(|one| one.uncertainty),
        uncertainty::Instrument::VolumeMark,
        reading.volume_l,
    );
    let at = Temperature::from_celsius(reading.temperature_c);
    let shrinkage = wort::shrinkage(strength_at(day, point), at);
    Ok(read.map(|volume_l| volume_l * shrinkage))
}

/// The strength to bring a volume to 20 °C with: it hardly matters, so a
/// missing gravity does not stand in a volume's way.
fn strength_at(day: &BrewDay, point: VolumePoint) -> Plato {
    let gravity = match point {
        VolumePoint::Strike | VolumePoint::Sparge => return Plato::from_degrees(0.0),
        VolumePoint::PreBoil => corrected_gravity(day, GravityPoint::PreBoil),
        VolumePoint::PostBoil => corrected_gravity(day, GravityPoint::PostBoil),
        VolumePoint::IntoFermenter => original_gravity(day),
    };
    gravity.map_or(Plato::from_degrees(12.0), plato_of)
}

/// °P of a measured SG.
pub(crate) fn plato_of(sg: Measured) -> Plato {
    gravity::plato(SpecificGravity::from_ratio(sg.value))
}

/// All gravity figures.
pub(super) fn gravity_figures(day: &BrewDay, missing: &mut Missing) -> GravityFigures {
    let mut figures = |name: &str, sg: Figure<Measured>| {
        let plato = sg.clone().map(|sg| sg.map(|ratio| gravity::plato(SpecificGravity::from_ratio(ratio)).degrees()));
        let [sg, sg_se] = missing.keep_both(&format!("gravity.{name}_sg"), &format!("gravity.{name}_sg_se"), sg);
        let [plato, plato_se] =
            missing.keep_both(&format!("gravity.{name}_plato"), &format!("gravity.{name}_plato_se"), plato);
        [sg, plato, sg_se, plato_se]
    };
    let [first_wort_sg, first_wort_plato, first_wort_sg_se, first_wort_plato_se] =
        figures("first_wort", corrected_gravity(day, GravityPoint::FirstWort));
    let [pre_boil_sg, pre_boil_plato, pre_boil_sg_se, pre_boil_plato_se] =
        figures("pre_boil", corrected_gravity(day, GravityPoint::PreBoil));
    let [post_boil_sg, post_boil_plato, post_boil_sg_se, post_boil_plato_se] =
        figures("post_boil", corrected_gravity(day, GravityPoint::PostBoil));
    let [original_sg, original_plato, original_sg_se, original_plato_se] = figures("original", original_gravity(day));
    let [final_sg, final_plato, final_sg_se, final_plato_se] =
        figures("final", corrected_gravity(day, GravityPoint::Final));
    GravityFigures {
        first_wort_sg,
        first_wort_plato,
        first_wort_sg_se,
        first_wort_plato_se,
        pre_boil_sg,
        pre_boil_plato,
        pre_boil_sg_se,
        pre_boil_plato_se,
        post_boil_sg,
        post_boil_plato,
        post_boil_sg_se,
        post_boil_plato_se,
        original_sg,
        original_plato,
        original_sg_se,
        original_plato_se,
        final_sg,
        final_plato,
        final_sg_se,
        final_plato_se,
    }
}
