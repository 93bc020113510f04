//! A table of texts as brewers type them. Expected values are worked by hand from
//! the definitions of the units [SI-2019, NIST-SP811]; gravities from the table of
//! [ASBC-Tables], 12.0 °P at SG 1.0484.

use super::{Dimension::*, *};
use crate::brewday::{
    Units,
    choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
    plausible,
};

fn metric() -> Units {
    Units::default()
}

fn american() -> Units {
    Units {
        temperature: TemperatureUnit::Fahrenheit,
        volume: VolumeUnit::UsGallons,
        mass: MassUnit::Avoirdupois,
        gravity: GravityUnit::SpecificGravity,
        colour: ColourUnit::Srm,
    }
}

fn plato() -> Units {
    Units { gravity: GravityUnit::Plato, ..metric() }
}

#[track_caller]
fn understood(rows: &[(&str, Dimension, f64)], units: &Units) {
    for (text, dimension, kept) in rows {
        let reading = read(text, *dimension, units).unwrap_or_else(|why| panic!("{text}: {why}"));
        let off = (reading.kept - kept).abs();
        assert!(off <= 5e-6 * kept.abs().max(1.0), "{text}: {} is not {kept}", reading.kept);
    }
}

#[test]
fn texts_are_understood_in_a_metric_house() {
    understood(
        &[
            ("67.5", Temperature, 67.5),
            ("67,5", Temperature, 67.5),
            (" 67.5 ", Temperature, 67.5),
            ("67.", Temperature, 67.0),
            (",5", Temperature, 0.5),
            ("-2", Temperature, -2.0),
            ("−2", Temperature, -2.0),
            ("–2,5", Temperature, -2.5),
            ("+20", Temperature, 20.0),
            ("20 °C", Temperature, 20.0),
            ("20°C", Temperature, 20.0),
            ("20 ° C", Temperature, 20.0),
            ("20 c", Temperature, 20.0),
            ("20 celsius", Temperature, 20.0),
            ("67 F", Temperature, 19.444_444),
            ("212 °F", Temperature, 100.0),
            ("-40F", Temperature, -40.0),
            ("0.5", TemperatureDifference, 0.5),
            ("0,9 °F", TemperatureDifference, 0.5),
            ("0.2 K", TemperatureDifference, 0.2),
            ("19", Volume, 19.0),
            ("19 L", Volume, 19.0),
            ("19 litres", Volume, 19.0),
            ("5 gal", Volume, 18.927_059),
            ("5 US gal", Volume, 18.927_059),
            ("450 ml", Volume, 0.45),
            ("1.2 hl", Volume, 120.0),
            ("2 qt", Volume, 1.892_706),
            ("5 gal 2 qt", Volume, 20.819_765),
            ("1 200,5", Volume, 1200.5),
            ("1.200,5", Volume, 1200.5),
            ("1,200.5", Volume, 1200.5),
            ("1\u{202f}200", Volume, 1200.0),
            ("1 234 567", Mass, 1_234_567.0),
            ("4.5", Mass, 4.5),
            ("350 g", Mass, 0.35),
            ("10 lb", Mass, 4.535_924),
            ("10 lbs", Mass, 4.535_924),
            ("10 lb 4 oz", Mass, 4.649_322),
            ("10lb4oz", Mass, 4.649_322),
            ("28", SmallMass, 0.028),
            ("2 oz", SmallMass, 0.056_699),
            ("0.5 kg", SmallMass, 0.5),
            ("1.048", Gravity, 1.048),
            ("1,048", Gravity, 1.048),
            ("1048", Gravity, 1.048),
            ("0.998", Gravity, 0.998),
            ("1.048 SG", Gravity, 1.048),
            ("SG 1.048", Gravity, 1.048),
            ("12 P", Gravity, 1.048_37),
            ("12 °P", Gravity, 1.048_37),
            ("12,0 Plato", Gravity, 1.048_37),
            ("12.5", Brix, 12.5),
            ("12,5 °Bx", Brix, 12.5),
            ("8", Colour, 8.0),
            ("4 SRM", Colour, 7.874_016),
            ("2.5", Flow, 2.5),
            ("150 L/h", Flow, 2.5),
            ("1 gal/min", Flow, 3.785_412),
            ("3.5 L/h", BoilOff, 3.5),
            ("1 gal/h", BoilOff, 3.785_412),
            ("500", Height, 500.0),
            ("1000 ft", Height, 304.8),
            ("-12 m", Height, -12.0),
            ("12 min", Minutes, 12.0),
            ("60", Minutes, 60.0),
            ("1.5 h", Minutes, 90.0),
            ("1 h 30 min", Minutes, 90.0),
            ("1h30", Minutes, 90.0),
            ("90 s", Minutes, 1.5),
            ("1:30:00", Minutes, 90.0),
            ("78 %", Percent, 78.0),
            ("78%", Percent, 78.0),
            ("78 percent", Percent, 78.0),
            ("5,4", Plain, 5.4),
        ],
        &metric(),
    );
}

