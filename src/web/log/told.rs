//! An entry in a brewer's words.

use crate::brewday::choices::{CareAct, Choice, Cooling, Instrument};
use crate::brewday::entry::{Care, CoolingStarted, Pitched};
use crate::brewday::plausible::Dimension;
use crate::brewday::{Body, BrewDay, Typed};
use crate::web::Frame;

/// An entry's words and its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// What happened.
    pub what: String,
    /// How much; empty where there is nothing to measure.
    pub value: String,
}

/// Tells an entry. What was typed is told as it was typed where that is another unit.
#[must_use]
pub fn told(day: &BrewDay, frame: &Frame, body: &Body, typed: &Typed) -> Told {
    let show = |value: f64, dimension: Dimension| frame.show(value, dimension).to_string();
    let celsius = |value: f64| show(value, Dimension::Temperature);
    let litres = |value: f64| show(value, Dimension::Volume);
    let (what, value) = match body {
        Body::StageStarted { stage } => (format!("{} started", stage.label()), String::new()),
        Body::StageFinished { stage } => (format!("{} finished", stage.label()), String::new()),
        Body::BoilStarted => ("At the boil".into(), String::new()),
        Body::FlameOut => ("Flame-out".into(), String::new()),
        Body::Temperature { place, temperature_c } => (place.label().into(), celsius(*temperature_c)),
        Body::Volume { point, volume_l, temperature_c } => {
            (format!("{} volume, at {}", point.label(), celsius(*temperature_c)), litres(*volume_l))
        }
        Body::Gravity { point, instrument, reading, temperature_c } => {
            let dimension = match instrument {
                Instrument::Refractometer => Dimension::Brix,
                Instrument::Hydrometer => Dimension::Gravity,
            };
            let read_with = instrument.label().to_lowercase();
            let what = format!("{} gravity, {read_with} at {}", point.label(), celsius(*temperature_c));
            (what, show(*reading, dimension))
        }
        Body::Ph { point, ph } => (format!("{} pH", point.label()), show(*ph, Dimension::Plain)),
        Body::Addition { what, mass_kg, .. } => (format!("{what} in"), show(*mass_kg, Dimension::SmallMass)),
        Body::FlushStarted { temperature_c } => ("Hot flush started".into(), maybe(*temperature_c, celsius)),
        Body::FlushFinished { temperature_c } => ("Hot flush finished".into(), maybe(*temperature_c, celsius)),
        Body::CoolingStarted(cooling) => (cooling_told(frame, cooling), String::new()),
        Body::IceAdded { ice_kg } => ("Ice added".into(), show(*ice_kg, Dimension::Mass)),
        Body::BathStirred => ("Bath stirred".into(), String::new()),
        Body::CoilDrained { recovered_l } => ("Coil drained, wort recovered".into(), litres(*recovered_l)),
        Body::Check { item, outcome, why } => (check_told(day, item, why.as_deref()), outcome.label().to_lowercase()),
        Body::Pitched(pitched) => (pitched_told(frame, pitched), maybe(pitched.wort_c, celsius)),
        Body::Care(care) => (care_told(day, care), maybe(care.mass_kg, |kg| show(kg, Dimension::Mass))),
        Body::Note => ("Note".into(), String::new()),
        Body::Amendment(_) => ("Correction".into(), String::new()),
    };
    let off = day.true_c(0.0);
    if let Body::Temperature { temperature_c, .. } = body
        && off != 0.0
    {
        // What it was, and what the thermometer showed.
        return Told {
            what: format!("{what}, shown as {}", as_typed(value, typed)),
            value: celsius(temperature_c + off),
        };
    }
    Told { what: what + &correction(day, frame, body), value: as_typed(value, typed) }
}

/// ", corrected by −0.4 °C" where a thermometer was read that is known to be off.
fn correction(day: &BrewDay, frame: &Frame, body: &Body) -> String {
    let was_read = match body {
        Body::Volume { .. } | Body::Gravity { .. } => true,
        Body::FlushStarted { temperature_c } | Body::FlushFinished { temperature_c } => temperature_c.is_some(),
        Body::CoolingStarted(cooling) => cooling.water_c.is_some(),
        Body::Pitched(pitched) => pitched.wort_c.or(pitched.yeast_c).is_some(),
        _ => false,
    };
    let off = day.true_c(0.0);
    if !was_read || off == 0.0 {
        return String::new();
    }
    format!(", corrected by {}", frame.show(off, Dimension::TemperatureDifference))
}

