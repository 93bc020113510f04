//! Advice, forecast, limits and what a coil's record says.
//!
//! Figures come from the tables and closed forms named beside them; what is to be
//! done in a plain case is common practice, no source.

use gylebook::science::chilling::Estimate;
use gylebook::science::chilling::advice::{Advice, Hand, Move, NoAdvice, advise};
use gylebook::science::chilling::curve::Curve;
use gylebook::science::chilling::exchange::{Limit, conductance, limit};
use gylebook::science::chilling::fit::{Setting, fit, stir_gain};
use gylebook::science::chilling::forecast::Forecast;
use gylebook::science::chilling::learn::{slow_fall, usual};
use gylebook::science::chilling::live::{Live, NotYet, Source, live};
use gylebook::science::chilling::plan::BathAtHand;
use gylebook::science::chilling::series::{Act, CoolingStage, Event, Method, Reading, Series, Unknown};
use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use gylebook::science::units::{Conductance, FlowRate, HeatCapacity, Mass, Temperature, TimeSpan};

use crate::chill_tables::{celsius, iced, kilograms, minutes, reading, series, still};

fn watts(value: f64) -> Conductance {
    Conductance::from_watts_per_kelvin(value)
}

fn kettle() -> Kettle {
    Kettle { wort: HeatCapacity::from_joules_per_kelvin(82_456.3), loss: Loss::none() }
}

fn setting() -> Setting {
    Setting::new(kettle(), Some(minutes(8.0)))
}

/// 20 L from 98 °C in one bath after the other, `(stage, minutes, K)`, read every
/// minute without noise.
fn chilled(stages: &[(CoolingStage, i32, f64)]) -> Series {
    let (mut wort, mut readings) = (celsius(98.0), Vec::new());
    for (stage, lasts, coil) in stages {
        let start = Moment { wort, coolant: stage.coolant().unwrap() };
        let run = Stage::begin(start, kettle(), watts(*coil));
        for m in 0..=*lasts {
            let at = minutes(f64::from(m));
            if m < *lasts || std::ptr::eq(stage, &raw const stages[stages.len() - 1].0) {
                readings.push(Reading { at: stage.started + at, wort: run.at(at).wort });
            }
        }
        wort = run.at(minutes(f64::from(*lasts))).wort;
    }
    Series::new(readings, stages.iter().map(|s| s.0).collect(), Vec::new())
}

fn hand(target: f64, baths: &[(f64, f64, f64)]) -> Hand {
    let bath = |&(water, at, ice): &(f64, f64, f64)| BathAtHand {
        water: kilograms(water),
        at: celsius(at),
        ice: kilograms(ice),
    };
    Hand {
        target: celsius(target),
        baths: baths.iter().map(bath).collect(),
        change: minutes(1.0),
        usual: None,
        own: None,
        stirred: None,
        flow: None,
    }
}

fn advice(series: &Series, hand: &Hand) -> Result<Advice, NoAdvice> {
    advise(&live(series, &setting(), None), hand)
}

#[test]
fn no_advice_on_what_cannot_carry_it() {
    let fresh = hand(20.0, &[(18.0, 12.0, 0.0)]);
    let bath = still(0.0, 18.0, 15.0);
    let says = |series: &Series| advice(series, &fresh).unwrap_err();
    let not_yet = |why| NoAdvice::NotYet(why);
    assert_eq!(says(&Series::default()), not_yet(NotYet::NoReading));
    assert_eq!(says(&series(&[(0.0, 98.0)], vec![])), not_yet(NotYet::NoStage));
    let two = series(&[(0.0, 98.0), (2.0, 84.0)], vec![bath]);
    assert_eq!(says(&two), not_yet(NotYet::TooFewReadings { wanted: 1 }));
    let many = [(0.0, 98.0), (2.0, 84.0), (4.0, 74.0), (6.0, 67.0)];
    let unknown = series(&many, vec![CoolingStage { water_at: None, ..bath }]);
    assert_eq!(says(&unknown), not_yet(NotYet::Coolant(Unknown::WaterTemperature)));
    let over = series(&many, vec![CoolingStage { ended: Some(minutes(5.0)), ..bath }]);
    assert_eq!(says(&over), not_yet(NotYet::NoStage));
    // Three readings within seconds: a conductance, but no one would act on it.
    let hasty = series(&[(0.0, 98.0), (0.05, 97.8), (0.1, 97.4)], vec![bath]);
    assert!(matches!(says(&hasty), NoAdvice::TooUnsure(k) if k.relative_se() > 0.25));
    assert!(advice(&series(&many, vec![bath]), &fresh).is_ok());
}

