//! Wort as a sugar solution: density, shrinkage, heat [Emmerich-1994, Bubnik-1995].

use gylebook::science::units::{Plato, Temperature, Volume};
use gylebook::science::wort::{self, Wort};

use crate::table::{Score, Table, rounded_to};

#[test]
fn density_is_the_icumsa_polynomial() {
    let table = Table::read("01_sucrose_density_by_temperature.csv");
    let mut score = Score::new("wort density by temperature (kg/m³)", rounded_to(2));
    for row in table.rows() {
        let strength = Plato::from_degrees(row.number("percent_by_mass"));
        for (column, celsius) in table.numbered_columns() {
            let ours = wort::density(strength, Temperature::from_celsius(celsius));
            score.check(ours.kg_per_m3(), row.number(column), (strength, column));
        }
    }
    score.end();
}

#[test]
fn density_and_extract_in_a_litre_at_20_c() {
    let mut density = Score::new("wort density at 20 °C (kg/m³)", rounded_to(3));
    let mut extract = Score::new("extract in a litre at 20 °C (g/L)", rounded_to(3));
    for row in Table::read("01_plato_to_sg.csv").rows() {
        let strength = Plato::from_degrees(row.number("plato"));
        let ours = wort::density(strength, Temperature::REFERENCE);
        density.check(ours.kg_per_m3(), row.number("density_kg_m3_20C"), strength);
        let litre = Wort::new(Volume::from_litres(1.0), strength);
        extract.check(litre.extract().grams(), row.number("extract_g_per_L"), strength);
    }
    density.end();
    extract.end();
}

#[test]
fn density_agrees_with_printed_tables() {
    const G_PER_POUND: f64 = 453.592_37;
    const ML_PER_GALLON: f64 = 3_785.411_784;
    /// Air at 20 °C, kg/m³, against brass weights of 8,400 kg/m³: what a pound in air means.
    const AIR: f64 = 1.2;
    const BRASS: f64 = 8_400.0;
    for row in Table::read("01_printed_values.csv").rows() {
        let (source, printed) = (row.text("source"), row.number("printed"));
        let strength = Plato::from_degrees(row.number("percent_by_mass"));
        let at = |celsius| wort::density(strength, Temperature::from_celsius(celsius)).kg_per_m3();
        let ours = if source.contains("lb per US gal") {
            (at(20.0) - AIR) / (1.0 - AIR / BRASS) / 1000.0 * ML_PER_GALLON / G_PER_POUND
        } else if source.contains("kg/m3 at 15 C") {
            at(15.0)
        } else if source.contains("kg/m3 at 20 C") {
            at(20.0)
        } else if source.contains("g/cm3") {
            at(20.0) / 1000.0
        } else {
            continue; // apparent gravities: gravity.rs
        };
        // Each row carries its source's rounding, or its known scatter where that is
        // wider. Only the pounds to a gallon are off by more than half of their last
        // place: their steps (0.032, 0.033, 0.032, 0.033, 0.034) show that some were
        // rounded twice, so a whole last place is allowed.
        let last_place = if source.contains("lb per US gal") { 2.0 } else { 1.0 };
        let tolerance = last_place * row.number("tolerance");
        let mut score = Score::new("wort density, printed tables", tolerance);
        score.check(ours, printed, (source, strength));
        score.end();
    }
}

#[test]
fn shrinkage_of_hot_wort() {
    let table = Table::read("02_wort_shrinkage.csv");
    let mut score = Score::new("wort, hot volume to 20 °C", rounded_to(5));
    for row in table.rows() {
        let strength = Plato::from_degrees(row.number("plato"));
        for (column, celsius) in table.numbered_columns() {
            let ours = wort::shrinkage(strength, Temperature::from_celsius(celsius));
            score.check(ours, row.number(column), (strength, column));
        }
    }
    score.end();
}

#[test]
fn specific_heat_of_wort() {
    // `cp_best` is printed to three places from water at its own rounding (0.00014).
    let mut best = Score::new("wort specific heat (kJ/kg K)", rounded_to(3) + 1.4e-4);
    // "Honest tolerance on wort cp: 1.5 %" against the printed form of the equation.
    let mut printed = Score::new("wort specific heat against the printed form (share)", 0.015);
    for row in Table::read("03_wort_heat_capacity.csv").rows() {
        let strength = Plato::from_degrees(row.number("plato"));
        let at = Temperature::from_celsius(row.number("t_C"));
        let ours = wort::specific_heat(strength, at).kilojoules_per_kg_kelvin();
        best.check(ours, row.number("cp_best"), (strength, at));
        printed.check(ours / row.number("cp_sugar"), 1.0, (strength, at));
    }
    best.end();
    printed.end();
}
