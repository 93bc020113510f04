//! The mash: heat in is heat out, water in is water out.

use gylebook::science::extract::Fermentable;
use gylebook::science::kettle;
use gylebook::science::mash::heat::{self, Grist, MashError, Vessel};
use gylebook::science::mash::liquor::{self, LiquorError, Wanted};
use gylebook::science::units::{FlowRate, HeatCapacity, Mass, SpecificEnergy, Temperature, TimeSpan, Volume};
use gylebook::science::wort::Wort;
use proptest::prelude::*;

use crate::close;

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

prop_compose! {
    fn mashes()(
        malt in 0.5..20.0, malt_c in 0.0..30.0, wetting in 0.0..20.0,
        vessel in 0.0..20.0, vessel_c in 0.0..70.0, thickness in 2.0..6.0,
    ) -> (Grist, Vessel, Mass) {
        let grist = Grist {
            wetting: SpecificEnergy::from_kilojoules_per_kg(wetting),
            ..Grist::new(Mass::from_kilograms(malt), celsius(malt_c))
        };
        let vessel = Vessel {
            heat_capacity: HeatCapacity::from_kilojoules_per_kelvin(vessel),
            temperature: celsius(vessel_c),
        };
        (grist, vessel, Mass::from_kilograms(malt * thickness))
    }
}

proptest! {
    #[test]
    fn striking_at_the_strike_temperature_gives_the_rest(
        (grist, vessel, water) in mashes(), rest in 35.0..78.0,
    ) {
        match heat::strike_temperature(grist, vessel, water, celsius(rest)) {
            Ok(strike) => {
                let mash = heat::mash_temperature(grist, vessel, water, strike).unwrap();
                close(mash.celsius(), rest, 1e-6);
            }
            Err(why) => prop_assert_eq!(why, MashError::TooLittleWater),
        }
    }

    #[test]
    fn thicker_mashes_want_hotter_water(
        malt in 1.0..10.0, thickness in 2.5..5.0, more in 0.1..1.0,
    ) {
        let grist = Grist::new(Mass::from_kilograms(malt), celsius(18.0));
        let strike = |thickness: f64| {
            let water = grist.mass * thickness;
            heat::strike_temperature(grist, Vessel::NONE, water, celsius(66.0)).unwrap()
        };
        prop_assert!(strike(thickness + more) < strike(thickness));
    }

    #[test]
    fn an_infusion_gives_and_takes_the_same_heat(
        (grist, vessel, water) in mashes(), now in 35.0..60.0, up in 1.0..15.0, hot in 80.0..100.0,
    ) {
        // The mash with its infusion is one mash that was struck with both waters:
        // their heat, less what the mash had at `now`, is what it has at the rest.
        let mash = Grist { temperature: celsius(now), ..grist };
        let rest = celsius(now + up);
        let add = heat::infusion(mash, vessel, water, rest, celsius(hot)).unwrap();
        let enthalpy = gylebook::science::water::enthalpy;
        let taken = (mash.mass * mash.specific_heat + vessel.heat_capacity) * (rest - celsius(now))
            + water * (enthalpy(rest) - enthalpy(celsius(now)));
        let given = add * (enthalpy(celsius(hot)) - enthalpy(rest));
        close(given / taken, 1.0, 1e-9);
        prop_assert!(add > Mass::ZERO);
    }

    #[test]
    fn a_water_plan_adds_up(
        fermenter in 5.0..100.0, loss in 0.0..5.0, minutes in 0.0..120.0, off in 0.0..8.0,
        thickness in 2.0..3.5, per_litre in 0.12..0.3, sugar in 0.0..0.04, into_kettle in 0.5..0.95,
    ) {
        let malt = Fermentable {
            mass: Mass::from_kilograms(fermenter * per_litre), dry_yield: 0.8, moisture: 0.045,
        };
        let sugar = Fermentable {
            mass: Mass::from_kilograms(fermenter * sugar), dry_yield: 1.0, moisture: 0.1,
        };
        let l = Volume::from_litres;
        let wanted = Wanted {
            into_fermenter: l(fermenter),
            kettle_loss: l(loss),
            boil: TimeSpan::from_minutes(minutes),
            boil_off: FlowRate::from_litres_per_hour(off),
            grist: &[malt],
            kettle_goods: &[sugar],
            mash_water: l(fermenter * per_litre * thickness),
            absorption_l_per_kg: 1.0,
            mash_dead_space: l(0.5),
            into_kettle,
        };
        let plan = match liquor::plan(&wanted) {
            Ok(plan) => plan,
            Err(why) => {
                prop_assert!(matches!(why, LiquorError::TooMuchMashWater(_)));
                return Ok(());
            }
        };
        let kept = malt.mass.kilograms() + 0.5;
        close((plan.mash + plan.sparge).litres(), plan.pre_boil.volume.litres() + kept, 1e-9);
        close(plan.post_boil.volume.litres(), fermenter + loss, 1e-9);
        let gained = plan.post_boil.extract() - plan.pre_boil.extract();
        close(gained.kilograms(), sugar.potential().kilograms(), 1e-9);
        close(plan.pre_boil.extract().kilograms(), malt.potential().kilograms() * into_kettle, 1e-9);
        prop_assert!(plan.pre_boil_at(celsius(100.0)) > plan.pre_boil.volume);
        // Boiled as planned, the goods stirred in, the kettle holds what was promised.
        let boiled = kettle::boiled(plan.pre_boil, wanted.boil_off, wanted.boil).unwrap();
        let full = Wort::of(boiled.extract() + sugar.potential(), boiled.water() + sugar.water());
        close(full.volume.litres(), plan.post_boil.volume.litres(), 1e-9);
    }
}

#[test]
fn what_can_not_be_mashed_says_why() {
    let grist = Grist::new(Mass::from_kilograms(5.0), celsius(5.0));
    let thick = heat::strike_temperature(grist, Vessel::NONE, Mass::from_kilograms(4.0), celsius(75.0));
    assert_eq!(thick.unwrap_err().to_string(), "so little mash water would have to be hotter than boiling");
    let dry = heat::strike_temperature(grist, Vessel::NONE, Mass::ZERO, celsius(66.0)).unwrap_err();
    assert!(dry.to_string().starts_with("mash water 0 kg lies outside"));
    let warm = Grist { temperature: celsius(66.0), ..grist };
    let water = Mass::from_kilograms(15.0);
    let cool = heat::infusion(warm, Vessel::NONE, water, celsius(72.0), celsius(70.0)).unwrap_err();
    assert_eq!(cool.to_string(), "liquor of 70.0 °C can't warm the mash to that");
}
