//! Laws of the chill: heat is conserved, more helps more, limits are limits,
//! nothing turns into no number, and the order of entries of one second is no
//! matter. Each test names its tolerance; inputs span what a record can hold.

use gylebook::science::chilling::after_effects::{PerMinute, isomerised, turned_over};
use gylebook::science::chilling::curve::Curve;
use gylebook::science::chilling::exchange::{conductance, effectiveness, flow_heat_of_pass, ua};
use gylebook::science::chilling::fit::{Setting, fit};
use gylebook::science::chilling::forecast::{Forecast, forecast};
use gylebook::science::chilling::hold::{Rule, Verdict, verdict, verdicts};
use gylebook::science::chilling::plan::{Aim, BathAtHand, Request, plan};
use gylebook::science::chilling::series::{Act, CoolingStage, Event, Method, Reading, Series};
use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use gylebook::science::chilling::standard::standard_chill;
use gylebook::science::chilling::{Estimate, learn};
use gylebook::science::units::{Conductance, HeatCapacity, Mass, Temperature, TemperatureDifference, TimeSpan};
use proptest::prelude::*;

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value)
}

fn watts(value: f64) -> Conductance {
    Conductance::from_watts_per_kelvin(value)
}

fn minutes(value: f64) -> TimeSpan {
    TimeSpan::from_minutes(value)
}

prop_compose! {
    fn kettles()(litres in 2.0..200.0, loss in prop_oneof![Just(0.0), 0.01..30.0], room in 2.0..40.0) -> Kettle {
        Kettle {
            wort: HeatCapacity::from_kilojoules_per_kelvin(litres * 4.12),
            loss: Loss::known(watts(loss), celsius(room)),
        }
    }
}

prop_compose! {
    fn baths()(water in 0.5..200.0, at in 1.0..60.0, ice in prop_oneof![Just(0.0), 0.1..60.0], ice_at in -25.0..0.0) -> Bath {
        Bath::of_water(Mass::from_kilograms(water), celsius(at))
            .with_ice(Mass::from_kilograms(ice), celsius(ice_at))
    }
}

prop_compose! {
    fn stages()(kettle in kettles(), bath in baths(), wort in 20.0..100.0, coil in prop_oneof![Just(0.0), 1.0..2000.0])
        -> (Kettle, Moment, Conductance) {
        (kettle, Moment { wort: celsius(wort), coolant: Coolant::Bath(bath) }, watts(coil))
    }
}

fn bath_of(moment: Moment) -> Bath {
    match moment.coolant {
        Coolant::Bath(bath) => bath,
        Coolant::Stream(_) | Coolant::Room => panic!("no bath"),
    }
}

