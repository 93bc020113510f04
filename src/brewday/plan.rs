//! The day's plan: water, strike, and the wort to expect at each point.
//!
//! Efficiency, boil-off, absorption and losses are this brewer's own where
//! there are finished batches to learn them from, else stated defaults; the
//! plan says which.

use serde::Serialize;
use utoipa::ToSchema;

use super::batch::Batch;
use super::choices::EquipmentKind;
use super::correction::RunsOver;
pub use super::habits::{Habits, Learned};
use super::plausible::Dimension;
use super::said::{Part, Said};
use super::summary::predicted;
use super::{Equipment, EquipmentRecord, Recipe};
use crate::brewday::choices::FermentableUse;
use crate::science::mash::liquor::LiquorError;
use crate::science::mash::{heat, liquor};
use crate::science::units::{FlowRate, HeatCapacity, Length, Mass, Plato, Temperature, TimeSpan, Volume};
use crate::science::wort::Wort;
use crate::science::{boiling_point, extract, gravity, water};

/// Something a plan takes for granted.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// What it is.
    pub what: &'static str,
    /// Its value in the record's unit.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// Where it comes from.
    pub basis: Basis,
}

/// Where an assumption comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The recipe says so.
    Recipe,
    /// The equipment says so.
    Equipment,
    /// The median of so many of the brewer's own batches.
    Batches(usize),
    /// Common practice, no source.
    CommonPractice,
}

/// Share of the potential that reaches the kettle where nothing is known (common practice, no source).
const INTO_KETTLE_PCT: f64 = 75.0;
/// Boil-off of an open kettle of this size (common practice, no source).
const BOIL_OFF_L_PER_H: f64 = 3.0;
/// Mash water for each kilogram of grain (common practice, no source).
const MASH_L_PER_KG: f64 = 3.0;
/// How warm malt and vessel are (common practice, no source).
const ROOM_C: f64 = 20.0;
/// A rest where the recipe has none.
const REST_C: f64 = 66.0;
/// Heat that warms a kilogram of steel by one kelvin, kJ [CRC-Handbook].
const STEEL_KJ_PER_KG_K: f64 = 0.5;

/// The wort a recipe should give, whatever water it is made with.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// Specific gravity into the fermenter.
    pub original_sg: f64,
    /// The same in °P.
    pub original_plato: f64,
    /// Bitterness, an estimate.
    pub bitterness_ibu: Result<f64, String>,
    /// Colour, an estimate.
    pub colour_ebc: Result<f64, String>,
    /// Yeast cells wanted, thousand millions.
    pub cells_needed_billion: Result<f64, String>,
    /// Volume after the boil at 20 °C.
    pub post_boil_l: f64,
    /// The same as the hot kettle shows it.
    pub post_boil_hot_l: f64,
}

/// The water to heat and where it gets to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct Water {
    /// Into the mash, at 20 °C.
    pub mash_l: f64,
    /// Over the grains, at 20 °C.
    pub sparge_l: f64,
    /// How hot the strike water has to be.
    pub strike_c: f64,
    /// Where the mash then stands.
    pub mash_c: f64,
    /// Volume before the boil at 20 °C.
    pub pre_boil_l: f64,
    /// The same as the kettle shows it near the boil.
    pub pre_boil_hot_l: f64,
    /// Gravity before the boil.
    pub pre_boil_sg: f64,
    /// The same in °P.
    pub pre_boil_plato: f64,
}

/// The plan of a day.
#[derive(Clone, Debug, PartialEq)]
pub struct DayPlan {
    /// The wort to expect.
    pub expected: Expected,
    /// The water to heat, or why it can't be told.
    pub water: Result<Water, Said>,
    /// What the boil takes off.
    pub boil_off: FlowRate,
    /// Wort that stays in kettle and hoses, at 20 °C.
    pub kettle_loss: Volume,
    /// Where the kettle can't hold what it should before the boil.
    pub runs_over: Option<RunsOver>,
    /// What the plan takes for granted.
    pub assumed: Vec<Assumed>,
}

impl DayPlan {
    /// The plan for a batch.
    #[must_use]
    pub fn of_batch(batch: &Batch, habits: Habits) -> Self {
        Self::of(&batch.scaled_recipe(), &batch.equipment, batch.altitude_m, habits)
    }

    /// The plan for a recipe on a set of equipment.
    #[must_use]
    pub fn of(recipe: &Recipe, equipment: &[EquipmentRecord], altitude_m: Option<f64>, habits: Habits) -> Self {
        Planner::new(recipe, equipment, altitude_m, habits).plan()
    }
}

/// The plan being made: what it rests on, and the list that says so.
struct Planner<'a> {
    recipe: &'a Recipe,
    mash_vessel: Option<&'a Equipment>,
    boiling: Temperature,
    into_kettle: f64,
    boil_off: FlowRate,
    kettle_loss: Volume,
    absorption_l_per_kg: f64,
    mash_water: Volume,
    brim: Option<Volume>,
    assumed: Vec<Assumed>,
}

