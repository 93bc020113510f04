//! Balances worked by hand, from the sugar table's densities at 20 °C (SG 20/20
//! times 0.99823 kg/L): 9.5 °P 1.0363, 11 °P 1.0424, 12 °P 1.0465, 13 °P 1.0507.

use serde_json::json;

use super::*;
use crate::brewday::plan::Habits;
use crate::brewday::testing::Day;

/// 20 L at 12 °P, 1 L left behind, 3 L/h off, an hour's boil.
const AIM: Aim = Aim {
    into_fermenter: Volume::from_litres(20.0),
    strength: Plato::from_degrees(12.0),
    kettle_loss: Volume::from_litres(1.0),
    boil_off: FlowRate::from_litres_per_hour(3.0),
    boil: TimeSpan::from_minutes(60.0),
    brim: None,
};

fn reading(litres: f64, plato: f64) -> KettleReading {
    let sg = gravity::specific_gravity(Plato::from_degrees(plato)).ratio();
    KettleReading { volume: Measured::new(litres, 0.15), gravity: Measured::new(sg, 0.0006) }
}

fn near(is: f64, wanted: f64, within: f64) {
    assert!((is - wanted).abs() < within, "{is} is not {wanted}");
}

/// Every remedy ends at the planned gravity; gives (act, litres into the fermenter).
fn acts(told: &Correction) -> Vec<(Act, f64)> {
    for remedy in &told.remedies {
        near(remedy.gives.gravity.ratio(), told.planned.gravity.ratio(), 1e-5);
    }
    told.remedies.iter().map(|remedy| (remedy.act, remedy.gives.into_fermenter.litres())).collect()
}

#[test]
fn a_weak_wort_is_boiled_longer_or_given_extract() {
    // 26 L × 1.0363 = 26.944 kg, of it 2.5597 kg of extract.
    let told = Correction::before_boil(reading(26.0, 9.5), &[], &AIM);
    assert_eq!(told.verdict, Verdict::Weak);
    // Boiled as planned: 23 L that hold the same.
    near(told.as_it_is.into_fermenter.litres(), 22.0, 1e-9);
    let told = acts(&told);
    // At 12 °P it weighs 21.331 kg: 20.383 L, after 5.617 L or 112.3 min.
    let (Act::BoilLonger(by), litres) = told[0] else { panic!("{told:?}") };
    near(by.minutes(), 52.3, 0.3);
    near(litres, 19.38, 0.02);
    // 23 L at 10.69 °P weigh 23.95 kg: (0.12 × 23.95 − 2.5597)/(0.97 − 0.12) = 0.370 kg.
    let (Act::AddExtract(mass), litres) = told[1] else { panic!("{told:?}") };
    near(mass.kilograms(), 0.370, 0.003);
    near(litres, 22.24, 0.02);
}

#[test]
fn a_strong_wort_is_boiled_shorter_or_given_water() {
    // 26 L × 1.0424 = 27.102 kg, of it 2.9813 kg of extract; at 12 °P 24.844 kg or 23.740 L.
    let told = acts(&Correction::before_boil(reading(26.0, 11.0), &[], &AIM));
    let shorter = told.iter().find_map(|(act, litres)| match act {
        Act::BoilShorter(by) => Some((by.minutes(), *litres)),
        _ => None,
    });
    let (by, litres) = shorter.expect("a quarter may be left out");
    near(by, 60.0 - 45.2, 0.3);
    near(litres, 22.74, 0.02);
    // 23 L at 12.37 °P weigh 24.106 kg: 0.738 kg of water.
    let water = told.iter().find_map(|(act, _)| match act {
        Act::AddWater(volume) => Some(volume.litres()),
        _ => None,
    });
    near(water.expect("water always helps"), 0.74, 0.01);
}

#[test]
fn a_boil_is_neither_cut_by_half_nor_doubled() {
    let acts_of = |plato| acts(&Correction::before_boil(reading(26.0, plato), &[], &AIM));
    assert!(matches!(acts_of(11.5)[..], [(Act::AddWater(_), _)]), "37 min of 60 would be left out");
    assert!(matches!(acts_of(9.0)[..], [(Act::AddExtract(_), _)]), "75 min would be added");
}

#[test]
fn sugar_still_to_come_counts() {
    // 1 kg of sugar in 26 L of 9.5 °P: 3.5597 kg of extract in 27.944 kg. No longer weak.
    let sugar = Fermentable { mass: Mass::from_kilograms(1.0), dry_yield: 1.0, moisture: 0.0 };
    let told = Correction::before_boil(reading(26.0, 9.5), &[sugar], &AIM);
    assert_eq!(told.verdict, Verdict::Strong);
    // 27.944 kg less an hour's 3 L: about 24.95 kg of 14.27 °P, SG 1.058.
    near(told.as_it_is.gravity.ratio(), 1.0582, 0.0004);
}