/// With the coil's record a single reading carries a forecast.
#[test]
fn the_coils_record_stands_in_for_readings() {
    let one = series(&[(0.0, 98.0)], vec![still(0.0, 60.0, 12.0)]);
    let record = Estimate::from_watts_per_kelvin(154.0, 6.0);
    let now: Live = live(&one, &setting(), Some(record)).unwrap();
    assert_eq!(now.source, Source::Usual);
    assert!((now.coil.conductance.watts_per_kelvin() - 154.0).abs() < 1.0, "{now:?}");
    assert!(now.coil.se > record.se, "another day is less sure than the record");
    assert!(matches!(now.forecast(celsius(50.0)), Forecast::Reaches { .. }));
}

#[test]
fn a_spent_bath_is_left_and_a_fresh_one_is_not() {
    let fresh = hand(25.0, &[(18.0, 15.0, 0.0), (12.0, 15.0, 6.0)]);
    let spent = chilled(&[(still(0.0, 18.0, 15.0), 12, 154.0)]);
    let Move::ChangeNow { to: 0, after, saves: None } = advice(&spent, &fresh).unwrap().coil else {
        panic!("{:?}", advice(&spent, &fresh));
    };
    assert!((8.0..20.0).contains(&after.minutes()), "{after:?}");
    let early = chilled(&[(still(0.0, 18.0, 15.0), 2, 154.0)]);
    let Move::Stay { change: Some(change), saves: Some(saves), .. } = advice(&early, &fresh).unwrap().coil else {
        panic!("{:?}", advice(&early, &fresh));
    };
    assert!((1.0..6.0).contains(&change.after.minutes()) && change.to == 0, "{change:?}");
    assert!(saves > TimeSpan::ZERO);
    // A bath that gets there by itself in a minute is not left for another.
    let nearly = chilled(&[(still(0.0, 200.0, 10.0), 20, 154.0)]);
    let close = hand(nearly.readings()[20].wort.celsius() - 1.0, &[(18.0, 10.0, 0.0)]);
    assert!(matches!(advice(&nearly, &close).unwrap().coil, Move::Stay { change: None, .. }));
    let done = hand(90.0, &[]);
    assert_eq!(advice(&spent, &done).unwrap().coil, Move::Done);
}

/// 18 kg at 15 °C can never take 20 L below 58.369 °C (`12_equilibrium.csv`).
#[test]
fn what_the_baths_cannot_do_is_said_with_the_ice_it_would_take() {
    let spent = chilled(&[(still(0.0, 18.0, 15.0), 12, 154.0)]);
    let said = advice(&spent, &hand(20.0, &[])).unwrap();
    let Move::FallsShort { coldest, ice_needed: Some(ice) } = said.coil else { panic!("{said:?}") };
    assert!((coldest.celsius() - 58.369).abs() < 0.05, "{coldest:?}");
    // Heat from the equilibrium down to 20 °C, the ice's own water included.
    let heat = (82_456.3 + 18.0 * 4186.0) * (58.369 - 20.0);
    let want = heat / (333_430.0 + 4186.0 * 20.0);
    assert!((ice.kilograms() - want).abs() < 0.05, "{ice:?} for {want:.3}");
    assert_eq!(said.ice.and_then(|i| i.would_just_do), Some(ice));
}

#[test]
fn ice_left_by_the_balance() {
    let chill = chilled(&[(still(0.0, 60.0, 12.0), 12, 154.0), (iced(12.0, 12.0, 12.0, 6.0), 3, 154.0)]);
    let ice = advice(&chill, &hand(10.0, &[])).unwrap().ice.unwrap();
    let start = Moment { wort: chill.readings()[12].wort, coolant: chill.stages()[1].coolant().unwrap() };
    let Coolant::Bath(bath) = Stage::begin(start, kettle(), watts(154.0)).at(minutes(3.0)).coolant else {
        panic!("a bath");
    };
    assert!((ice.left - bath.ice()).abs() < kilograms(0.05), "{ice:?} {:?}", bath.ice());
    assert!(ice.left > Mass::ZERO && ice.left < kilograms(6.0));
}

