//! The boil by altitude [ISO-2533, IAPWS-IF97].

use gylebook::science::units::{Length, Plato};
use gylebook::science::{boiling_point, wort};

use crate::table::{Score, Table, rounded_to};

#[test]
fn pressure_and_boil_by_altitude() {
    let mut pressure = Score::new("air pressure by altitude (kPa)", rounded_to(3));
    // "0.02 °C on the water column for the exact formula".
    let mut water = Score::new("boiling point of water by altitude (°C)", 0.02);
    let mut of_wort = Score::new("boiling point of 12 °P wort by altitude (°C)", 0.02);
    for row in Table::read("04_boiling_point_altitude.csv").rows() {
        let height = Length::from_metres(row.number("altitude_m"));
        let kpa = boiling_point::pressure(height).unwrap().kilopascals();
        pressure.check(kpa, row.number("pressure_kPa"), height);
        let boil = boiling_point::at_altitude(height).unwrap();
        water.check(boil.celsius(), row.number("boiling_water_C"), height);
        let wort_boil = boil + wort::boiling_rise(Plato::from_degrees(12.0));
        of_wort.check(wort_boil.celsius(), row.number("boiling_wort_12P_C"), height);
    }
    for score in [pressure, water, of_wort] {
        score.end();
    }
}
