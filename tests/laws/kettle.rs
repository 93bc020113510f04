//! Corrections in the kettle reach their target and lose nothing.

use gylebook::science::kettle::{self, BoilAdvice, KettleError};
use gylebook::science::units::{FlowRate, Mass, Plato, Temperature, TimeSpan, Volume};
use gylebook::science::water;
use gylebook::science::wort::Wort;
use proptest::prelude::*;

use crate::close;

fn p(degrees: f64) -> Plato {
    Plato::from_degrees(degrees)
}

prop_compose! {
    fn worts()(litres in 2.0..200.0, degrees in 3.0..25.0) -> Wort {
        Wort::new(Volume::from_litres(litres), p(degrees))
    }
}

proptest! {
    #[test]
    fn boiling_keeps_the_extract(wort in worts(), share in 0.0..0.6) {
        let hour = TimeSpan::from_hours(1.0);
        let after = kettle::boiled(wort, wort.volume * share / hour, hour).unwrap();
        close(after.extract() / wort.extract(), 1.0, 1e-9);
        close(after.volume / wort.volume, 1.0 - share, 1e-12);
        prop_assert!(after.strength.degrees() >= wort.strength.degrees() - 1e-9);
    }

    #[test]
    fn boiling_until_then_boiling_that_long_agree(
        wort in worts(), more in 0.1..8.0, rate in 0.5..20.0, planned in 0.0..120.0,
    ) {
        let (off, target) = (FlowRate::from_litres_per_hour(rate), p(wort.strength.degrees() + more));
        let (lasts, promised) = kettle::boil_until(wort, off, target).unwrap();
        let after = kettle::boiled(wort, off, lasts).unwrap();
        close(after.strength.degrees(), target.degrees(), 1e-6);
        close(after.volume.litres(), promised.volume.litres(), 1e-6);
        let planned = TimeSpan::from_minutes(planned);
        let change = match kettle::boil_advice(wort, off, planned, target).unwrap() {
            BoilAdvice::Longer(by, _) => by,
            BoilAdvice::Shorter(by, _) => -by,
        };
        close((planned + change).seconds(), lasts.seconds(), 1e-6);
    }

    #[test]
    fn added_extract_reaches_the_target(wort in worts(), more in 0.1..8.0, share in 0.5..1.0) {
        let target = p(wort.strength.degrees() + more);
        let (add, after) = kettle::add_extract(wort, share, target).unwrap();
        close(after.strength.degrees(), target.degrees(), 1e-9);
        close(after.mass().kilograms(), (wort.mass() + add).kilograms(), 1e-9);
        close(after.extract().kilograms(), (wort.extract() + add * share).kilograms(), 1e-9);
        prop_assert!(add > Mass::ZERO && after.volume > wort.volume);
    }

    #[test]
    fn added_water_reaches_the_target(wort in worts(), less in 0.05..2.5) {
        let target = p(wort.strength.degrees() - less);
        let (add, after) = kettle::add_water(wort, target).unwrap();
        close(after.strength.degrees(), target.degrees(), 1e-9);
        let mass = water::mass(add, Temperature::REFERENCE);
        close(after.mass().kilograms(), (wort.mass() + mass).kilograms(), 1e-9);
        close(after.extract().kilograms(), wort.extract().kilograms(), 1e-9);
    }

    #[test]
    fn any_correction_is_a_number_or_a_reason(
        litres in 0.0..2000.0, degrees in 0.0..40.0, target in 0.0..80.0,
        rate in -5.0..500.0, share in -0.5..1.5,
    ) {
        let wort = Wort::new(Volume::from_litres(litres), p(degrees));
        let finite = |wort: Wort| {
            assert!(wort.volume.litres().is_finite() && wort.strength.degrees().is_finite());
        };
        let off = FlowRate::from_litres_per_hour(rate);
        if let Ok((lasts, after)) = kettle::boil_until(wort, off, p(target)) {
            assert!(lasts.minutes().is_finite());
            finite(after);
        }
        if let Ok((add, after)) = kettle::add_extract(wort, share, p(target)) {
            assert!(add.kilograms().is_finite());
            finite(after);
        }
        if let Ok((add, after)) = kettle::add_water(wort, p(target)) {
            assert!(add.litres().is_finite());
            finite(after);
        }
    }
}

#[test]
fn what_cannot_help_says_why() {
    let wort = Wort::new(Volume::from_litres(20.0), p(12.0));
    let off = FlowRate::from_litres_per_hour(3.0);
    let dry = kettle::boiled(wort, off, TimeSpan::from_hours(7.0)).unwrap_err();
    assert_eq!(dry.to_string(), "the kettle boils dry after 400 min");
    let stronger = kettle::boil_until(wort, off, p(11.0)).unwrap_err();
    assert_eq!(stronger.to_string(), "12.0 °P is at or above the target already");
    let weaker = kettle::add_water(wort, p(13.0)).unwrap_err();
    assert_eq!(weaker.to_string(), "12.0 °P is at or below the target already");
    let thin = kettle::add_extract(wort, 0.1, p(13.0)).unwrap_err();
    assert!(matches!(thin, KettleError::TooWeakToHelp(_)));
}
