//! Constants that were written down from memory, each by another way to it.

use gylebook::science::bitterness::isomerisation;
use gylebook::science::gravity::hydrometer::Hydrometer;
use gylebook::science::units::{Length, Plato, Pressure, SpecificGravity, Temperature};
use gylebook::science::{boiling_point, colour, water, wort};

use crate::table::Score;

/// Molar gas constant, J/(mol K), exact [SI-2019].
const R: f64 = 8.314_462_618;

#[test]
fn the_saturation_line_at_its_release_s_own_points() {
    // [IAPWS-IF97], table 36, to all its nine figures; the same from the general
    // library `iapws` 1.5.5. A wrong sign in the smallest coefficient moves them by 0.002 K.
    let mut score = Score::new("saturation line, the release's own points (K)", 1e-6);
    for (megapascals, kelvins) in [(0.1, 372.755_919), (1.0, 453.035_632), (10.0, 584.149_488)] {
        let boil = boiling_point::at_pressure(Pressure::from_kilopascals(1000.0 * megapascals)).unwrap();
        score.check(boil.kelvins(), kelvins, megapascals);
    }
    score.end();
}

#[test]
fn the_standard_atmosphere_from_its_defining_constants() {
    // [ISO-2533]: 15 °C and 101,325 Pa at sea level, 6.5 K less each kilometre, air of
    // 28.9644 g/mol, its own rounded R of 8.31432, g 9.80665 m/s² (constants from memory).
    let (lapse, sea_level) = (0.0065, 288.15);
    let power = 9.806_65 * 0.028_964_4 / (8.314_32 * lapse);
    let mut score = Score::new("air pressure from the atmosphere's constants (kPa)", 0.001);
    for metres in [-500.0, 0.0, 300.0, 1000.0, 2000.0, 3000.0, 5000.0] {
        let ours = boiling_point::pressure(Length::from_metres(metres)).unwrap().kilopascals();
        score.check(ours, 101.325 * (1.0_f64 - lapse * metres / sea_level).powf(power), metres);
    }
    score.end();
}

#[test]
fn the_boiling_rise_from_the_heat_of_steam() {
    // K_b = R T²/r, with r per kilogram of water: 0.513 K kg/mol at 100 °C, and sucrose
    // is 342.30 g/mol by its formula C12H22O11.
    let boil = Temperature::from_celsius(99.974);
    let per_molal = R * boil.kelvins().powi(2) / water::vaporisation(boil).joules_per_kg();
    let sucrose = 12.0 * 12.011 + 22.0 * 1.008 + 11.0 * 15.999;
    let mut score = Score::new("boiling rise from the heat of steam (share)", 0.003);
    for degrees in [5.0, 12.0, 20.0, 30.0] {
        let molal = 1000.0 * degrees / (sucrose * (100.0 - degrees));
        let ours = wort::boiling_rise(Plato::from_degrees(degrees)).kelvins();
        score.check(ours / (per_molal * molal), 1.0, degrees);
    }
    score.end();
}

#[test]
fn a_warm_and_a_cool_hydrometer_in_the_sugar_trade_s_table() {
    // Correction of a Brix hydrometer standing at 10 % (from memory, [NBS-C440]). What
    // glass that table was reckoned with is not known, so its whole last place is
    // allowed: at 15 °C ours is 0.2444, which would print as 0.24.
    let sg = |degrees: f64| {
        let at_20 = |degrees| wort::density(Plato::from_degrees(degrees), Temperature::REFERENCE).kg_per_m3();
        at_20(degrees) / at_20(0.0)
    };
    let mut score = Score::new("hydrometer in 10 % sugar at 30 and 15 °C (°Bx)", 0.01);
    for (celsius, wanted) in [(30.0, 0.66), (15.0, -0.25)] {
        let standing = SpecificGravity::from_ratio(sg(10.0));
        let sample = Temperature::from_celsius(celsius);
        let corrected = Hydrometer::AT_20_C.corrected(standing, sample).unwrap().ratio();
        // By the chord between 9 and 11 %: SG is straight in strength to 1e−5 there.
        let off = 2.0 * (corrected - sg(10.0)) / (sg(11.0) - sg(9.0));
        score.check(off, wanted, celsius);
    }
    score.end();
}

#[test]
fn the_activation_energies_of_isomerisation() {
    // [MalowickiShellhammer-2005] gives them beside the rate laws: 98.6 and 108.0 kJ/mol.
    let at = |celsius| isomerisation::rates(Temperature::from_celsius(celsius));
    let (low, high) = (at(90.0), at(130.0));
    let apart = 1.0 / (273.15 + 90.0) - 1.0 / (273.15 + 130.0);
    let energy = |low: f64, high: f64| R * (high / low).ln() / apart / 1000.0;
    let mut score = Score::new("activation energy of isomerisation (kJ/mol)", 0.05);
    score.check(energy(low.formation_per_min, high.formation_per_min), 98.6, "formation");
    score.check(energy(low.loss_per_min, high.loss_per_min), 108.0, "loss");
    score.end();
}

#[test]
fn morey_s_curve_leaves_the_line_where_it_should() {
    // MCU = 1.4922 MCU^0.6859 at MCU = 1.4922^(1/(1 − 0.6859)) = 3.58, as the reference has it.
    let mut score = Score::new("where colour leaves the line of the malts (MCU)", 0.005);
    let crossing = (300..400).map(|hundredths| f64::from(hundredths) / 100.0);
    let first = crossing.into_iter().find(|mcu| colour::morey(*mcu).unwrap().srm() < *mcu).unwrap();
    score.check(first, 3.58, "crossing");
    score.end();
}
