//! Gravity and the instruments that read it.

use gylebook::science::gravity::hydrometer::Hydrometer;
use gylebook::science::gravity::{self, attenuation, refractometer};
use gylebook::science::units::{Brix, Plato, SpecificGravity, Temperature};
use gylebook::science::wort;
use proptest::prelude::*;

use crate::close;

fn plato(sg: f64) -> f64 {
    gravity::plato(SpecificGravity::from_ratio(sg)).degrees()
}

fn sg(degrees: f64) -> f64 {
    gravity::specific_gravity(Plato::from_degrees(degrees)).ratio()
}

proptest! {
    #[test]
    fn plato_comes_back_exactly(degrees in 0.0..30.0) {
        close(plato(sg(degrees)), degrees, 1e-9);
    }

    #[test]
    fn gravity_comes_back_within_the_clamp_at_nothing(ratio in 0.95..1.25) {
        // −0.005 to 0 °P is shown as 0, which is up to 0.00002 in gravity.
        close(sg(plato(ratio)), ratio, 2e-5);
    }

    #[test]
    fn plato_never_falls_as_gravity_rises(ratio in 0.95..1.25, more in 1e-6..0.01) {
        prop_assert!(plato(ratio + more) >= plato(ratio));
    }

    #[test]
    fn a_hydrometer_floated_in_a_known_wort_finds_its_gravity(
        degrees in 0.0..30.0, sample in 0.0..60.0, mark in 15.0..25.0, offset in -0.005..0.005,
    ) {
        let (at, calibration) = (Temperature::from_celsius(sample), Temperature::from_celsius(mark));
        let water = |t| wort::density(Plato::from_degrees(0.0), t);
        let wort = |t| wort::density(Plato::from_degrees(degrees), t);
        let glass = 1.0 - 25e-6 * (sample - mark);
        let shown = wort(at) / (water(calibration) * glass) + offset;
        let hydrometer = Hydrometer { calibration, offset };
        let found = hydrometer.corrected(SpecificGravity::from_ratio(shown), at).unwrap();
        let true_gravity = wort(Temperature::REFERENCE) / water(Temperature::REFERENCE);
        close(found.ratio(), true_gravity, 1e-9);
    }

    #[test]
    fn a_warmer_sample_means_a_higher_gravity(
        ratio in 1.0..1.12, sample in 8.0..59.0, warmer in 0.1..1.0,
    ) {
        let at = |celsius| {
            let sample = Temperature::from_celsius(celsius);
            Hydrometer::AT_20_C.corrected(SpecificGravity::from_ratio(ratio), sample).unwrap()
        };
        prop_assert!(at(sample + warmer) > at(sample));
    }

    #[test]
    fn any_hydrometer_reading_gives_a_number_or_a_reason(
        ratio in 0.5..1.5, sample in -20.0..120.0,
    ) {
        let (reading, at) = (SpecificGravity::from_ratio(ratio), Temperature::from_celsius(sample));
        match Hydrometer::AT_60_F.corrected(reading, at) {
            Ok(found) => prop_assert!(found.ratio().is_finite()),
            Err(why) => prop_assert!(why.to_string().contains("lies outside")),
        }
    }

    #[test]
    fn the_wort_factor_found_is_the_one_used(brix in 1.0..40.0, factor in 0.95..1.1) {
        let reading = Brix::from_degrees(brix);
        let strength = refractometer::plato(reading, factor).unwrap();
        close(refractometer::wort_factor(reading, strength).unwrap(), factor, 1e-12);
    }

    #[test]
    fn more_attenuation_is_more_alcohol(oe in 4.0..30.0, share in 0.0..0.98, more in 0.001..0.02) {
        let original = Plato::from_degrees(oe);
        let alcohol = |gone: f64| {
            let last = Plato::from_degrees(oe * (1.0 - gone));
            let extract = attenuation::real_extract(original, last).unwrap();
            // What is left and what was made never exceed what was there.
            let made = attenuation::alcohol_by_mass(original, last).unwrap();
            assert!(extract.mass_fraction() + made <= original.mass_fraction() + 1e-12);
            made
        };
        prop_assert!(alcohol(share + more) > alcohol(share));
        close(attenuation::apparent(original, original).unwrap(), 0.0, 1e-12);
        close(alcohol(0.0), 0.0, 1e-12);
    }
}

#[test]
fn water_has_no_extract_and_no_minus_sign() {
    let nothing = plato(1.0);
    assert!(nothing == 0.0 && nothing.is_sign_positive());
}

#[test]
fn a_beer_heavier_than_its_wort_is_refused() {
    let p = Plato::from_degrees;
    let why = attenuation::alcohol_by_mass(p(10.0), p(11.0)).unwrap_err();
    assert_eq!(why.to_string(), "final apparent extract 11 °P lies outside -6 to 10 °P");
}
