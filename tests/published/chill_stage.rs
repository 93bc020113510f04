//! Closed forms of the stages against an independent integration.
//!
//! Source of every table here: the two-lump heat balance of a coil in a bath
//! (Kern, Process Heat Transfer, ch. 18; Incropera & DeWitt, ch. 11) solved with
//! scipy's DOP853 at a relative tolerance of 1e-11; notes are on top of the
//! tables. Tolerance 0.01 K, which is the tables' own.

use gylebook::science::chilling::exchange::{conductance, effectiveness};
use gylebook::science::chilling::fit::{Setting, Start, fit};
use gylebook::science::chilling::remedies::ice_that_just_does;
use gylebook::science::chilling::series::Series;
use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use gylebook::science::chilling::standard::standard_chill;
use gylebook::science::units::{Conductance, HeatCapacity, TemperatureDifference, TimeSpan};

use crate::chill_tables::{celsius, kilograms, minutes, number, reading, rows, still, told};

fn watts(value: f64) -> Conductance {
    Conductance::from_watts_per_kelvin(value)
}

/// Wort of 12 °P as the tables take it: 1.0464 kg/L, 3.94 kJ/(kg·K).
fn wort(litres: f64) -> HeatCapacity {
    HeatCapacity::from_kilojoules_per_kelvin(litres * 1.0464 * 3.94)
}

fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: {got:.5}, the table has {want:.5}");
}

fn bath_of(moment: Moment) -> Bath {
    match moment.coolant {
        Coolant::Bath(bath) => bath,
        Coolant::Stream(_) | Coolant::Room => panic!("no bath"),
    }
}

#[test]
fn ten_scenarios_minute_by_minute() {
    let series = rows(include_str!("values/12_chill_series.csv"));
    let ends = rows(include_str!("values/12_chill_stage_ends.csv"));
    let mut checked = 0;
    for scenario in rows(include_str!("values/12_chill_scenarios.csv")) {
        let name = &scenario[0];
        let kettle = Kettle {
            wort: HeatCapacity::from_kilojoules_per_kelvin(number(&scenario[9])),
            loss: Loss::known(watts(number(&scenario[10])), celsius(number(&scenario[11]))),
        };
        let coil = watts(number(&scenario[8]));
        let mut moment = Moment { wort: celsius(number(&scenario[4])), coolant: Coolant::Room };
        let mut clock = TimeSpan::ZERO;
        for (i, told) in told(&scenario[12]).into_iter().enumerate() {
            moment.coolant = told.coolant;
            let stage = Stage::begin(moment, kettle, coil);
            let number_of = (i + 1).to_string();
            let mine = |row: &&Vec<String>| row[0] == *name && row[1] == number_of;
            for row in series.iter().filter(mine) {
                let what = format!("{name} stage {number_of} at {} s", row[2]);
                let at = stage.at(TimeSpan::from_seconds(number(&row[2])) - clock);
                close(&what, at.wort.celsius(), number(&row[3]), 0.01);
                close(&what, bath_of(at).temperature().celsius(), number(&row[4]), 0.01);
                close(&what, bath_of(at).ice().kilograms(), number(&row[6]), 0.01);
                checked += 1;
            }
            let end = ends.iter().find(mine).expect("an end for each stage");
            if !end[6].is_empty() {
                close(&format!("{name} limit"), stage.coldest().celsius(), number(&end[6]), 0.01);
            }
            if !end[8].is_empty() {
                let gone = clock + stage.ice_gone().expect("the table's ice melts");
                close(&format!("{name} ice gone"), gone.seconds(), number(&end[8]), 0.1);
            }
            moment = stage.at(told.lasts);
            clock = clock + told.lasts;
        }
    }
    assert!(checked > 500, "only {checked} rows were compared");
}

#[test]
fn sixty_enthalpy_balances() {
    for row in rows(include_str!("values/12_equilibrium.csv")) {
        let [litres, hot, water, cold, ice, want, left] = [0, 1, 2, 3, 4, 5, 6].map(|i| number(&row[i]));
        let bath = Bath::of_water(kilograms(water), celsius(cold)).with_ice(kilograms(ice), celsius(0.0));
        let start = Moment { wort: celsius(hot), coolant: Coolant::Bath(bath) };
        let kettle = Kettle { wort: wort(litres), loss: Loss::none() };
        let stage = Stage::begin(start, kettle, watts(150.0));
        close(&format!("{row:?}"), stage.coldest().celsius(), want, 0.01);
        let rest = bath_of(stage.at(minutes(6000.0)));
        close(&format!("{row:?}"), rest.ice().kilograms(), left, 0.01);
    }
}

#[test]
fn least_ice_by_enthalpy() {
    for row in rows(include_str!("values/12_ice_need.csv")) {
        let [litres, from, to, water, cold, least] = [0, 1, 2, 3, 4, 5].map(|i| number(&row[i]));
        let bath = Bath::of_water(kilograms(water), celsius(cold));
        let now = Moment { wort: celsius(from), coolant: Coolant::Bath(bath) };
        let kettle = Kettle { wort: wort(litres), loss: Loss::none() };
        let ice = ice_that_just_does(now, kettle, watts(150.0), celsius(to)).expect("ice does it");
        close(&format!("{row:?}"), ice.kilograms(), least, 0.01);
    }
}

