//! The wort of one batch as it really is, and as the yard's instruments show it.

use super::dice::{Dice, shown};
use crate::brewday::choices::{FermentableUse, GravityPoint, Instrument, VolumePoint};
use crate::brewday::summary::predicted::goods;
use crate::brewday::{Batch, Body};
use crate::science::gravity::hydrometer::Hydrometer;
use crate::science::units::{Mass, Plato, SpecificGravity, Temperature, TimeSpan, Volume};
use crate::science::wort::Wort;
use crate::science::{extract, gravity, water};

/// How the brew went.
#[derive(Clone, Copy, Debug)]
pub(super) struct Going {
    /// Share of the mash's extract that dissolved.
    pub(super) conversion: f64,
    /// Share of the mash's extract that reached the kettle.
    pub(super) into_kettle: f64,
    /// What boiled off, L/h.
    pub(super) boil_off_l_per_h: f64,
    /// What the yeast left out of what there was to ferment.
    pub(super) attenuation: f64,
}

/// What stays behind in kettle and hoses, with the hops, L.
const LEFT_BEHIND_L: f64 = 1.2;
/// What a kilogram of grain keeps, L (common practice, no source).
const KEPT_L_PER_KG: f64 = 1.0;
/// Brix for each degree Plato on the yard's refractometer.
const WORT_FACTOR: f64 = 1.03;
/// The yard's hydrometer, as it is described in the book.
const HYDROMETER: Hydrometer = Hydrometer { calibration: Temperature::REFERENCE, offset: 0.001 };

/// The wort along the day, volumes at 20 °C.
#[derive(Clone, Copy, Debug)]
pub(super) struct Worts {
    pub(super) mash_water: Volume,
    pub(super) sparge_water: Volume,
    pub(super) first: Plato,
    pub(super) pre_boil: Wort,
    pub(super) post_boil: Wort,
    pub(super) into_fermenter: Wort,
    pub(super) last: SpecificGravity,
}

impl Worts {
    /// Follows the extract from the malt into the fermenter: no gram is made or lost on the way.
    pub(super) fn of(batch: &Batch, going: Going) -> Self {
        let recipe = batch.scaled_recipe();
        let grist = goods(&recipe, FermentableUse::Mash);
        let potential = extract::potential(&grist);
        let sugar = extract::potential(&goods(&recipe, FermentableUse::Kettle));
        let grain: Mass = grist.iter().map(|one| one.mass).sum();
        let moisture: Mass = grist.iter().map(|one| one.water()).sum();
        let boiled_off = going.boil_off_l_per_h * TimeSpan::from_minutes(recipe.boil_min).hours();

        let mash_l = recipe.mash_water_l.unwrap_or(3.0 * grain.kilograms());
        let mash_water = Volume::from_litres(mash_l);
        let post_boil_l = recipe.volume_l + LEFT_BEHIND_L;
        let pre_boil_l = post_boil_l + boiled_off;
        let sparge_l = pre_boil_l + KEPT_L_PER_KG * grain.kilograms() - mash_l;
        let in_kettle = potential * going.into_kettle;
        let post_boil = Wort::holding(in_kettle + sugar, Volume::from_litres(post_boil_l));
        let liquor = water::mass(mash_water, Temperature::REFERENCE) + moisture;
        let left = Plato::from_degrees(post_boil.strength.degrees() * (1.0 - going.attenuation));
        Self {
            mash_water,
            sparge_water: Volume::from_litres(sparge_l),
            first: Wort::of(potential * going.conversion, liquor).strength,
            pre_boil: Wort::holding(in_kettle, Volume::from_litres(pre_boil_l)),
            post_boil,
            into_fermenter: Wort::new(Volume::from_litres(recipe.volume_l), post_boil.strength),
            last: gravity::specific_gravity(left),
        }
    }
}

/// A volume of wort as the dipstick shows it, to a quarter of a litre.
pub(super) fn volume(point: VolumePoint, wort: Wort, celsius: f64, dice: &mut Dice) -> Body {
    let at = wort.volume_at(Temperature::from_celsius(celsius)).litres();
    Body::Volume { point, volume_l: shown(at + dice.noise(0.07), 0.25), temperature_c: shown(celsius, 0.1) }
}

/// A wort's gravity as the hydrometer shows it, to half a division.
pub(super) fn by_hydrometer(point: GravityPoint, wort: SpecificGravity, celsius: f64, dice: &mut Dice) -> Body {
    let sample = Temperature::from_celsius(celsius);
    // The correction is nearly the same for what is shown and what is: off by less than 0.00002.
    let less = HYDROMETER.corrected(wort, sample).map_or(0.0, |corrected| wort.ratio() - corrected.ratio());
    let reading = shown(wort.ratio() + less + dice.noise(0.0003), 0.0005);
    Body::Gravity { point, instrument: Instrument::Hydrometer, reading, temperature_c: shown(celsius, 0.1) }
}

/// A wort's strength as the refractometer shows it.
pub(super) fn by_refractometer(point: GravityPoint, strength: Plato, dice: &mut Dice) -> Body {
    let reading = shown(strength.degrees() * WORT_FACTOR + dice.noise(0.08), 0.1);
    Body::Gravity { point, instrument: Instrument::Refractometer, reading, temperature_c: 21.0 }
}
