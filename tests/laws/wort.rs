//! Water and wort: density, heat, mixing.

use gylebook::science::units::{Length, Mass, Plato, Temperature, Volume};
use gylebook::science::wort::{self, Wort};
use gylebook::science::{boiling_point, water};
use proptest::prelude::*;

use crate::close;

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

proptest! {
    #[test]
    fn wort_is_denser_the_stronger_and_lighter_the_hotter(
        p in 0.0..60.0, t in 5.0..99.0, dp in 0.01..1.0, dt in 0.01..1.0,
    ) {
        let rho = |p, t| wort::density(Plato::from_degrees(p), celsius(t));
        prop_assert!(rho(p + dp, t) > rho(p, t));
        prop_assert!(rho(p, t + dt) < rho(p, t));
    }

    #[test]
    fn wort_of_no_strength_is_water(t in 0.0..100.0) {
        // Two published formulas for water: within 0.03 kg/m³ of each other.
        let plain = wort::density(Plato::from_degrees(0.0), celsius(t));
        close(plain.kg_per_m3(), water::density(celsius(t)).kg_per_m3(), 0.03);
        let specific = wort::specific_heat(Plato::from_degrees(0.0), celsius(t));
        prop_assert_eq!(specific, water::specific_heat(celsius(t)));
    }

    #[test]
    fn enthalpy_rises_by_the_specific_heat(t in 0.5..99.5) {
        let rise = water::enthalpy(celsius(t + 0.5)) - water::enthalpy(celsius(t - 0.5));
        let specific = water::specific_heat(celsius(t));
        close(rise.joules_per_kg(), specific.joules_per_kg_kelvin(), 0.2);
    }

    #[test]
    fn mean_specific_heat_does_not_care_for_the_direction(
        p in 0.0..25.0, a in 0.0..100.0, b in 0.0..100.0,
    ) {
        let mean = |from, to| {
            let mean = wort::mean_specific_heat(Plato::from_degrees(p), celsius(from), celsius(to));
            mean.joules_per_kg_kelvin()
        };
        prop_assert!(mean(a, b).is_finite());
        close(mean(a, b), mean(b, a), 0.01);
    }

    #[test]
    fn a_wort_is_its_extract_and_its_water(e in 0.0..50.0, w in 0.1..500.0) {
        let (extract, water) = (Mass::from_kilograms(e), Mass::from_kilograms(w));
        let wort = Wort::of(extract, water);
        close(wort.extract().kilograms(), e, 1e-9);
        close(wort.water().kilograms(), w, 1e-9);
        close(wort.mass().kilograms(), e + w, 1e-9);
    }

    #[test]
    fn the_strength_that_holds_an_extract_holds_it(litres in 0.1..2000.0, p in 0.0..60.0) {
        let wort = Wort::new(Volume::from_litres(litres), Plato::from_degrees(p));
        let found = Wort::holding(wort.extract(), wort.volume);
        close(found.strength.degrees(), p, 1e-9);
        close(found.extract().kilograms(), wort.extract().kilograms(), 1e-9 * litres);
    }

    #[test]
    fn hot_and_cold_volume_are_one_wort(litres in 0.1..2000.0, p in 0.0..30.0, t in 0.0..100.0) {
        let wort = Wort::read_at(Volume::from_litres(litres), celsius(t), Plato::from_degrees(p));
        close(wort.volume_at(celsius(t)).litres() / litres, 1.0, 1e-12);
        prop_assert!(t < 20.0 || wort.volume.litres() <= litres);
    }

    #[test]
    fn the_boil_falls_with_height(h in -500.0..4900.0, up in 1.0..100.0) {
        let boil = |h| boiling_point::at_altitude(Length::from_metres(h)).unwrap().celsius();
        prop_assert!(boil(h + up) < boil(h));
        prop_assert!(boil(h).is_finite());
    }

    #[test]
    fn colder_ice_takes_up_more(below in 0.0..29.0_f64, more in 0.1..1.0_f64) {
        prop_assert!(water::ice_heat(celsius(-below - more)) > water::ice_heat(celsius(-below)));
    }
}

#[test]
fn at_20_c_nothing_shrinks_and_nothing_is_nothing() {
    close(wort::shrinkage(Plato::from_degrees(12.0), Temperature::REFERENCE), 1.0, 1e-15);
    assert_eq!(Wort::of(Mass::ZERO, Mass::ZERO).volume, Volume::ZERO);
    let empty = Wort::holding(Mass::from_kilograms(1.0), Volume::ZERO);
    assert_eq!(empty.strength.degrees(), 0.0);
}

#[test]
fn heights_off_the_map_are_named() {
    let why = boiling_point::at_altitude(Length::from_metres(9000.0)).unwrap_err();
    assert_eq!(why.to_string(), "altitude 9000 m lies outside -500 to 5000 m");
}