/// `12_running_water_coil.csv` and science of the same: 20 L from 98 °C with tap
/// water of 12 °C and 250 W/K of coil takes 15.72 min and 62.9 L at 4 L/min,
/// 22.33 min and 44.7 L at half of it. Tolerance 1 %.
#[test]
fn cost_of_running_water() {
    let flow = FlowRate::from_litres_per_minute(4.0);
    let coil = conductance(watts(250.0), watts(4.0 / 60.0 * 4186.0));
    let now = Live {
        at: TimeSpan::ZERO,
        moment: Moment { wort: celsius(98.0), coolant: Coolant::Stream(celsius(12.0)) },
        wort_se: setting().noise,
        coil: Estimate { conductance: coil, se: watts(3.0) },
        source: Source::ThisStage,
        kettle: kettle(),
    };
    let hand = Hand { flow: Some(flow), ..hand(25.0, &[]) };
    let cost = advise(&Ok(now), &hand).unwrap().water.unwrap();
    let near = |got: f64, want: f64| assert!((got / want - 1.0).abs() < 0.01, "{got} for {want}");
    near(cost.after.minutes(), 15.72);
    near(cost.water.litres(), 62.9);
    let (half, litres) = cost.at_half_flow.unwrap();
    near(half.minutes(), 22.33);
    near(litres.litres(), 44.7);
}

#[test]
fn what_limits_a_chill() {
    let bath = |mass: f64| Moment {
        wort: celsius(98.0),
        coolant: Coolant::Bath(Bath::of_water(kilograms(mass), celsius(12.0))),
    };
    let of = |mass, ua, flow, lasts| {
        let coil = conductance(watts(ua), watts(flow));
        limit(bath(mass), kettle(), coil, Some(watts(flow)), minutes(lasts), None)
    };
    assert_eq!(of(18.0, 250.0, 200.0, 30.0), Limit::Bath);
    assert_eq!(of(500.0, 900.0, 150.0, 8.0), Limit::Flow);
    assert_eq!(of(500.0, 60.0, 300.0, 8.0), Limit::Coil);
    assert_eq!(limit(bath(500.0), kettle(), watts(80.0), None, minutes(8.0), None), Limit::Unknown);
    let (slow, fast) = (Estimate::from_watts_per_kelvin(80.0, 4.0), Estimate::from_watts_per_kelvin(120.0, 5.0));
    assert_eq!(limit(bath(500.0), kettle(), watts(80.0), None, minutes(8.0), Some((slow, fast))), Limit::Stirring);
}

/// Half as much again after a stir, found as such; and with the coil's record a
/// stage that is slow calls for one.
#[test]
fn a_stir_that_helped() {
    let ice = iced(0.0, 14.0, 12.0, 10.0);
    let start = Moment { wort: celsius(60.0), coolant: ice.coolant().unwrap() };
    let slow = Stage::begin(start, kettle(), watts(80.0));
    let fast = Stage::begin(slow.at(minutes(8.0)), kettle(), watts(120.0));
    let wort = |m: i32| if m < 8 { slow.at(minutes(f64::from(m))) } else { fast.at(minutes(f64::from(m - 8))) }.wort;
    let readings = |until: i32| (0..=until).map(|m| Reading { at: minutes(f64::from(m)), wort: wort(m) }).collect();
    let stirred = Event { at: minutes(8.0), act: Act::Stirred };
    let whole = Series::new(readings(16), vec![ice], vec![stirred]);
    let (before, after) = stir_gain(&whole, &setting(), 0).expect("eight readings on both sides");
    assert!((before.conductance.watts_per_kelvin() - 80.0).abs() < 1.0, "{before:?}");
    assert!((after.conductance.watts_per_kelvin() - 120.0).abs() < 2.0, "{after:?}");
    assert!(stir_gain(&Series::new(readings(16), vec![ice], vec![]), &setting(), 0).is_none());

    let unstirred = Series::new(readings(7), vec![ice], vec![]);
    let own = fit(&unstirred, &setting()).stages[0].as_ref().unwrap().coil;
    let usual = Estimate::from_watts_per_kelvin(120.0, 5.0);
    let hand = Hand { usual: Some(usual), own: Some(own), ..hand(20.0, &[]) };
    let stir = advise(&live(&unstirred, &setting(), Some(usual)), &hand).unwrap().stir.expect("a stir");
    assert!(stir.saves.is_some_and(|t| t > minutes(1.0)), "{stir:?}");
    let as_usual = Hand { own: Some(usual), ..hand };
    assert!(advise(&live(&unstirred, &setting(), Some(usual)), &as_usual).unwrap().stir.is_none());
}