#[test]
fn after_the_boil_it_boils_again_only_until_the_coil_is_in() {
    let weak = |read| acts(&Correction::after_boil(reading(21.0, 11.0), read, &AIM));
    // 21 L × 1.0424 = 21.890 kg with 2.4079 kg; at 12 °P 20.066 kg or 19.174 L: 36.5 min.
    let told = weak(Read::AfterFlameOut);
    let again = told.iter().find_map(|(act, _)| match act {
        Act::BoilOn(lasts) => Some(lasts.minutes()),
        _ => None,
    });
    near(again.expect("the kettle can be lit again"), 36.5, 0.3);
    assert!(matches!(weak(Read::Chilling)[..], [(Act::AddExtract(_), _)]));
    // 20 L × 1.0507 = 21.014 kg with 2.7318 kg; at 12 °P 22.765 kg: 1.751 kg of water.
    let strong = acts(&Correction::after_boil(reading(20.0, 13.0), Read::Chilling, &AIM));
    let [(Act::AddWater(water), litres)] = strong[..] else { panic!("{strong:?}") };
    near(water.litres(), 1.754, 0.003);
    near(litres, 20.75, 0.02);
}

#[test]
fn what_the_readings_cannot_tell_apart_is_on_target() {
    // The boil draws 25 L together to 22: the hydrometer's 0.0006 becomes 0.0006 × 25/22 = 0.00068,
    // and twice that is 0.0014. The volume's share all but cancels.
    let verdict_at = |plato| Correction::before_boil(reading(25.0, plato), &[], &AIM).verdict;
    // 22 L with the extract of 25 L: 10.62 °P gives 12 °P.
    assert_eq!(verdict_at(10.62), Verdict::OnTarget);
    assert_eq!(verdict_at(10.35), Verdict::OnTarget, "0.0012 below, inside twice 0.00068");
    assert_eq!(verdict_at(10.0), Verdict::Weak);
    assert_eq!(verdict_at(11.2), Verdict::Strong);
    let on_target = Correction::before_boil(reading(25.0, 10.62), &[], &AIM);
    near(on_target.gravity_se, 0.00068, 0.00001);
    assert!(on_target.remedies.is_empty());
}

#[test]
fn what_the_kettle_cannot_hold_comes_last_and_says_by_how_much() {
    // 26 L of 11 °P and 0.74 L of water are 26.74 L cold, and 26.74/0.9601 = 27.85 L at the boil.
    let told = |brim| {
        let aim = Aim { brim: Some(Volume::from_litres(brim)), ..AIM };
        Correction::before_boil(reading(26.0, 11.0), &[], &aim).remedies
    };
    let over = |told: &[Remedy]| told.iter().map(|one| one.runs_over.map(|over| over.hot.litres())).collect::<Vec<_>>();
    assert_eq!(over(&told(27.9)), [None, None]);
    let small = told(27.8);
    assert!(matches!(small[..], [Remedy { act: Act::BoilShorter(_), .. }, Remedy { act: Act::AddWater(_), .. }]));
    let [None, Some(hot)] = over(&small)[..] else { panic!("{small:?}") };
    near(hot, 27.85, 0.02);
    // Extract takes room too: 0.370 kg of it in 26 L of 9.5 °P, about 0.23 L more, and 27.32 L at the boil.
    let weak = |brim| {
        let aim = Aim { brim: Some(Volume::from_litres(brim)), ..AIM };
        over(&Correction::before_boil(reading(26.0, 9.5), &[], &aim).remedies)
    };
    assert_eq!(weak(27.4), [None, None]);
    let [None, Some(hot)] = weak(27.2)[..] else { panic!("{:?}", weak(27.2)) };
    near(hot, 27.32, 0.02);
}

fn of(day: &Day) -> Option<Correction> {
    let day = day.fold();
    Correction::of(&day, &DayPlan::of_batch(&day.batch, Habits::default()))
}

fn log_kettle(day: &mut Day, minutes: f64, point: &str, litres: f64, sg: f64) {
    day.at(minutes, json!({"kind": "volume", "point": point, "volume_l": litres, "temperature_c": 20}));
    let gravity =
        json!({"kind": "gravity", "point": point, "instrument": "hydrometer", "reading": sg, "temperature_c": 20});
    day.at(minutes, gravity);
}

#[test]
fn the_day_says_which_reading_counts_and_for_how_long() {
    let mut day = Day::new();
    assert_eq!(of(&day), None, "nothing is read yet");
    log_kettle(&mut day, 90.0, "pre_boil", 26.0, 1.032);
    assert_eq!(of(&day).map(|told| (told.read, told.verdict)), Some((Read::BeforeBoil, Verdict::Weak)));
    day.at(100.0, json!({"kind": "boil_started"}));
    assert_eq!(of(&day).map(|told| told.read), Some(Read::BeforeBoil), "it still can be boiled longer");
    day.at(160.0, json!({"kind": "flame_out"}));
    assert_eq!(of(&day), None, "what was read before the boil is past");
    log_kettle(&mut day, 161.0, "post_boil", 23.0, 1.0362);
    assert_eq!(of(&day).map(|told| (told.read, told.verdict)), Some((Read::AfterFlameOut, Verdict::Weak)));
    let mut off = Day { batch: day.batch.clone(), log: day.log.clone() };
    log_kettle(&mut off, 162.0, "post_boil", 23.0, 1.046);
    assert_eq!(of(&off), None, "a fifth of the extract can't have appeared");
    day.at(165.0, json!({"kind": "cooling_started", "method": "air"}));
    assert_eq!(of(&day).map(|told| told.read), Some(Read::Chilling));
    day.at(210.0, json!({"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18, "wort_c": 19}));
    assert_eq!(of(&day), None, "it is beer now");
}
