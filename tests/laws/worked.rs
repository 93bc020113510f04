//! Figures a brewer reads, worked by hand: a changed constant or sign in any of
//! these formulas shows here in its fourth digit.

use gylebook::science::extract::account::KettleReading;
use gylebook::science::extract::{self, Fermentable, efficiency};
use gylebook::science::gravity::{self, attenuation, hydrometer::Hydrometer, refractometer};
use gylebook::science::mash::liquor::{self, LiquorError, Wanted};
use gylebook::science::sanitation::{self, Verdict};
use gylebook::science::uncertainty::{self, Instrument};
use gylebook::science::units::{
    Brix, Colour, Energy, FlowRate, HeatCapacity, Length, Mass, Measured, Plato, Power, SpecificGravity, Temperature,
    TemperatureDifference, TimeSpan, Volume,
};
use gylebook::science::{bitterness::tinseth, colour};

use crate::close;

fn kg(kilograms: f64) -> Mass {
    Mass::from_kilograms(kilograms)
}

fn litres(litres: f64) -> Volume {
    Volume::from_litres(litres)
}

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

#[test]
fn attenuation_and_alcohol_of_a_12_degree_beer() {
    let (original, last) = (Plato::from_degrees(12.0), Plato::from_degrees(3.0));
    close(attenuation::apparent(original, last).unwrap(), 0.75, 1e-12);
    // 0.1808 × 12 + 0.8192 × 3 = 4.6272 °P are left.
    close(attenuation::real_extract(original, last).unwrap().degrees(), 4.6272, 1e-9);
    // (12 − 4.6272) / (2.0665 − 1.0665 × 0.12) = 7.3728 / 1.93852 = 3.80331 % by mass.
    close(attenuation::alcohol_by_mass(original, last).unwrap(), 0.038_033_1, 1e-7);
    // By volume: times the beer's SG over that of ethanol, 789.24/998.20 [OIML-R22].
    let (og, fg) = (SpecificGravity::from_ratio(1.050), SpecificGravity::from_ratio(1.010));
    let by_mass = attenuation::alcohol_by_mass(gravity::plato(og), gravity::plato(fg)).unwrap();
    let by_volume = attenuation::alcohol_by_volume(og, fg).unwrap();
    close(by_volume / by_mass, 1.010 * 998.20 / 789.24, 1e-4);
    // 1.050 is 12.387 °P and 1.010 is 2.561 °P, so 4.3376 °P are left and 8.0494/1.93439 =
    // 4.161 % by mass are made: 5.316 % by volume.
    close(by_volume, 0.053_16, 1e-5);
}

#[test]
fn potential_of_malt_and_colour_of_a_grist() {
    // 5 kg × 0.8078 × 0.955 = 3.857245 kg; 0.225 kg of it is water.
    let malt = Fermentable { mass: kg(5.0), dry_yield: 0.8078, moisture: 0.045 };
    close(extract::potential(&[malt]).kilograms(), 3.857_245, 1e-9);
    close(malt.water().kilograms(), 0.225, 1e-12);
    // (6.75 + 1.2)/2.65 = 3 °L; 4 kg are 8.818490 lb, 20 L are 5.283441 US gal [NIST-SP811].
    close(colour::lovibond(Colour::from_ebc(6.75)), 3.0, 1e-12);
    close(colour::lovibond(Colour::from_ebc(-2.0)), 0.0, 0.0);
    let mcu = colour::malt_colour_units([(kg(4.0), Colour::from_ebc(6.75))], litres(20.0)).unwrap();
    close(mcu, 3.0 * 8.818_490 / 5.283_441, 1e-5);
}