proptest! {
    /// What the wort gives is what bath and room get, to 1e-6 of the heat moved.
    #[test]
    fn heat_is_conserved((kettle, start, coil) in stages(), after in 0.0..600.0) {
        let stage = Stage::begin(start, kettle, coil);
        let (t, end) = (minutes(after), stage.at(minutes(after)));
        let given = (kettle.wort * (start.wort - end.wort)).joules();
        let to_bath = (bath_of(end).heat() - bath_of(start).heat()).joules();
        let to_room = stage.heat_to_room(t).joules();
        let moved = given.abs() + to_bath.abs() + to_room.abs();
        prop_assert!((given - to_bath - to_room).abs() <= 1e-6 * moved + 1e-6,
            "wort gave {given}, bath got {to_bath}, room got {to_room}");
        prop_assert!((stage.heat_through_coil(t).joules() - to_bath).abs() <= 1e-6 * moved + 1e-6);
    }

    /// The same for a coolant that stays as it is.
    #[test]
    fn heat_is_conserved_against_running_water(kettle in kettles(), wort in 20.0..100.0, inlet in 1.0..30.0, coil in 0.0..2000.0, after in 0.0..600.0) {
        let start = Moment { wort: celsius(wort), coolant: Coolant::Stream(celsius(inlet)) };
        let stage = Stage::begin(start, kettle, watts(coil));
        let given = (kettle.wort * (start.wort - stage.at(minutes(after)).wort)).joules();
        let (coil, room) = (stage.heat_through_coil(minutes(after)), stage.heat_to_room(minutes(after)));
        let moved = given.abs() + coil.joules().abs() + room.joules().abs();
        prop_assert!((given - coil.joules() - room.joules()).abs() <= 1e-6 * moved + 1e-6);
    }

    /// A stage cut in two runs as one: 1e-6 K, 1e-6 of the bath's heat.
    #[test]
    fn a_stage_goes_on_where_it_was((kettle, start, coil) in stages(), first in 0.0..120.0, second in 0.0..120.0) {
        let whole = Stage::begin(start, kettle, coil).at(minutes(first + second));
        let half = Stage::begin(start, kettle, coil).at(minutes(first));
        let both = Stage::begin(half, kettle, coil).at(minutes(second));
        prop_assert!((whole.wort - both.wort).kelvins().abs() < 1e-6, "{whole:?} {both:?}");
        let scale = bath_of(start).mass().kilograms() * 4e5;
        prop_assert!((bath_of(whole).heat() - bath_of(both).heat()).joules().abs() < 1e-6 * scale);
    }

    /// Between the coldest and the hottest there is; numbers throughout.
    #[test]
    fn wort_stays_between_its_neighbours((kettle, start, coil) in stages(), after in 0.0..10_000.0) {
        let end = Stage::begin(start, kettle, coil).at(minutes(after));
        let sides = [start.wort, bath_of(start).temperature(), kettle.loss.room];
        let low = sides.into_iter().reduce(Temperature::min).unwrap();
        let high = sides.into_iter().reduce(Temperature::max).unwrap();
        prop_assert!(end.wort >= low - TemperatureDifference::from_kelvins(1e-6));
        prop_assert!(end.wort <= high + TemperatureDifference::from_kelvins(1e-6));
        prop_assert!(bath_of(end).temperature().celsius().is_finite());
        prop_assert!(bath_of(end).ice() >= Mass::ZERO);
    }

    /// A better coil, a larger bath, more ice: colder wort at any time (1e-9 K),
    /// where the bath is colder than the wort and the room no part of it.
    #[test]
    fn more_helps_more((kettle, start, coil) in stages(), more in 1.0..3.0, after in 0.1..300.0) {
        let kettle = Kettle { loss: Loss::none(), ..kettle };
        let bath = bath_of(start);
        // Ice at 0 °C would warm a block that is colder than that.
        prop_assume!(bath.temperature() < start.wort && bath.temperature() >= Temperature::ICE_POINT);
        let wort = |start, coil| Stage::begin(start, kettle, coil).at(minutes(after)).wort;
        let as_it_is = wort(start, coil) + TemperatureDifference::from_kelvins(1e-9);
        prop_assert!(wort(start, coil * more) <= as_it_is);
        let with_ice = bath.with_ice(Mass::from_kilograms(more), celsius(0.0));
        let iced = Moment { coolant: Coolant::Bath(with_ice), ..start };
        prop_assert!(wort(iced, coil) <= as_it_is);
        let colder = Moment { wort: start.wort - TemperatureDifference::from_kelvins(more), ..start };
        prop_assert!(wort(colder, coil) <= as_it_is);
    }

    /// The time told for a target is the time it takes (1e-5 K), and a target at
    /// or below the coldest is never promised.
    #[test]
    fn a_time_told_is_kept((kettle, start, coil) in stages(), target in 0.0..100.0) {
        let stage = Stage::begin(start, kettle, coil);
        match stage.reaches(celsius(target)) {
            Some(t) => {
                let wort = stage.at(t).wort.celsius();
                prop_assert!(t == TimeSpan::ZERO && wort <= target || (wort - target).abs() < 1e-5, "{wort} for {target}");
                prop_assert!(stage.coldest().celsius() <= target + 1e-9);
            }
            None => prop_assert!(stage.coldest().celsius() >= target - 1e-9),
        }
    }

    /// With K = 0 only the room cools; with endless K wort and bath are one.
    #[test]
    fn limits_of_the_coil((kettle, start, _) in stages(), after in 0.0..300.0) {
        let alone = Stage::begin(start, kettle, Conductance::ZERO).at(minutes(after));
        prop_assert_eq!(bath_of(alone), bath_of(start));
        let quiet = Kettle { loss: Loss::none(), ..kettle };
        let one = Stage::begin(start, quiet, watts(1e9)).at(minutes(60.0));
        prop_assert!((one.wort - bath_of(one).temperature()).kelvins().abs() < 1e-3);
    }

    /// ε is below one and K below the flow's heat; UA comes back (1e-6).
    #[test]
    fn a_coil_cannot_beat_its_flow(area in 1.0..500.0, flow in 5.0..2000.0, litres in 5.0..50.0) {
        let coil = conductance(watts(area), watts(flow));
        let e = effectiveness(coil, watts(flow));
        prop_assert!((0.0..=1.0).contains(&e) && coil <= watts(area));
        if e < 0.999_999 {
            let back = ua(coil, watts(flow)).unwrap().watts_per_kelvin();
            prop_assert!((back / area - 1.0).abs() < 1e-6, "{back} for {area}");
        }
        let wort = HeatCapacity::from_kilojoules_per_kelvin(litres * 4.12);
        let floor = flow_heat_of_pass(wort, minutes(10.0));
        prop_assert!((wort.joules_per_kelvin() / floor.watts_per_kelvin() - 600.0).abs() < 1e-9);
    }

    /// The standard chill goes with 1/K, 1e-12.
    #[test]
    fn twice_the_coil_half_the_standard_chill(k in 1.0..2000.0) {
        let (one, two) = (standard_chill(watts(k)).unwrap(), standard_chill(watts(2.0 * k)).unwrap());
        prop_assert!((one / two - 2.0).abs() < 1e-12);
    }

    /// A forecast's range holds its middle, and what cannot be reached is not promised.
    #[test]
    fn a_forecast_is_in_its_range((kettle, start, coil) in stages(), se in 0.0..0.3, target in 1.0..99.0) {
        let coil = coil.max(watts(1.0));
        let coil = Estimate { conductance: coil, se: coil * se };
        let told = forecast(start, kettle, coil, TemperatureDifference::from_kelvins(0.2), celsius(target));
        match told {
            Forecast::There => prop_assert!(start.wort <= celsius(target)),
            Forecast::Reaches { after, soonest, latest } => {
                prop_assert!(soonest <= after && TimeSpan::ZERO <= soonest);
                prop_assert!(latest.is_none_or(|latest| latest >= after));
            }
            Forecast::CannotReach { limit } => prop_assert!(limit.celsius().is_finite()),
        }
    }

    /// Any readings at all: verdicts without a panic, settled only over a pass,
    /// and the verdict at a reading does not change by what comes later.
    #[test]
    fn a_hold_is_judged_by_what_was_known(steps in prop::collection::vec((0.0..6.0_f64, -3.0..3.0_f64), 0..60), pass in 1.0..15.0) {
        let (mut at, mut wort) = (0.0, 40.0);
        let readings: Vec<Reading> = steps.iter().map(|(gap, change)| {
            at += gap;
            wort += change;
            Reading { at: minutes(at), wort: celsius(wort) }
        }).collect();
        let rule = Rule::with_pass(minutes(pass));
        let all = verdicts(&readings, &rule);
        prop_assert_eq!(all.len(), readings.len());
        for (n, hold) in all.iter().enumerate() {
            prop_assert_eq!(*hold, verdict(&readings[..=n], &rule));
            if let Verdict::Settled { held, .. } = hold.verdict {
                prop_assert!(held.minutes() >= pass - 1e-9);
            }
        }
        let blind = verdict(&readings, &Rule::without_pass());
        let settled = matches!(blind.verdict, Verdict::Settled { .. });
        prop_assert!(!settled);
    }

    /// Reactions only go on: shares between 0 and 1 that add up (1e-12).
    #[test]
    fn shares_add_up(points in prop::collection::vec(0.0..105.0_f64, 2..30), k in 0.0..0.2) {
        let curve = Curve::exactly(points.iter().enumerate().map(|(i, &c)| (minutes(3.0 * i as f64), celsius(c))));
        let rate = |t: Temperature| PerMinute(k * t.celsius() / 100.0);
        let slower = |t: Temperature| PerMinute(0.3 * rate(t).0);
        let went = isomerised(&curve, rate, slower);
        for share in [went.alpha, went.iso, went.lost, turned_over(&curve, rate)] {
            prop_assert!((-1e-12..=1.0 + 1e-12).contains(&share), "{went:?}");
        }
        prop_assert!((went.alpha + went.iso + went.lost - 1.0).abs() < 1e-12);
        prop_assert!((1.0 - went.alpha - turned_over(&curve, rate)).abs() < 1e-9);
    }

    /// The cleaned curve falls to its coldest point and stays within the readings.
    #[test]
    fn a_curve_falls(points in prop::collection::vec(5.0..100.0_f64, 1..40)) {
        let read = |(i, &c): (usize, &f64)| Reading { at: minutes(i as f64), wort: celsius(c) };
        let readings: Vec<Reading> = points.iter().enumerate().map(read).collect();
        let curve = Curve::through(&readings);
        let values: Vec<f64> = readings.iter().map(|r| curve.at(r.at).unwrap().celsius()).collect();
        let coldest = values.iter().copied().fold(f64::INFINITY, f64::min);
        let end = values.iter().position(|&v| v == coldest).unwrap();
        prop_assert!(values[..=end].windows(2).all(|w| w[1] <= w[0] + 1e-9), "{values:?}");
        let (low, high) = (points.iter().copied().fold(f64::INFINITY, f64::min), points.iter().copied().fold(0.0, f64::max));
        prop_assert!(values.iter().all(|v| (low - 1e-9..=high + 1e-9).contains(v)));
        if let Some(rates) = curve.rates() {
            prop_assert!(rates.mean_k_per_min <= rates.max_k_per_min + 1e-9 && rates.mean_k_per_min > 0.0);
        }
    }

    /// The usual conductance is one of the last five or between two of them.
    #[test]
    fn usual_is_among_the_last_five(k in prop::collection::vec(20.0..300.0_f64, 1..12)) {
        let batches: Vec<Conductance> = k.iter().copied().map(watts).collect();
        let last = &k[k.len().saturating_sub(5)..];
        let usual = learn::usual(&batches).unwrap();
        let (low, high) = (last.iter().copied().fold(f64::INFINITY, f64::min), last.iter().copied().fold(0.0, f64::max));
        prop_assert!((low..=high).contains(&usual.conductance.watts_per_kelvin()));
        prop_assert!(usual.se > Conductance::ZERO);
    }
}