#[test]
fn running_water_through_a_coil() {
    for row in rows(include_str!("values/12_running_water_coil.csv")) {
        let [litres, from, tap, flow, ua] = [0, 1, 2, 3, 4].map(|i| number(&row[i]));
        // The table's stream: 1 kg per litre at 4.186 kJ/(kg·K).
        let stream = watts(flow / 60.0 * 4186.0);
        let coil = conductance(watts(ua), stream);
        close("effectiveness", effectiveness(coil, stream), number(&row[6]), 1e-5);
        let start = Moment { wort: celsius(from), coolant: Coolant::Stream(celsius(tap)) };
        let stage = Stage::begin(start, Kettle { wort: wort(litres), loss: Loss::none() }, coil);
        for (column, after) in [(8, 10.0), (9, 20.0), (10, 30.0), (11, 40.0), (12, 60.0)] {
            let got = stage.at(minutes(after)).wort.celsius();
            close(&format!("{row:?} after {after} min"), got, number(&row[column]), 0.01);
        }
        let to_25 = stage.reaches(celsius(25.0)).expect("every tap is colder");
        close(&format!("{row:?} to 25 °C"), to_25.minutes(), number(&row[13]), 0.01);
        close(&format!("{row:?} litres"), to_25.minutes() * flow, number(&row[14]), 0.1);
    }
}

/// Losses left out of the fit make the coil look better than it is, by as much
/// as the table says; tolerance 0.3 points, for the fit also finds the start.
#[test]
fn a_fit_without_losses_is_wrong_by_what_the_table_says() {
    let mut compared = 0;
    for row in rows(include_str!("values/12_loss_bias.csv")) {
        let [air, pan, start] = [0, 1, 2].map(|i| number(&row[i]));
        if pan > 0.0 {
            continue; // evaporation is not in this model
        }
        let room = celsius(20.0);
        let truth = Kettle { wort: wort(20.0), loss: Loss::known(watts(air), room) };
        let bath = Bath::of_water(kilograms(18.0), celsius(15.0));
        let first = Moment { wort: celsius(start), coolant: Coolant::Bath(bath) };
        let stage = Stage::begin(first, truth, watts(154.036));
        let readings = (0..=10).map(|m| reading(f64::from(m), stage.at(minutes(f64::from(m))).wort.celsius()));
        let series = Series::new(readings.collect(), vec![still(0.0, 18.0, 15.0)], Vec::new());
        // Plain least squares from a known start, as the table has it: a noise so
        // broad that the robust loss doubts nothing.
        let plain = |kettle: Kettle| Setting {
            noise: TemperatureDifference::from_kelvins(5.0),
            start: Start::Pinned(first.wort, TemperatureDifference::from_kelvins(0.001)),
            ..Setting::new(kettle, None)
        };
        let blind = plain(Kettle { loss: Loss::none(), ..truth });
        let found = |setting: &Setting| {
            let fitted = fit(&series, setting).stages.remove(0).expect("eleven readings");
            (fitted.coil.conductance.watts_per_kelvin() / 154.036 - 1.0) * 100.0
        };
        close(&format!("{row:?}"), found(&blind), number(&row[4]), 0.3);
        close(&format!("{row:?}, loss known"), found(&plain(truth)), 0.0, 0.01);
        compared += 1;
    }
    assert_eq!(compared, 9);
}

/// The standard chill is the running-water stage it is defined by; 1e-6 s.
#[test]
fn standard_chill_by_the_stage_it_is_made_of() {
    // 20 L × 1.0464 kg/L × 3.94 kJ/(kg·K), 95 to 20 °C against 12 °C.
    let kettle = Kettle { wort: wort(20.0), loss: Loss::none() };
    for k in [40.0, 154.036, 300.0] {
        let start = Moment { wort: celsius(95.0), coolant: Coolant::Stream(celsius(12.0)) };
        let by_stage = Stage::begin(start, kettle, watts(k)).reaches(celsius(20.0));
        let told = standard_chill(watts(k)).unwrap();
        close("standard chill", told.seconds(), by_stage.unwrap().seconds(), 1e-6);
    }
    assert!(standard_chill(Conductance::ZERO).is_none());
}

/// A bath left for ever has been used up, and in the first minutes in proportion
/// to its heat: scenario A, where `12_chill_series.csv` has the bath at 8, 32.3266
/// and in the end 39.829 °C.
#[test]
fn share_of_the_bath_used() {
    let bath = Bath::of_water(kilograms(18.0), celsius(8.0));
    let start = Moment { wort: celsius(98.0), coolant: Coolant::Bath(bath) };
    let kettle = Kettle { wort: wort(10.0), loss: Loss::none() };
    let stage = Stage::begin(start, kettle, watts(128.363));
    let used = |m: f64| stage.bath_used(minutes(m)).unwrap();
    close("after 5 min", used(5.0), (32.3266 - 8.0) / (39.829 - 8.0), 1e-4);
    close("in the end", used(600.0), 1.0, 1e-9);
}