impl<'a> Planner<'a> {
    fn new(recipe: &'a Recipe, equipment: &'a [EquipmentRecord], altitude_m: Option<f64>, habits: Habits) -> Self {
        let first = |kind| equipment.iter().map(|record| &record.equipment).find(|one| one.kind == kind);
        let kettle = first(EquipmentKind::Kettle);
        let height = Length::from_metres(altitude_m.unwrap_or(0.0));
        let mut assumed = Vec::new();
        let mut choose = |what, dimension, candidates: [(Option<f64>, Basis); 2], default: f64| {
            let known = candidates.into_iter().find_map(|(value, basis)| Some((value?, basis)));
            let (value, basis) = known.unwrap_or((default, Basis::CommonPractice));
            assumed.push(Assumed { what, value, dimension, basis });
            value
        };
        let own = |learned: Option<Learned>| {
            (learned.map(|one| one.value), Basis::Batches(learned.map_or(0, |one| one.batches)))
        };
        let none = (None, Basis::Equipment);
        let grist_kg: f64 = mash_goods(recipe).iter().map(|one| one.mass.kilograms()).sum();
        let into_kettle_pct =
            choose("Into-kettle efficiency", Dimension::Percent, [own(habits.into_kettle_pct), none], INTO_KETTLE_PCT);
        let boil_off = choose(
            "Boil-off",
            Dimension::BoilOff,
            [own(habits.boil_off_l_per_h), (kettle.and_then(|one| one.boil_off_l_per_h), Basis::Equipment)],
            BOIL_OFF_L_PER_H,
        );
        let kettle_loss = choose(
            "Left in kettle and hoses",
            Dimension::Volume,
            [own(habits.kettle_loss_l), (kettle.and_then(|one| one.dead_space_l), Basis::Equipment)],
            0.0,
        );
        let absorption = choose(
            "Kept by the grain",
            Dimension::Absorption,
            [own(habits.absorption_l_per_kg), none],
            liquor::ABSORPTION_L_PER_KG,
        );
        let mash_water = choose(
            "Mash water",
            Dimension::Volume,
            [(recipe.mash_water_l, Basis::Recipe), none],
            MASH_L_PER_KG * grist_kg,
        );
        Self {
            recipe,
            mash_vessel: first(EquipmentKind::MashVessel),
            boiling: boiling_point::at_altitude(height).unwrap_or(Temperature::from_celsius(100.0)),
            into_kettle: into_kettle_pct / 100.0,
            boil_off: FlowRate::from_litres_per_hour(boil_off),
            kettle_loss: Volume::from_litres(kettle_loss),
            absorption_l_per_kg: absorption,
            mash_water: Volume::from_litres(mash_water),
            brim: kettle.and_then(|one| one.volume_l).map(Volume::from_litres),
            assumed,
        }
    }

    fn plan(self) -> DayPlan {
        let post_boil = self.post_boil();
        let water = self.water();
        DayPlan {
            expected: self.expected(post_boil),
            runs_over: water.as_ref().ok().and_then(|water| {
                let before = Plato::from_degrees(water.pre_boil_plato);
                RunsOver::of(Wort::new(Volume::from_litres(water.pre_boil_l), before), self.brim)
            }),
            water,
            boil_off: self.boil_off,
            kettle_loss: self.kettle_loss,
            assumed: self.assumed,
        }
    }

    fn post_boil(&self) -> Wort {
        let into_fermenter = Volume::from_litres(self.recipe.volume_l);
        let from_mash = extract::potential(&mash_goods(self.recipe)) * self.into_kettle;
        let from_goods = extract::potential(&predicted::goods(self.recipe, FermentableUse::Kettle));
        Wort::holding(from_mash + from_goods, into_fermenter + self.kettle_loss)
    }

    fn expected(&self, post_boil: Wort) -> Expected {
        let sg = gravity::specific_gravity(post_boil.strength);
        let into_fermenter = Volume::from_litres(self.recipe.volume_l);
        Expected {
            original_sg: sg.ratio(),
            original_plato: post_boil.strength.degrees(),
            bitterness_ibu: predicted::bitterness(self.recipe, sg, post_boil.volume),
            colour_ebc: predicted::colour(self.recipe, post_boil.volume),
            cells_needed_billion: predicted::cells_needed(self.recipe, into_fermenter, post_boil.strength),
            post_boil_l: post_boil.volume.litres(),
            post_boil_hot_l: post_boil.volume_at(self.boiling).litres(),
        }
    }