#[test]
fn the_day_s_water_adds_up_and_too_much_of_it_is_refused() {
    let malt = [Fermentable { mass: kg(4.5), dry_yield: 0.81, moisture: 0.045 }];
    let wanted = Wanted {
        into_fermenter: litres(20.0),
        kettle_loss: litres(1.5),
        boil: TimeSpan::from_minutes(60.0),
        boil_off: FlowRate::from_litres_per_hour(3.0),
        grist: &malt,
        kettle_goods: &[],
        mash_water: litres(15.0),
        absorption_l_per_kg: liquor::ABSORPTION_L_PER_KG,
        mash_dead_space: litres(0.5),
        into_kettle: 0.8,
    };
    // 20 + 1.5 + 3 = 24.5 L before the boil; 4.5 kg keep 4.5 L and 0.5 L stay below: 29.5 L.
    let plan = liquor::plan(&wanted).unwrap();
    close(plan.pre_boil.volume.litres(), 24.5, 1e-9);
    close(plan.sparge.litres(), 14.5, 1e-9);
    close(liquor::plan(&Wanted { mash_water: litres(29.5), ..wanted }).unwrap().sparge.litres(), 0.0, 1e-9);
    let Err(LiquorError::TooMuchMashWater(most)) = liquor::plan(&Wanted { mash_water: litres(29.6), ..wanted }) else {
        panic!("more than the kettle is to hold");
    };
    close(most.litres(), 29.5, 1e-9);
    let none = liquor::plan(&Wanted { kettle_loss: litres(0.0), mash_dead_space: litres(0.0), ..wanted });
    close(none.unwrap().pre_boil.volume.litres(), 23.0, 1e-9);
}

#[test]
fn the_rule_for_a_hot_flush_at_its_edges() {
    let verdict = |at, seconds| sanitation::verdict(celsius(at), TimeSpan::from_seconds(seconds));
    assert_eq!(verdict(77.0, 45.0), Verdict::LongEnough);
    assert_eq!(verdict(77.0, 44.9), Verdict::TooShort);
    assert_eq!(verdict(76.9, 45.0), Verdict::TooCool);
    close(sanitation::FOOD_CODE.seconds(), 30.0, 0.0);
    let dairy = |minutes| sanitation::meets_dairy_rule(celsius(77.0), TimeSpan::from_minutes(minutes));
    assert!(dairy(5.0) && !dairy(4.99));
}

#[test]
fn errors_are_carried_by_the_slope() {
    // [GUM-2008, 5.1]: 20 ± 0.5 tripled is 60 ± 1.5, squared 400 ± 2 × 20 × 0.5, and a
    // product of two has the root of the sum of both shares squared.
    let volume = Measured::new(20.0, 0.5);
    let is = |found: Measured, value, se| {
        close(found.value, value, 1e-9);
        close(found.se, se, 1e-9);
    };
    is(volume.map(|v| 3.0 * v + 1.0), 61.0, 1.5);
    is(volume.map(|v| -v), -20.0, 0.5);
    is(volume.map(|v| v * v), 400.0, 20.0);
    is(Measured::exact(20.0).map(|v| v * v), 400.0, 0.0);
    // 20 ± 0.5 times 3 ± 0.2: √((0.5 × 3)² + (0.2 × 20)²) = √18.25.
    is(volume.with(Measured::new(3.0, 0.2), |v, w| v * w), 60.0, 18.25_f64.sqrt());
    is(volume.plus(Measured::new(3.0, 1.2)), 23.0, 1.3);
    is(volume.minus(Measured::new(3.0, 1.2)), 17.0, 1.3);
    // 20 ± 0.25 L at SG 1.048 ± 0.001: shares of 1.25 % and 2.08 %, so 2.43 % of 2.492 kg.
    let kettle = KettleReading { volume: Measured::new(20.0, 0.25), gravity: Measured::new(1.048, 0.001) };
    let extract = kettle.extract();
    close(extract.value, 2.492, 0.002);
    close(extract.se / extract.value, 0.0243, 0.0002);
}

#[test]
fn a_kettle_read_hot_less_what_cannot_be_drawn() {
    // (26 − 1) L at 100 °C shrink to 25 × 0.96008 = 24.002 L at 12 °P.
    let usable = |read| liquor::usable(litres(read), litres(1.0), celsius(100.0), Plato::from_degrees(12.0)).litres();
    close(usable(26.0), 24.002, 1e-3);
    close(usable(0.5), 0.0, 0.0);
}