#[test]
fn a_bare_number_is_in_the_brewers_own_unit() {
    understood(
        &[
            ("152", Temperature, 66.666_667),
            ("1.8", TemperatureDifference, 1.0),
            ("5", Volume, 18.927_059),
            ("10", Mass, 4.535_924),
            ("1", SmallMass, 0.028_350),
            ("4", Colour, 7.874_016),
            ("1", Flow, 3.785_412),
            ("1000", Height, 304.8),
            ("20 C", Temperature, 20.0),
            ("19 L", Volume, 19.0),
        ],
        &american(),
    );
    understood(&[("12", Gravity, 1.048_37), ("1.048 SG", Gravity, 1.048), ("1048", Gravity, 1.048)], &plato());
}

#[test]
fn what_is_not_understood_is_refused_with_a_sentence() {
    for (text, dimension, said) in [
        ("", Temperature, "A number is needed here"),
        ("warm", Temperature, "Type it like 67.5."),
        ("67 X", Temperature, "Type °C or °F after the number"),
        ("67 kg", Temperature, "“kg” can't be read here"),
        ("20 30", Temperature, "Type it like"),
        ("20 °C 30 °C", Temperature, "Type it like"),
        ("6.7.5", Temperature, "Type it like"),
        ("1,2,3", Temperature, "Type it like"),
        ("--2", Temperature, "Type it like"),
        ("2-3", Temperature, "Type it like"),
        ("1e3", Temperature, "Type it like"),
        ("inf", Temperature, "Type it like"),
        ("NaN", Temperature, "Type it like"),
        ("½", Volume, "Type it like"),
        ("1/2 gal", Volume, "Type it like"),
        ("4 oz 10 lb", Mass, "Type it like"),
        ("10 lb 4 lb", Mass, "Type it like"),
        ("1.5 L", Mass, "Type kg, lb, g, oz or mg after the number"),
        ("48", Gravity, "48 is no specific gravity. Type it like 1.048, or with its unit: 12 P."),
        ("12", Gravity, "or with its unit: 12 P."),
        ("12 Bx", Gravity, "Type SG or °P after the number"),
        ("12 P", Brix, "Type °Bx after the number"),
        ("7 L", Colour, "Type EBC or SRM"),
        ("1:30", Minutes, "1:30 could be 90 min or 1.5 min. Type the one you mean."),
        ("1:75", Minutes, "Type it like 60."),
        ("5.4 pH", Plain, "Type the number alone."),
    ] {
        let sentence = read(text, dimension, &metric()).map(|reading| reading.kept).expect_err(text);
        assert!(sentence.contains(said), "{text}: {sentence}");
        assert!(sentence.ends_with('.'), "{text}: {sentence}");
    }
    let asked = read("1.048", Gravity, &plato()).map(|reading| reading.kept);
    assert_eq!(asked, Err("1.048 could be SG or °P. Type its unit after it: 1.048 SG, or 1.048 P.".into()));
}