/// The coil is out for a minute before each next stage: told so, the fit finds
/// the conductance; not told, it finds less (tolerance 0.5 %).
#[test]
fn the_minute_of_a_change() {
    let baths = [still(0.0, 18.0, 15.0), still(9.0, 18.0, 15.0)];
    let first =
        Stage::begin(Moment { wort: celsius(98.0), coolant: baths[0].coolant().unwrap() }, kettle(), watts(154.0));
    let out = first.at(minutes(8.0)).wort;
    let second = Stage::begin(Moment { wort: out, coolant: baths[1].coolant().unwrap() }, kettle(), watts(154.0));
    let early = (0..8).map(|m| Reading { at: minutes(f64::from(m)), wort: first.at(minutes(f64::from(m))).wort });
    let late = (0..8).map(|m| Reading { at: minutes(f64::from(m + 9)), wort: second.at(minutes(f64::from(m))).wort });
    let series = Series::new(early.chain(late).collect(), baths.to_vec(), Vec::new());
    let k = |series: &Series| {
        let joint = fit(series, &setting()).joint.unwrap();
        joint.coil.conductance.watts_per_kelvin()
    };
    let told = k(&series.clone().with_changes_of(minutes(1.0)));
    assert!((told / 154.0 - 1.0).abs() < 0.005, "{told}");
    assert!(k(&series) < 0.985 * told, "{} and {told}", k(&series));
}

/// Kendall's exact null: of the 120 orders of five, 5 have at most one rising
/// pair (Kendall, Rank Correlation Methods, appendix table 1: P = 0.042).
#[test]
fn a_coil_that_slowly_gets_worse() {
    let k = |values: &[f64]| values.iter().copied().map(watts).collect::<Vec<_>>();
    let falling = slow_fall(&k(&[160.0, 155.0, 156.0, 149.0, 145.0])).expect("one pair rises");
    assert!((falling.by_chance - 5.0 / 120.0).abs() < 1e-9, "{falling:?}");
    assert!((0.01..0.04).contains(&falling.per_batch), "{falling:?}");
    assert!(slow_fall(&k(&[160.0, 155.0, 158.0, 162.0, 145.0])).is_none());
    assert!(slow_fall(&k(&[145.0, 149.0, 155.0, 160.0])).is_none());
    assert!(slow_fall(&k(&[160.0, 150.0, 140.0])).is_none(), "three fall by chance once in six");
    let odd_day = usual(&k(&[100.0, 151.0, 149.0, 150.0, 90.0, 152.0])).unwrap();
    assert_eq!(odd_day.conductance, watts(150.0));
    assert!(usual(&[]).is_none());
}

/// One misread value and a passing dip move no crossing by more than the fall of
/// half a minute.
#[test]
fn a_curve_shrugs_off_noise() {
    let truth = |m: f64| 12.0 + 86.0 * (-m / 10.0).exp();
    let mut readings: Vec<Reading> = (0..40).map(|m| reading(f64::from(m), truth(f64::from(m)))).collect();
    let crossing = |readings: &[Reading], c: f64| Curve::through(readings).falls_to(celsius(c)).unwrap().minutes();
    let exact = |c: f64| -10.0 * ((c - 12.0) / 86.0_f64).ln();
    for c in [80.0, 60.0, 30.0] {
        assert!((crossing(&readings, c) - exact(c)).abs() < 0.03);
    }
    readings[9].wort = celsius(7.0);
    readings[15].wort += celsius(2.0) - celsius(0.0);
    readings[20].wort = celsius(truth(20.0) - 3.0);
    for c in [80.0, 60.0, 30.0] {
        assert!((crossing(&readings, c) - exact(c)).abs() < 0.5, "{c}: {}", crossing(&readings, c));
    }
    assert!(Curve::through(&readings[5..]).falls_to(celsius(80.0)).is_none(), "below before the first reading");
    let rates = Curve::through(&readings).rates().unwrap();
    // From 98 to 13.7 °C in 39 min; 7.8 K/min over the first two minutes.
    assert!((rates.mean_k_per_min - 2.16).abs() < 0.03, "{rates:?}");
    assert!((rates.max_k_per_min - 7.8).abs() < 0.1, "{rates:?}");
}

/// Left in the room the wort goes on to the room's temperature and no further.
#[test]
fn a_forecast_in_air() {
    let room: Temperature = celsius(18.0);
    let kettle = Kettle { loss: Loss::known(watts(7.0), room), ..kettle() };
    let alone = Stage::begin(Moment { wort: celsius(60.0), coolant: Coolant::Room }, kettle, watts(7.0));
    let at = |n: i32| minutes(10.0 * f64::from(n));
    let readings = (0..8).map(|n| Reading { at: at(n), wort: alone.at(at(n)).wort }).collect();
    let air = CoolingStage { method: Method::Air, water: None, water_at: None, ..still(0.0, 1.0, 1.0) };
    let series = Series::new(readings, vec![air], Vec::new());
    let now = live(&series, &Setting::new(kettle, None), None).unwrap();
    assert!((now.coil.conductance.watts_per_kelvin() - 7.0).abs() < 0.2, "{now:?}");
    assert!(matches!(now.forecast(celsius(16.0)), Forecast::CannotReach { limit } if limit == room));
}