prop_compose! {
    fn requests()(kettle in kettles(), coil in 10.0..500.0, from in 40.0..99.0, target in 5.0..35.0,
        baths in prop::collection::vec((1.0..60.0, 1.0..30.0, prop_oneof![Just(0.0), 0.5..15.0]), 0..5),
        aim in prop_oneof![Just(Aim::Time), Just(Aim::Ice), Just(Aim::Water)], change in 0.0..5.0) -> Request {
        let kilograms = Mass::from_kilograms;
        let bath = |(water, at, ice): (f64, f64, f64)| BathAtHand { water: kilograms(water), at: celsius(at), ice: kilograms(ice) };
        Request {
            kettle, wort: celsius(from), target: celsius(target), coil: watts(coil), pass: None,
            baths: baths.into_iter().map(bath).collect(), ice_available: None, change: minutes(change), aim,
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// A plan that says it gets there does (1e-3 K), in turns that follow on one
    /// another; another bath never makes the least time longer (1 s).
    #[test]
    fn a_plan_is_what_it_says(request in requests()) {
        let told = plan(&request);
        if told.reaches_target {
            prop_assert!((told.end - request.target).kelvins() < 1e-3, "{told:?}");
        } else {
            prop_assert!(told.end > request.target && told.end <= request.wort);
        }
        for pair in told.stages.windows(2) {
            prop_assert!((pair[1].start - pair[0].end - request.change).abs() < TimeSpan::from_seconds(0.01));
            prop_assert!(pair[0].bath < pair[1].bath);
        }
        prop_assert!(told.stages.iter().all(|s| s.start <= s.end && s.ice_left <= s.ice + Mass::from_kilograms(1e-9)));
        let mut richer = Request { aim: Aim::Time, ..request.clone() };
        let before = plan(&richer);
        richer.baths.push(BathAtHand { water: Mass::from_kilograms(20.0), at: celsius(10.0), ice: Mass::from_kilograms(2.0) });
        let after = plan(&richer);
        if before.reaches_target {
            prop_assert!(after.reaches_target);
            prop_assert!(after.takes <= before.takes * 1.005 + TimeSpan::from_seconds(1.0), "{:?} {:?}", before.takes, after.takes);
        }
    }

    /// Readings, stages and events in any order, ties included, give one fit; and
    /// whatever is read, no figure is anything but a number.
    #[test]
    fn the_order_of_entries_is_no_matter(
        noise in prop::collection::vec(-3.0..3.0_f64, 24),
        order in Just((0..24_usize).collect::<Vec<_>>()).prop_shuffle(),
        ice in 0.1..3.0,
    ) {
        let read = |i: usize| Reading {
            at: minutes((i / 2) as f64),
            wort: celsius(98.0 - 5.0 * (i / 2) as f64 + noise[i]),
        };
        let bath = |start: f64| CoolingStage {
            started: minutes(start), ended: None, method: Method::StillBath,
            water: Some(Mass::from_kilograms(18.0)), water_at: Some(celsius(12.0)), ice: None, flow: None,
        };
        let acts = [Act::Stirred, Act::IceAdded(Mass::from_kilograms(ice)), Act::IceAdded(Mass::from_kilograms(0.5))];
        let events: Vec<Event> = acts.map(|act| Event { at: minutes(7.0), act }).into();
        let straight = Series::new((0..24).map(read).collect(), vec![bath(0.0), bath(6.0)], events.clone());
        let turned = events.into_iter().rev().collect();
        let shuffled = Series::new(order.into_iter().map(read).collect(), vec![bath(6.0), bath(0.0)], turned);
        prop_assert_eq!(&straight, &shuffled);
        let kettle = Kettle { wort: HeatCapacity::from_joules_per_kelvin(82_456.0), loss: Loss::assumed(celsius(20.0)) };
        let fitted = fit(&straight, &Setting::new(kettle, Some(minutes(8.0))));
        for stage in fitted.stages.iter().flatten() {
            prop_assert!(stage.coil.conductance.watts_per_kelvin().is_finite());
            prop_assert!(stage.coil.se.watts_per_kelvin().is_finite() && stage.coil.se > Conductance::ZERO);
            prop_assert!(stage.limit.celsius().is_finite());
        }
    }
}