fn maybe(value: Option<f64>, show: impl Fn(f64) -> String) -> String {
    value.map_or_else(String::new, show)
}

/// The value with what was typed beside it, where the brewer wrote another unit.
fn as_typed(value: String, typed: &Typed) -> String {
    let main = ["temperature_c", "volume_l", "reading", "mass_kg", "ice_kg", "recovered_l"];
    let said = (typed.len() <= 2).then(|| main.iter().rev().find_map(|field| typed.get(*field))).flatten();
    match said {
        Some(said) if !value.is_empty() && !same_number(said, &value) => format!("{value} ({said})"),
        _ => value,
    }
}

/// Whether two texts show one number in one unit: "67.5 °C" and "67,5 °C".
fn same_number(one: &str, other: &str) -> bool {
    let plain = |text: &str| {
        let text: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let text = text.replace(',', ".");
        let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.');
        // "152 F" is 152.0 °F, and the shed has one kind of gallon.
        let unit = text[digits.len()..].trim_start_matches('°').trim_start_matches("US").to_lowercase();
        digits.parse::<f64>().ok().map(|number| (number, unit))
    };
    match (plain(one), plain(other)) {
        (Some((one, unit)), Some((other, other_unit))) => (one - other).abs() < 0.051 && unit == other_unit,
        _ => false,
    }
}

fn cooling_told(frame: &Frame, cooling: &CoolingStarted) -> String {
    let water = cooling.water_l.map(|litres| frame.show(litres, Dimension::Volume).to_string());
    let at = cooling.water_c.map(|celsius| format!("at {}", frame.show(celsius, Dimension::Temperature)));
    let ice = cooling.ice_kg.filter(|ice_kg| *ice_kg > 0.0);
    let ice = ice.map(|ice_kg| format!("+ {} ice", frame.show(ice_kg, Dimension::Mass)));
    let flow = cooling.flow_l_min.map(|flow| frame.show(flow, Dimension::Flow).to_string());
    let what = match cooling.method {
        Cooling::StillBath => "Coil into bath",
        Cooling::IceBath => "Coil into ice bath",
        Cooling::RunningWater => "Water running through the coil",
        Cooling::Air => "Left to cool in the air",
    };
    let details: Vec<String> = [flow, water, at, ice].into_iter().flatten().collect();
    if details.is_empty() { what.into() } else { format!("{what}, {}", details.join(" ")) }
}

fn check_told(day: &BrewDay, key: &str, why: Option<&str>) -> String {
    let item = day.batch.lists.item(key).map_or(key, |item| &item.text);
    why.map_or_else(|| item.to_owned(), |why| format!("{item}: {why}"))
}

fn pitched_told(frame: &Frame, pitched: &Pitched) -> String {
    let cells = pitched.cells_billion.map(|cells| format!("{cells:.0} billion cells"));
    let mass = pitched.mass_kg.map(|mass_kg| frame.show(mass_kg, Dimension::SmallMass).to_string());
    let yeast = pitched.yeast_c.map(|celsius| format!("yeast at {}", frame.show(celsius, Dimension::Temperature)));
    let details: Vec<String> = [cells, mass, yeast].into_iter().flatten().collect();
    let what = format!("Pitched {}", pitched.yeast);
    if details.is_empty() { what } else { format!("{what}, {}", details.join(", ")) }
}

fn care_told(day: &BrewDay, care: &Care) -> String {
    let name = day
        .batch
        .equipment
        .iter()
        .find(|record| record.id == care.equipment)
        .map_or_else(|| format!("Equipment {}", care.equipment), |record| record.equipment.name.clone());
    match (&care.place, care.act) {
        (Some(place), CareAct::Stored) => format!("{name} stored: {place}"),
        _ => format!("{name} {}", care.act.label().to_lowercase()),
    }
}
