//! What follows a temperature curve: isomerisation, the DMS precursor, heat units.

use gylebook::science::bitterness::isomerisation::{self, Alpha};
use gylebook::science::curve::{Curve, CurveError};
use gylebook::science::dms;
use gylebook::science::sanitation::{self, Verdict};
use gylebook::science::units::{Temperature, TimeSpan};
use proptest::prelude::*;

use crate::close;

fn point(minutes: f64, celsius: f64) -> (TimeSpan, Temperature) {
    (TimeSpan::from_minutes(minutes), Temperature::from_celsius(celsius))
}

prop_compose! {
    /// Up to a dozen readings of a chill, minutes apart, anything from ice to boil.
    fn logs()(steps in prop::collection::vec((0.0..30.0, 0.0..105.0), 1..12)) -> Vec<(f64, f64)> {
        let mut now = 0.0;
        steps.into_iter().map(|(after, celsius)| { now += after; (now, celsius) }).collect()
    }
}

fn curve(log: &[(f64, f64)]) -> Curve {
    Curve::new(log.iter().map(|&(minutes, celsius)| point(minutes, celsius))).unwrap()
}

proptest! {
    #[test]
    fn alpha_acid_is_nowhere_but_in_three_places(log in logs()) {
        let alpha = Alpha::FRESH.along(&curve(&log));
        close(alpha.left + alpha.iso + alpha.lost, 1.0, 1e-12);
        for share in [alpha.left, alpha.iso, alpha.lost] {
            prop_assert!((-1e-12..=1.0 + 1e-12).contains(&share));
        }
    }

    #[test]
    fn two_halves_of_a_hold_are_the_hold(celsius in 20.0..130.0, minutes in 0.0..300.0) {
        let at = Temperature::from_celsius(celsius);
        let whole = Alpha::FRESH.held(at, TimeSpan::from_minutes(minutes));
        let half = TimeSpan::from_minutes(minutes / 2.0);
        let halves = Alpha::FRESH.held(at, half).held(at, half);
        close(whole.iso, halves.iso, 1e-12);
        close(whole.left, halves.left, 1e-12);
    }

    #[test]
    fn a_reading_more_on_the_same_line_changes_nothing(
        from in 20.0..100.0, to in 20.0..100.0, minutes in 1.0..60.0, share in 0.1..0.9,
    ) {
        let ends = [(0.0, from), (minutes, to)];
        let more = [(0.0, from), (minutes * share, from + (to - from) * share), (minutes, to)];
        let (plain, fine) = (curve(&ends), curve(&more));
        close(Alpha::FRESH.along(&plain).iso, Alpha::FRESH.along(&fine).iso, 2e-4);
        close(dms::turnover(&plain).share, dms::turnover(&fine).share, 2e-4);
        let pu = |curve| sanitation::pasteurisation_units(curve);
        close(pu(&fine) / pu(&plain), 1.0, 1e-9);
        close(plain.duration().minutes(), fine.duration().minutes(), 1e-9);
    }

    #[test]
    fn hotter_turns_over_more(celsius in 60.0..120.0, minutes in 1.0..120.0, more in 0.5..5.0) {
        let held = |celsius| {
            Curve::held(Temperature::from_celsius(celsius), TimeSpan::from_minutes(minutes))
        };
        let (cool, hot) = (held(celsius), held(celsius + more));
        prop_assert!(Alpha::FRESH.along(&hot).left < Alpha::FRESH.along(&cool).left);
        prop_assert!(dms::turnover(&hot).share >= dms::turnover(&cool).share);
        prop_assert!(isomerisation::equivalent_boil(&hot) > isomerisation::equivalent_boil(&cool));
    }

    #[test]
    fn minutes_of_boil_turn_over_what_the_curve_did(log in logs()) {
        let curve = curve(&log);
        let boil = isomerisation::equivalent_boil(&curve);
        let boiled = Alpha::FRESH.held(Temperature::from_celsius(100.0), boil);
        close(boiled.left, Alpha::FRESH.along(&curve).left, 1e-9);
    }

    #[test]
    fn turnover_stays_within_its_spread(log in logs()) {
        let turned = dms::turnover(&curve(&log));
        prop_assert!(0.0 <= turned.low && turned.low <= turned.share);
        prop_assert!(turned.share <= turned.high && turned.high <= 1.0);
    }

    #[test]
    fn time_above_a_limit_shrinks_as_the_limit_rises(
        log in logs(), limit in 0.0..105.0, more in 0.0..10.0,
    ) {
        let curve = curve(&log);
        let above = |celsius| curve.time_at_or_above(Temperature::from_celsius(celsius));
        prop_assert!(above(limit + more) <= above(limit) + TimeSpan::from_seconds(1e-6));
        prop_assert!(above(limit) <= curve.duration() + TimeSpan::from_seconds(1e-6));
        close(above(-10.0).seconds(), curve.duration().seconds(), 1e-6);
        prop_assert!(sanitation::pasteurisation_units(&curve).is_finite());
    }

    #[test]
    fn a_held_flush_is_judged_alike_by_log_and_by_coldest(
        celsius in 60.0..100.0, seconds in 1.0..400.0,
    ) {
        let (at, lasts) = (Temperature::from_celsius(celsius), TimeSpan::from_seconds(seconds));
        let verdict = sanitation::verdict(at, lasts);
        prop_assert_eq!(verdict, sanitation::verdict_of(&Curve::held(at, lasts)));
        // The stricter rule is the stricter rule.
        let strict = sanitation::meets_dairy_rule(at, lasts);
        prop_assert!(!strict || verdict == Verdict::LongEnough);
    }
}

#[test]
fn a_jump_in_temperature_costs_no_time() {
    let stepped = curve(&[(0.0, 100.0), (30.0, 100.0), (30.0, 60.0), (40.0, 60.0)]);
    assert_eq!(stepped.duration().minutes(), 40.0);
    assert_eq!(stepped.time_at_or_above(Temperature::from_celsius(80.0)).minutes(), 30.0);
}

#[test]
fn no_reading_and_one_reading_do_nothing() {
    for log in [&[][..], &[(3.0, 100.0)][..]] {
        assert_eq!(Alpha::FRESH.along(&curve(log)), Alpha::FRESH);
        assert_eq!(dms::turnover(&curve(log)).share, 0.0);
        assert_eq!(sanitation::verdict_of(&curve(log)), Verdict::TooCool);
    }
}

#[test]
fn a_log_that_runs_backwards_is_refused_by_its_place() {
    let back = Curve::new([point(0.0, 90.0), point(2.0, 80.0), point(1.0, 70.0)]);
    assert_eq!(back.clone().unwrap_err(), CurveError::GoesBack(2));
    assert_eq!(back.unwrap_err().to_string(), "temperature reading 3 is earlier than the one before it");
    let odd = Curve::new([point(0.0, f64::NAN)]);
    assert_eq!(odd.unwrap_err(), CurveError::NotANumber(0));
}