#[test]
fn figures_are_shown_with_the_decimals_they_are_worth() {
    for (kept, dimension, shown) in [
        (43.6, Temperature, "43.6\u{a0}°C"),
        (19.0, Temperature, "19.0\u{a0}°C"),
        (-2.0, Temperature, "−2.0\u{a0}°C"),
        (-0.01, Temperature, "0.0\u{a0}°C"),
        (0.5, TemperatureDifference, "0.5\u{a0}°C"),
        (19.0, Volume, "19.0\u{a0}L"),
        (0.45, Volume, "0.45\u{a0}L"),
        (250.4, Volume, "250\u{a0}L"),
        (4.5, Mass, "4.5\u{a0}kg"),
        (0.125, Mass, "0.125\u{a0}kg"),
        (0.028, SmallMass, "28\u{a0}g"),
        (0.0055, SmallMass, "5.5\u{a0}g"),
        (1.048, Gravity, "1.048\u{a0}SG"),
        (12.5, Brix, "12.5\u{a0}°Bx"),
        (8.2, Colour, "8.2\u{a0}EBC"),
        (45.2, Colour, "45\u{a0}EBC"),
        (2.5, Flow, "2.50\u{a0}L/min"),
        (3.5, BoilOff, "3.5\u{a0}L/h"),
        (250.0, Height, "250\u{a0}m"),
        (60.0, Minutes, "60\u{a0}min"),
        (12.5, Minutes, "12.5\u{a0}min"),
        (78.0, Percent, "78\u{a0}%"),
        (5.4, Plain, "5.4"),
        (12_000.0, Plain, "12\u{202f}000"),
        (1_234_567.5, Plain, "1\u{202f}234\u{202f}567.5"),
        (1048.0, Plain, "1048"),
    ] {
        assert_eq!(show(kept, dimension, &metric()).to_string(), shown);
    }
    for (kept, shown) in [(0.0, "0"), (0.012_34, "0.0123"), (21.521_3, "21.5"), (220.185_7, "220"), (1234.5, "1234")] {
        assert_eq!(show_computed(kept, Plain, &metric()).to_string(), shown);
    }
    assert_eq!(show_computed(12.34, Percent, &metric()).to_string(), "12.3\u{a0}%");
    assert_eq!(show(100.0, Temperature, &american()).to_string(), "212.0\u{a0}°F");
    assert_eq!(show(18.927_059, Volume, &american()).to_string(), "5.00\u{a0}US gal");
    assert_eq!(show(0.028_350, SmallMass, &american()).to_string(), "1\u{a0}oz");
    assert_eq!(show(1.048_37, Gravity, &plato()).to_string(), "12.0\u{a0}°P");
}

#[test]
fn what_a_field_is_filled_with_reads_back_as_what_is_kept() {
    let every = [
        Temperature,
        TemperatureDifference,
        Volume,
        Mass,
        SmallMass,
        Gravity,
        Brix,
        Colour,
        Flow,
        BoilOff,
        Height,
        Minutes,
        Percent,
        Plain,
    ];
    for units in [metric(), american(), plato()] {
        for dimension in every {
            let values = if dimension == Gravity { [0.998, 1.004, 1.048, 1.1203] } else { [0.028, 4.5, 19.0, 66.7] };
            for kept in values {
                let text = as_typed(kept, dimension, &units);
                let back = read(&text, dimension, &units).unwrap_or_else(|why| panic!("{dimension:?} {text}: {why}"));
                assert!((back.kept - kept).abs() <= 1e-6 * kept, "{dimension:?}: {kept} became {}", back.kept);
                // Saved again untouched, it stays what it was.
                assert_eq!(as_typed(back.kept, dimension, &units), text, "{dimension:?} {kept}");
            }
        }
    }
    assert_eq!(as_typed(4.5, Mass, &metric()), "4.5");
    assert_eq!(as_typed(19.0, Volume, &metric()), "19");
    assert_eq!(as_typed(100.0, Temperature, &american()), "212");
}