#[test]
fn usual_doubts_are_the_ones_stated() {
    // Common practice, no source: pinned, so that no edit moves every ± unseen.
    let stated = [
        (Instrument::Thermometer, 0.5),
        (Instrument::Hydrometer, 0.001),
        (Instrument::Refractometer, 0.2),
        (Instrument::VolumeMark, 0.25),
        (Instrument::Scale, 0.005),
        (Instrument::PhMeter, 0.1),
    ];
    for (instrument, half_width) in stated {
        close(uncertainty::usual(instrument).half_width, half_width, 0.0);
    }
}

#[test]
fn formulas_hold_to_the_ends_they_state_and_no_further() {
    let sample = |t| Hydrometer::AT_20_C.corrected(SpecificGravity::from_ratio(1.040), celsius(t)).is_ok();
    assert!(sample(0.0) && sample(60.0) && !sample(60.1) && !sample(-0.1));
    let brix = |degrees| refractometer::plato(Brix::from_degrees(degrees), 1.04).is_ok();
    assert!(brix(0.0) && brix(45.0) && !brix(45.1) && !brix(-0.1));
    let factor = |factor| refractometer::plato(Brix::from_degrees(12.0), factor).is_ok();
    assert!(factor(0.9) && factor(1.2) && !factor(0.899) && !factor(1.201));
    let original = |p| attenuation::apparent(Plato::from_degrees(p), Plato::from_degrees(1.0)).is_ok();
    assert!(original(1.0) && original(35.0) && !original(0.99) && !original(35.1));
    let first_wort = |p| efficiency::dissolved(Plato::from_degrees(p), kg(15.0)).is_ok();
    assert!(first_wort(0.0) && first_wort(40.0) && !first_wort(40.1));
    let congress = |p, moisture| extract::laboratory_yield(Plato::from_degrees(p), moisture).is_ok();
    assert!(congress(30.0, 0.0) && congress(0.0, 0.3) && !congress(30.1, 0.0) && !congress(8.6, 0.301));
    let boiled = |minutes| tinseth::utilisation(SpecificGravity::from_ratio(1.05), TimeSpan::from_minutes(minutes));
    assert!(boiled(1440.0).is_ok() && boiled(1441.0).is_err());
    let boil = |minutes| efficiency::boil_off(litres(26.0), litres(23.0), TimeSpan::from_minutes(minutes)).is_ok();
    assert!(boil(1.0) && boil(1440.0) && !boil(0.99) && !boil(1441.0));
    assert!(colour::morey(0.0).is_ok() && colour::morey(1000.0).is_ok() && colour::morey(1000.1).is_err());
}

#[test]
fn units_are_what_they_are_defined_as() {
    // [SI-2019, NIST-SP811]: exact, all of them.
    close(Mass::from_ounces(16.0).kilograms(), 0.453_592_37, 1e-15);
    close(Mass::from_pounds(1.0).grams(), 453.592_37, 1e-9);
    close(Length::from_feet(1000.0).metres(), 304.8, 1e-9);
    close(TimeSpan::from_hours(1.5).minutes(), 90.0, 1e-12);
    close(FlowRate::from_litres_per_hour(90.0).litres_per_minute(), 1.5, 1e-12);
    close(Volume::from_us_gallons(1.0).millilitres(), 3_785.411_784, 1e-9);
    close(Energy::from_megajoules(3.6).kilojoules(), 3600.0, 1e-9);
    let heat = Power::from_kilowatts(1.0) * TimeSpan::from_hours(1.0);
    close(heat.megajoules(), 3.6, 1e-12);
    let kettle = HeatCapacity::from_kilojoules_per_kelvin(4.0) * TemperatureDifference::from_kelvins(25.0);
    close(kettle.joules(), 100_000.0, 1e-9);
}
