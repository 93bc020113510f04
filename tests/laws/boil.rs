//! Bitterness, colour and yeast: estimates that must at least be ordered.

use gylebook::science::bitterness::tinseth;
use gylebook::science::curve::Curve;
use gylebook::science::units::{Colour, Mass, Plato, SpecificGravity, Temperature, TimeSpan, Volume};
use gylebook::science::{colour, uncertainty, yeast};
use proptest::prelude::*;

use crate::close;

fn utilisation(sg: f64, minutes: f64) -> f64 {
    let (gravity, boiled) = (SpecificGravity::from_ratio(sg), TimeSpan::from_minutes(minutes));
    tinseth::utilisation(gravity, boiled).unwrap()
}

proptest! {
    #[test]
    fn longer_boils_use_more_and_stronger_worts_less(
        sg in 1.0..1.15, minutes in 0.0..200.0, more in 0.1..10.0, stronger in 0.001..0.02,
    ) {
        let u = utilisation(sg, minutes);
        // 1.65/4.15: nothing gets past the limit.
        prop_assert!((0.0..=0.398).contains(&u));
        prop_assert!(utilisation(sg, minutes + more) > u);
        prop_assert!(utilisation(sg + stronger, minutes) <= u);
    }

    #[test]
    fn a_hot_stand_counts_late_hops_more_than_early_ones(
        sg in 1.0..1.1, stand in 1.0..60.0, early in 30.0..90.0,
    ) {
        let gravity = SpecificGravity::from_ratio(sg);
        let curve = Curve::held(Temperature::from_celsius(95.0), TimeSpan::from_minutes(stand));
        let gain = |minutes: f64| {
            let boiled = TimeSpan::from_minutes(minutes);
            tinseth::with_stand(gravity, boiled, &curve).unwrap() - utilisation(sg, minutes)
        };
        prop_assert!(gain(0.0) > gain(early) && gain(early) > 0.0);
    }

    #[test]
    fn twice_the_hops_twice_the_bitterness(
        grams in 0.0..500.0, alpha in 0.0..0.25, litres in 1.0..200.0, u in 0.0..0.4,
    ) {
        let ibu = |grams| {
            let (hops, volume) = (Mass::from_grams(grams), Volume::from_litres(litres));
            tinseth::bitterness(u, alpha, hops, volume).unwrap()
        };
        close(ibu(2.0 * grams), 2.0 * ibu(grams), 1e-9);
        prop_assert!(ibu(grams).is_finite());
    }

    #[test]
    fn a_wort_never_gains_colour_its_malts_do_not_have(mcu in 0.0..100.0, more in 0.001..5.0) {
        let srm = |mcu| colour::morey(mcu).unwrap().srm();
        prop_assert!(srm(mcu) <= mcu + 1e-12);
        prop_assert!(srm(mcu + more) > srm(mcu));
    }

    #[test]
    fn malt_colours_add_up(kg in 0.1..10.0, ebc in 0.0..1500.0, litres in 5.0..100.0) {
        let malt = (Mass::from_kilograms(kg), Colour::from_ebc(ebc));
        let half = (malt.0 / 2.0, malt.1);
        let volume = Volume::from_litres(litres);
        let whole = colour::malt_colour_units([malt], volume).unwrap();
        close(colour::malt_colour_units([half, half], volume).unwrap(), whole, 1e-9);
    }

    #[test]
    fn a_dose_of_dry_yeast_holds_the_cells_it_is_for(litres in 1.0..100.0, p in 1.0..30.0) {
        let need = yeast::needed(Volume::from_litres(litres), Plato::from_degrees(p), yeast::LAGER);
        let dose = yeast::dry_for(need);
        prop_assert!(dose.low <= dose.high);
        close(yeast::in_dry(dose.high).low / need, 1.0, 1e-9);
        close(yeast::in_dry(dose.low).high / need, 1.0, 1e-9);
    }
}

#[test]
fn usual_uncertainties_stand_in_the_order_of_their_instruments() {
    for trust in uncertainty::USUAL {
        assert_eq!(uncertainty::usual(trust.instrument), trust);
        assert!(trust.half_width > 0.0 && !trust.basis.is_empty());
        let reading = trust.of(1.0);
        close(reading.se * 3.0_f64.sqrt(), trust.half_width, 1e-15);
    }
}

#[test]
fn what_lies_outside_is_named() {
    let gravity = SpecificGravity::from_ratio(1.3);
    let why = tinseth::utilisation(gravity, TimeSpan::ZERO).unwrap_err();
    assert_eq!(why.to_string(), "gravity 1.3 SG lies outside 0.98 to 1.2 SG");
    assert!(yeast::PitchRate::new(0.0).is_err());
    assert!(colour::morey(-1.0).is_err());
}
