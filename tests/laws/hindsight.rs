//! What would have helped: laws that hold whatever the chill was.

use gylebook::science::chilling::Estimate;
use gylebook::science::chilling::hindsight::{Bathed, Help, Went, gains};
use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use gylebook::science::units::{Conductance, HeatCapacity, Mass, Temperature, TimeSpan};
use proptest::prelude::*;

use super::close;

fn bath(kilograms: f64, celsius: f64, ice: f64) -> Coolant {
    let zero = Temperature::from_celsius(0.0);
    let water = Bath::of_water(Mass::from_kilograms(kilograms), Temperature::from_celsius(celsius));
    Coolant::Bath(water.with_ice(Mass::from_kilograms(ice), zero))
}

fn stage(coolant: Coolant, coil: f64, started: f64, ended: f64) -> Bathed {
    Bathed {
        coolant,
        coil: Estimate::from_watts_per_kelvin(coil, 0.03 * coil),
        stirred: None,
        flow: None,
        started: TimeSpan::from_minutes(started),
        ended: TimeSpan::from_minutes(ended),
        ice: Vec::new(),
    }
}

fn kettle() -> Kettle {
    let loss = Loss::known(Conductance::from_watts_per_kelvin(8.0), Temperature::from_celsius(20.0));
    Kettle { wort: HeatCapacity::from_kilojoules_per_kelvin(82.456), loss }
}

fn went(stages: Vec<Bathed>, target: f64) -> Went {
    Went { kettle: kettle(), from: Temperature::from_celsius(96.0), target: Temperature::from_celsius(target), stages }
}

proptest! {
    /// Nothing tried is slower than the day was, and the list is in order.
    #[test]
    fn no_change_costs_time_and_the_best_stands_first(
        coil in 60.0..180.0_f64,
        flow in 190.0..400.0_f64,
        water in 12.0..30.0_f64,
        tap in 6.0..18.0_f64,
        stays in prop::collection::vec(3.0..18.0_f64, 1..4),
        ice in 0.0..8.0_f64,
    ) {
        let mut clock = 2.0;
        let mut stages = Vec::new();
        let last = stays.len() - 1;
        for (index, stay) in stays.iter().enumerate() {
            let coolant = if index == last { bath(water / 2.0, tap, ice) } else { bath(water, tap, 0.0) };
            let flow = Some(Conductance::from_watts_per_kelvin(flow));
            stages.push(Bathed { flow, ..stage(coolant, coil, clock, clock + stay) });
            clock += stay + 0.5;
        }
        let (took, gains) = gains(&went(stages, 20.0)).expect("all of it is known");
        prop_assert!(gains.iter().all(|gain| gain.saves.seconds() >= 0.0 && gain.saves < took));
        prop_assert!(gains.windows(2).all(|pair| pair[0].saves >= pair[1].saves));
        let has = |help: Help| gains.iter().any(|gain| gain.help == help);
        prop_assert!(has(Help::BestTimes) && has(Help::Flow) && has(Help::Coil) && has(Help::Ice));
        prop_assert!(!has(Help::Stir), "no stir was seen to help");
    }
}

/// One bath: the time is the closed form's, and twice the coil in it is the closed
/// form's with the conductance of twice the coil, `ε = 1 − e^(−NTU)` [Kern-1950, ch. 18].
#[test]
fn twice_the_coil_is_worth_what_the_closed_form_says() {
    let coolant = bath(60.0, 12.0, 0.0);
    let flow = 2.5 / 60.0 * 3940.0;
    let coil = flow * (1.0 - f64::exp(-1.2));
    let twice = flow * (1.0 - f64::exp(-2.4));
    let one = Bathed { flow: Some(Conductance::from_watts_per_kelvin(flow)), ..stage(coolant, coil, 3.0, 40.0) };
    let (took, gains) = gains(&went(vec![one], 45.0)).expect("all of it is known");
    let time = |coil: f64| {
        let start = Moment { wort: Temperature::from_celsius(96.0), coolant };
        let stage = Stage::begin(start, kettle(), Conductance::from_watts_per_kelvin(coil));
        stage.reaches(Temperature::from_celsius(45.0)).expect("cold enough").seconds()
    };
    close(took.seconds(), 180.0 + time(coil), 1e-6);
    let gain = gains.iter().find(|gain| gain.help == Help::Coil).expect("the flow is known");
    close(gain.saves.seconds(), time(coil) - time(twice), 1e-6);
}

#[test]
fn a_record_that_does_not_carry_it_is_refused() {
    let known = stage(bath(18.0, 12.0, 0.0), 110.0, 2.0, 20.0);
    assert!(gains(&went(Vec::new(), 20.0)).is_none());
    let unsure = Bathed { coil: Estimate::from_watts_per_kelvin(110.0, 40.0), ..known.clone() };
    assert!(gains(&went(vec![known.clone(), unsure], 20.0)).is_none());
    // Without the flow nothing is said of pump and coil; above what it carries neither.
    let too_much = Bathed { flow: Some(Conductance::from_watts_per_kelvin(100.0)), ..known.clone() };
    for stages in [vec![known], vec![too_much]] {
        let (_, gains) = gains(&went(stages, 20.0)).expect("the rest can be told");
        assert!(gains.iter().all(|gain| !matches!(gain.help, Help::Flow | Help::Coil)), "{gains:?}");
    }
}
