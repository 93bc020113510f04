//! The hot half of a day: getting ready, mash and boil, up to flame-out.

use super::day::{Story, Twist, backwards};
use super::dice::shown;
use super::{DemoError, wort};
use crate::brewday::choices::{
    CareAct, EquipmentKind, FermentableUse, GravityPoint, HopUse, OtherUse, PhPoint, Place, Stage, VolumePoint,
};
use crate::brewday::entry::Care;
use crate::brewday::plan::{DayPlan, Habits};
use crate::brewday::{Body, CheckItem};
use crate::science::gravity;
use crate::science::units::Plato;
use crate::science::wort::Wort;

/// Minutes from the end of the last rest until the kettle is full.
const LAUTER_MIN: f64 = 38.0;

impl Story<'_> {
    /// The sanitation list, a clean fermenter.
    pub(super) fn prepare(&mut self, from: f64) {
        let coil = self.script.way.has_coil();
        let fermenter = self.house.fermenters[self.script.fermenter];
        self.pen.write(from, Body::StageStarted { stage: Stage::Prepare });
        self.tick(Stage::Prepare, from + 3.0, 4.0, |item| about_a_coil(item, coil));
        let cleaned = Care { equipment: fermenter, act: CareAct::Cleaned, mass_kg: None, place: None };
        self.pen.write(from + 38.0, Body::Care(cleaned));
        self.pen.write(from + 40.0, Body::StageFinished { stage: Stage::Prepare });
    }

    /// From strike water to a full kettle.
    pub(super) fn mash(&mut self, mash_in: f64) -> Result<(), DemoError> {
        // Only the strike temperature is taken, and no habit changes that.
        let plan = DayPlan::of_batch(self.batch, Habits::default());
        let strike_c = plan.water.map_err(|why| DemoError::Unsound { what: "plan", why: why.to_string() })?.strike_c;
        let water = Wort::new(self.worts.mash_water, Plato::from_degrees(0.0));
        self.pen.write(mash_in - 12.0, Body::StageStarted { stage: Stage::Mash });
        self.read(mash_in - 2.0, Place::StrikeWater, strike_c, 0.3);
        let strike = wort::volume(VolumePoint::Strike, water, strike_c, &mut self.dice);
        self.pen.write(mash_in - 1.0, strike);
        let ph = shown(self.dice.between(5.28, 5.48), 0.01);
        self.pen.write(mash_in + 14.0, Body::Ph { point: PhPoint::Mash, ph });
        let mut minute = mash_in;
        for rest in self.recipe.mash_rests.clone() {
            self.read(minute + 5.0, Place::Mash, rest.temperature_c, 0.4);
            self.read(minute + rest.min / 2.0, Place::Mash, rest.temperature_c - 0.3, 0.3);
            self.read(minute + rest.min - 1.0, Place::Mash, rest.temperature_c - 0.8, 0.3);
            minute += rest.min;
        }
        let first = wort::by_refractometer(GravityPoint::FirstWort, self.worts.first, &mut self.dice);
        self.pen.write(minute + 5.0, first);
        let sparge = Wort::new(self.worts.sparge_water, Plato::from_degrees(0.0));
        let sparge = wort::volume(VolumePoint::Sparge, sparge, 76.0, &mut self.dice);
        self.pen.write(minute + 9.0, sparge);
        self.pre_boil(minute + LAUTER_MIN);
        self.pen.write(minute + LAUTER_MIN + 2.0, Body::StageFinished { stage: Stage::Mash });
        Ok(())
    }

    fn pre_boil(&mut self, minute: f64) {
        let kettle = self.worts.pre_boil;
        let volume = wort::volume(VolumePoint::PreBoil, kettle, 68.5, &mut self.dice);
        if let (Twist::VolumeBackwards, Body::Volume { point, volume_l, temperature_c }) = (self.script.twist, &volume)
        {
            let typed = Body::Volume { point: *point, volume_l: backwards(*volume_l), temperature_c: *temperature_c };
            let wrong = self.pen.write(minute, typed);
            self.pen.amend(minute + 22.0, wrong, volume, "Digits the wrong way round: the kettle holds 45.");
        } else {
            self.pen.write(minute, volume);
        }
        let sg = gravity::specific_gravity(kettle.strength);
        let sample_c = self.dice.between(22.0, 27.0);
        let reading = wort::by_hydrometer(GravityPoint::PreBoil, sg, sample_c, &mut self.dice);
        self.pen.write(minute + 1.0, reading);
    }

    /// Additions on the minute, the coil's hot flush, the list before the chill.
    pub(super) fn boil(&mut self) {
        let boil_min = self.recipe.boil_min;
        self.pen.write(-boil_min - 13.0, Body::StageStarted { stage: Stage::Boil });
        self.pen.write(-boil_min, Body::BoilStarted);
        self.hops();
        // An addition's place in the recipe counts the hops first.
        for (planned, other) in (self.recipe.hops.len()..).zip(self.recipe.other.clone()) {
            if other.used == OtherUse::Boil {
                let mass_kg = shown(other.mass_kg, 0.0001);
                let addition = Body::Addition { what: other.name, mass_kg, planned: i64::try_from(planned).ok() };
                self.pen.write(-other.min, addition);
            }
        }
        for sugar in self.recipe.fermentables.clone() {
            if sugar.used == FermentableUse::Kettle {
                let addition = Body::Addition { what: sugar.name, mass_kg: sugar.mass_kg, planned: None };
                self.pen.noted(-15.0, addition, "Flame down while it dissolves, spoon in all the way.");
            }
        }
        let coil = self.script.way.has_coil();
        self.tick(Stage::Chill, -34.0, 2.5, |item| about_a_coil(item, coil));
        if coil {
            self.hot_flush();
        }
        self.pen.write(0.0, Body::FlameOut);
        self.post_boil();
        self.pen.write(6.0, Body::StageFinished { stage: Stage::Boil });
    }

    fn hops(&mut self) {
        let mut last = None;
        for (index, hop) in self.recipe.hops.clone().into_iter().enumerate() {
            let minute = match hop.used {
                HopUse::FirstWort => -self.recipe.boil_min - 21.0,
                HopUse::Boil => -hop.min + self.dice.between(0.0, 0.8),
                HopUse::FlameOut => 0.5,
            };
            let mass_kg = shown(hop.mass_kg, 0.0005);
            let addition = Body::Addition { what: hop.name, mass_kg, planned: i64::try_from(index).ok() };
            self.pen.write(minute, addition.clone());
            last = Some((minute, addition));
        }
        if let (Twist::EnteredTwice, Some((minute, addition))) = (self.script.twist, last) {
            let twice = self.pen.write(minute + 0.3, addition);
            self.pen.strike_out(minute + 1.5, twice, "Tapped twice with wet hands. It went in once.");
        }
    }

    fn hot_flush(&mut self) {
        let began = shown(self.dice.between(95.0, 97.0), 0.5);
        let outlet = shown(self.dice.between(86.0, 92.0), 0.5);
        let lasts = self.dice.between(1.2, 1.9);
        self.pen.write(-14.0, Body::FlushStarted { temperature_c: Some(began) });
        self.pen.write(-14.0 + lasts, Body::FlushFinished { temperature_c: Some(outlet) });
    }

    fn post_boil(&mut self) {
        let kettle = self.worts.post_boil;
        let volume = wort::volume(VolumePoint::PostBoil, kettle, 97.5, &mut self.dice);
        self.pen.write(0.3, volume);
        let mut sg = gravity::specific_gravity(kettle.strength);
        let sample_c = self.dice.between(23.0, 30.0);
        if self.script.twist == Twist::Wrong {
            // Water left in the trial jar: the wort itself is as strong as it ever was.
            sg = gravity::specific_gravity(Plato::from_degrees(kettle.strength.degrees() * 0.78));
        }
        let reading = wort::by_hydrometer(GravityPoint::PostBoil, sg, sample_c, &mut self.dice);
        self.pen.write(4.0, reading);
        let ph = shown(self.dice.between(5.05, 5.2), 0.01);
        self.pen.write(4.8, Body::Ph { point: PhPoint::PostBoil, ph });
    }
}

/// Why an item is not done on a day without a coil.
fn about_a_coil(item: &CheckItem, coil: bool) -> Option<&'static str> {
    let about = item.equipment == Some(EquipmentKind::Coil)
        || ["coil_inspected", "leaks_checked", "baths_filled", "ice_ready"].contains(&item.key.as_str());
    (about && !coil).then_some("No coil today: it cools in the kettle overnight.")
}