#[test]
fn what_is_outside_its_range_is_told_in_the_brewers_unit() {
    let sentence = outside(&plausible::TEMPERATURE, 121.0, &american());
    assert_eq!(sentence, "249.8\u{a0}°F is outside what a temperature can be: 14 to 239\u{a0}°F.");
    let sentence = outside(&plausible::TEMPERATURE, -12.5, &metric());
    assert_eq!(sentence, "−12.5\u{a0}°C is outside what a temperature can be: −10 to 115\u{a0}°C.");
    let sentence = outside(&plausible::PH, 14.0, &metric());
    assert_eq!(sentence, "14 is outside what a pH can be: 2 to 12.");
}

#[test]
fn a_unit_is_spelt_in_one_way_on_one_scale_only() {
    for dimension in [Temperature, Volume, Mass, SmallMass, Gravity, Colour, Flow, BoilOff, Height, Minutes] {
        let mut spellings: Vec<_> = scales(dimension).iter().flat_map(|scale| scale.spellings).collect();
        let all = spellings.len();
        spellings.sort_unstable();
        spellings.dedup();
        assert_eq!(spellings.len(), all, "{dimension:?}");
    }
}

#[test]
fn a_computed_figure_without_a_unit_is_shown_to_three_figures() {
    let told = |value, dimension| show_computed(value, dimension, &Units::default()).to_string();
    let plain = [32.8927, 166.0889, 0.0123456, 6.387, 0.0].map(|value| told(value, Plain));
    assert_eq!(plain, ["32.9", "166", "0.0123", "6.39", "0"]);
    assert_eq!(told(909.8, Minutes), "15\u{a0}h 10\u{a0}min");
    assert_eq!(told(32.8927, Mass), "32.893\u{a0}kg", "a unit has decimals of its own");
}

#[test]
fn what_is_by_two_units_follows_both() {
    let told = |kept, dimension, units: &Units| show(kept, dimension, units).to_string();
    let spoken = |volume, mass| Units { volume, mass, ..metric() };
    // 1 L/kg × 0.453592/3.785412 = 0.1198 US gal/lb; its inverse for ice.
    let both = spoken(VolumeUnit::UsGallons, MassUnit::Avoirdupois);
    assert_eq!(told(1.0, Absorption, &both), "0.120\u{a0}US gal/lb");
    assert_eq!(told(1.0, MassPerVolume, &both), "8.35\u{a0}lb/US gal");
    assert_eq!(told(1.0, Absorption, &spoken(VolumeUnit::Litres, MassUnit::Avoirdupois)), "0.45\u{a0}L/lb");
    assert_eq!(told(1.0, Absorption, &spoken(VolumeUnit::UsGallons, MassUnit::Metric)), "0.264\u{a0}US gal/kg");
    assert_eq!(told(0.2, MassPerVolume, &spoken(VolumeUnit::UsGallons, MassUnit::Metric)), "0.76\u{a0}kg/US gal");
    assert_eq!(told(0.2, MassPerVolume, &metric()), "0.20\u{a0}kg/L");
}

#[test]
fn a_sentence_is_spoken_in_the_brewers_units_and_its_words_are_left() {
    use crate::brewday::said::{Part, Said};
    let said = Said::of([Part::words("20 °C, they wrote: "), Part::Figure(18.5, Temperature)]);
    assert_eq!(speak(&said, &american()), "20 °C, they wrote: 65.3\u{a0}°F");
    assert_eq!(said.to_string(), "20 °C, they wrote: 18.5 °C");
    assert_eq!(mark(80.0, &american()).to_string(), "176\u{a0}°F");
}
