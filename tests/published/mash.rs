//! Strike water and infusions: the heat balance against the books' short forms.
//!
//! The short forms take one specific heat for water and a litre for a kilogram.
//! Ours is the full balance, so it is compared within the 0.1 °C that the table
//! states for them.

use gylebook::science::mash::heat::{self, Grist, Vessel};
use gylebook::science::units::{HeatCapacity, Mass, SpecificEnergy, SpecificHeat, Temperature, TemperatureDifference};

use crate::table::{Row, Score, Table, rounded_to};

/// What the short forms take a kilogram of water to hold, kJ/(kg K): the table's 4.19.
const WATER: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(4.19);
/// Stated beside the table.
const ARITHMETIC_C: f64 = 0.1;
/// Quarts to a pound and litres to a kilogram: 0.2 qt/lb stands for 0.41 of water.
const LITRES_PER_KG_IN_QT_PER_LB: f64 = 2.086_35;

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

fn rows(relation: &str) -> (Table, String) {
    (Table::read("11_strike_and_infusion.csv"), relation.to_owned())
}

fn each((table, relation): &(Table, String)) -> Vec<Row<'_>> {
    let found: Vec<_> = table.rows().filter(|row| row.text("relation").starts_with(relation)).collect();
    assert!(!found.is_empty(), "no rows for {relation}");
    found
}

#[test]
fn full_balance_with_enthalpies() {
    let table = rows("full heat balance");
    let mut score = Score::new("strike temperature, full balance (°C)", rounded_to(2));
    for row in each(&table) {
        // `grain 5 kg cp 1.7 at 18 C; water 15 kg; mash 66 C; tun 8 kg cp 0.5 at 18 C; …`
        let numbers: Vec<f64> = row.text("inputs").split([' ', ';']).filter_map(|word| word.parse().ok()).collect();
        let [m, c, t, water, mash, tun_m, tun_c, tun_t, q] = numbers[..] else { panic!("{numbers:?}") };
        let grist = Grist {
            mass: Mass::from_kilograms(m),
            temperature: celsius(t),
            specific_heat: SpecificHeat::from_kilojoules_per_kg_kelvin(c),
            wetting: SpecificEnergy::from_kilojoules_per_kg(q),
        };
        let tun = Vessel {
            heat_capacity: HeatCapacity::from_kilojoules_per_kelvin(tun_m * tun_c),
            temperature: celsius(tun_t),
        };
        let water = Mass::from_kilograms(water);
        let ours = heat::strike_temperature(grist, tun, water, celsius(mash)).unwrap();
        score.check(ours.celsius(), row.number("answer"), row.text("inputs"));
    }
    score.end();
}

#[test]
fn metric_short_form() {
    let table = rows("metric strike");
    let mut score = Score::new("strike temperature, metric short form (°C)", ARITHMETIC_C);
    for row in each(&table) {
        let grist = Grist::new(Mass::from_kilograms(1.0), celsius(row.input("inputs", "T1")));
        let water = Mass::from_kilograms(row.input("inputs", "r"));
        let mash = celsius(row.input("inputs", "T2"));
        let ours = heat::strike_temperature(grist, Vessel::NONE, water, mash).unwrap();
        score.check(ours.celsius(), row.number("answer"), row.text("inputs"));
    }
    score.end();
}

#[test]
fn us_short_form() {
    let table = rows("US strike");
    let mut score = Score::new("strike temperature, US short form (°F)", ARITHMETIC_C * 1.8);
    for row in each(&table) {
        let at = |key| Temperature::from_fahrenheit(row.input("inputs", key));
        // 0.2 qt/lb is 0.2 × 2.086 of water's specific heat.
        let grist = Grist {
            specific_heat: WATER * (0.2 * LITRES_PER_KG_IN_QT_PER_LB),
            ..Grist::new(Mass::from_kilograms(1.0), at("T1"))
        };
        let water = Mass::from_kilograms(row.input("inputs", "r") * LITRES_PER_KG_IN_QT_PER_LB);
        let ours = heat::strike_temperature(grist, Vessel::NONE, water, at("T2")).unwrap();
        score.check(ours.fahrenheit(), row.number("answer"), row.text("inputs"));
    }
    score.end();
}

#[test]
fn british_initial_heat() {
    let table = rows("initial heat");
    let mut score = Score::new("initial heat with slaking heat (°C)", ARITHMETIC_C);
    for row in each(&table) {
        let input = |key| row.input("inputs", key);
        let (s, m, slaking) = (input("S"), input("M"), input("Sc"));
        // The slaking rise, as heat given off by a kilogram of malt in this mash.
        let wetting = WATER * (s + m) / SpecificHeat::from_kilojoules_per_kg_kelvin(1.0) * slaking;
        let grist = Grist {
            mass: Mass::from_kilograms(1.0),
            temperature: celsius(input("Tg")),
            specific_heat: WATER * s,
            wetting: SpecificEnergy::from_kilojoules_per_kg(wetting),
        };
        // A hectolitre on 100 kg is a litre on a kilogram. `T=` is not `Tg=`.
        let strike = celsius(row.input("inputs", "T="));
        let water = Mass::from_kilograms(m);
        let ours = heat::mash_temperature(grist, Vessel::NONE, water, strike).unwrap();
        score.check(ours.celsius(), row.number("answer"), row.text("inputs"));
    }
    score.end();
}

#[test]
fn infusions() {
    let table = rows("metric infusion");
    let mut score = Score::new("rest reached by the published infusion (°C)", ARITHMETIC_C);
    for row in each(&table) {
        let input = |key| row.input("inputs", key);
        let grist = Grist::new(Mass::from_kilograms(input("G")), celsius(input("T1")));
        let water = Mass::from_kilograms(input("Wm"));
        let (rest, liquor) = (celsius(input("T2")), celsius(input("Tw")));
        let ours = heat::infusion(grist, Vessel::NONE, water, rest, liquor).unwrap();
        // By how much the published litres would miss the rest, in °C.
        let capacity =
            (grist.mass * grist.specific_heat + water * WATER + ours * WATER) / (WATER * Mass::from_kilograms(1.0));
        let per_kg: TemperatureDifference = (liquor - rest) / capacity;
        let miss = per_kg * (row.number("answer") - ours.kilograms());
        score.check(miss.kelvins(), 0.0, row.text("inputs"));
    }
    score.end();
}

#[test]
fn malt_specific_heat_by_moisture() {
    // Printed to two places. The misprint of the 3 % row is in its slaking column.
    let mut score = Score::new("malt specific heat against water's, by moisture", rounded_to(2));
    for row in Table::read("11_malt_heat_table.csv").rows() {
        let moisture = row.number("moisture_percent");
        let ours = heat::malt_specific_heat(moisture / 100.0).unwrap();
        let relative = ours.kilojoules_per_kg_kelvin() / 4.1868;
        score.check(relative, row.number("specific_heat_rel"), moisture);
    }
    score.end();
}
