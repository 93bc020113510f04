//! Reading the tables of chills.

use gylebook::science::chilling::series::{CoolingStage, Method, Reading, Series};
use gylebook::science::chilling::stage::{Bath, Coolant};
use gylebook::science::units::{Mass, Temperature, TimeSpan};

/// The rows of a table, comments and heading left out; a field in quotes may
/// hold commas.
pub(crate) fn rows(table: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect()
}

pub(crate) fn number(field: &str) -> f64 {
    field.trim().parse().unwrap_or_else(|_| panic!("{field:?} is no number"))
}

pub(crate) fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value)
}

pub(crate) fn minutes(value: f64) -> TimeSpan {
    TimeSpan::from_minutes(value)
}

pub(crate) fn kilograms(value: f64) -> Mass {
    Mass::from_kilograms(value)
}

pub(crate) fn reading(at_min: f64, wort_c: f64) -> Reading {
    Reading { at: minutes(at_min), wort: celsius(wort_c) }
}

/// A still bath from `start_min` on.
pub(crate) fn still(start_min: f64, water_kg: f64, water_c: f64) -> CoolingStage {
    CoolingStage {
        started: minutes(start_min),
        ended: None,
        method: Method::StillBath,
        water: Some(kilograms(water_kg)),
        water_at: Some(celsius(water_c)),
        ice: None,
        flow: None,
    }
}

/// An ice bath from `start_min` on.
pub(crate) fn iced(start_min: f64, water_kg: f64, water_c: f64, ice_kg: f64) -> CoolingStage {
    let method = Method::IceBath;
    CoolingStage { method, ice: Some(kilograms(ice_kg)), ..still(start_min, water_kg, water_c) }
}

pub(crate) fn series(readings: &[(f64, f64)], stages: Vec<CoolingStage>) -> Series {
    Series::new(readings.iter().map(|&(at, c)| reading(at, c)).collect(), stages, Vec::new())
}

/// A scenario's stage, such as `12 kg water 15 C + 6 kg ice 0 C, 25 min`.
pub(crate) struct Told {
    pub(crate) coolant: Coolant,
    pub(crate) lasts: TimeSpan,
}

pub(crate) fn told(stages: &str) -> Vec<Told> {
    let stage = |text: &str| {
        let (baths, lasts) = text.rsplit_once(',').unwrap();
        let parts: Vec<f64> = baths.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        let water = Bath::of_water(kilograms(parts[0]), celsius(parts[1]));
        let bath = match parts[..] {
            [_, _] => water,
            [_, _, ice, at] => water.with_ice(kilograms(ice), celsius(at)),
            _ => panic!("{baths:?}"),
        };
        let lasts = lasts.trim().trim_end_matches(" min");
        Told { coolant: Coolant::Bath(bath), lasts: minutes(number(lasts)) }
    };
    stages.split(';').map(stage).collect()
}