    fn water(&self) -> Result<Water, Said> {
        let grist = mash_goods(self.recipe);
        let mass: Mass = grist.iter().map(|one| one.mass).sum();
        if mass <= Mass::ZERO {
            return Err("The recipe has no malt in the mash.".into());
        }
        let dead_space = self.mash_vessel.and_then(|vessel| vessel.dead_space_l).unwrap_or(0.0);
        let liquor = liquor::plan(&liquor::Wanted {
            into_fermenter: Volume::from_litres(self.recipe.volume_l),
            kettle_loss: self.kettle_loss,
            boil: TimeSpan::from_minutes(self.recipe.boil_min),
            boil_off: self.boil_off,
            grist: &grist,
            kettle_goods: &predicted::goods(self.recipe, FermentableUse::Kettle),
            mash_water: self.mash_water,
            absorption_l_per_kg: self.absorption_l_per_kg,
            mash_dead_space: Volume::from_litres(dead_space),
            into_kettle: self.into_kettle,
        })
        .map_err(too_tight)?;
        let mash_c = self.recipe.mash_rests.first().map_or(REST_C, |rest| rest.temperature_c);
        let room = Temperature::from_celsius(ROOM_C);
        let steel_kg = self.mash_vessel.and_then(|vessel| vessel.dry_mass_kg).unwrap_or(0.0);
        let vessel = heat::Vessel {
            heat_capacity: HeatCapacity::from_kilojoules_per_kelvin(steel_kg * STEEL_KJ_PER_KG_K),
            temperature: room,
        };
        let strike = heat::strike_temperature(
            heat::Grist::new(mass, room),
            vessel,
            water::mass(liquor.mash, Temperature::REFERENCE),
            Temperature::from_celsius(mash_c),
        )
        .map_err(|why| Said::from(format!("No strike temperature: {why}.")))?;
        Ok(Water {
            mash_l: liquor.mash.litres(),
            sparge_l: self.recipe.sparge_water_l.unwrap_or(liquor.sparge.litres()),
            strike_c: strike.celsius(),
            mash_c,
            pre_boil_l: liquor.pre_boil.volume.litres(),
            pre_boil_hot_l: liquor.pre_boil_at(self.boiling).litres(),
            pre_boil_sg: gravity::specific_gravity(liquor.pre_boil.strength).ratio(),
            pre_boil_plato: liquor.pre_boil.strength.degrees(),
        })
    }
}

/// Why the day's water can't be shared out.
fn too_tight(why: LiquorError) -> Said {
    match why {
        LiquorError::TooMuchMashWater(most) => Said::of([
            Part::words("No water plan: the mash water alone fills the kettle; use at most "),
            Part::Figure(most.litres(), Dimension::Volume),
            Part::words("."),
        ]),
        why => format!("No water plan: {why}.").into(),
    }
}

fn mash_goods(recipe: &Recipe) -> Vec<extract::Fermentable> {
    predicted::goods(recipe, FermentableUse::Mash)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brewday::testing::{equipment, recipe};
    use serde_json::json;

    #[test]
    fn the_water_that_goes_in_comes_out_somewhere() {
        let kettle = equipment(1, EquipmentKind::Kettle, json!({"boil_off_l_per_h": 3.5, "dead_space_l": 1.5}));
        let plan = DayPlan::of(&recipe(), &[kettle], None, Habits::default());
        let water = plan.water.expect("there is malt");
        // 4.5 kg keep 4.5 L; 3.5 L boil off; 1.5 L stay behind; 20 L go on.
        assert!((water.pre_boil_l - (20.0 + 1.5 + 3.5)).abs() < 1e-9);
        assert!((water.mash_l + water.sparge_l - (water.pre_boil_l + 4.5)).abs() < 1e-9);
        assert!(water.pre_boil_sg < plan.expected.original_sg);
    }

    #[test]
    fn a_kettle_too_small_for_the_plan_is_told_before_the_day() {
        // 25 L before the boil are 25/0.9601 = 26.04 L in the hot kettle.
        let over = |brim: f64| {
            let figures = json!({"volume_l": brim, "boil_off_l_per_h": 3.5, "dead_space_l": 1.5});
            let kettle = equipment(1, EquipmentKind::Kettle, figures);
            DayPlan::of(&recipe(), &[kettle], None, Habits::default()).runs_over.map(|over| over.hot.litres())
        };
        assert_eq!(over(26.1), None);
        let hot = over(26.0).expect("it can't hold that");
        assert!((hot - 26.04).abs() < 0.01, "{hot}");
    }

    #[test]
    fn own_batches_count_for_more_than_the_equipment_and_that_for_more_than_custom() {
        let kettle = equipment(1, EquipmentKind::Kettle, json!({"boil_off_l_per_h": 3.5}));
        let habits = Habits { boil_off_l_per_h: Learned::of([4.0, 5.0, 4.5, 9.0, 4.2, 1.0]), ..Habits::default() };
        let boil_off = |habits| {
            let plan = DayPlan::of(&recipe(), std::slice::from_ref(&kettle), None, habits);
            plan.assumed.iter().find(|one| one.what == "Boil-off").map(|one| (one.value, one.basis))
        };
        assert_eq!(boil_off(habits), Some((4.5, Basis::Batches(5))), "the median of the last five");
        assert_eq!(boil_off(Habits::default()), Some((3.5, Basis::Equipment)));
    }
}
