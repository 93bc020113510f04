//! A form keeps everything, understands what it can, and says what it can't.

use jiff::tz::TimeZone;
use serde_json::json;
use time::macros::datetime;

use super::*;
use crate::{
    brewday::{
        Entry, Equipment, Recipe, Settings, Units,
        choices::{GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
    },
    web::page::Light,
};

fn frame(units: Units) -> Frame {
    let clock = Clock::at(datetime!(2026-03-07 14:00 UTC), TimeZone::get("Europe/Berlin").expect("a zone"));
    Frame { settings: Settings { units, ..Settings::default() }, clock, light: Light::Device, demo: false }
}

fn metric() -> Frame {
    frame(Units::default())
}

fn american() -> Frame {
    frame(Units {
        temperature: TemperatureUnit::Fahrenheit,
        volume: VolumeUnit::UsGallons,
        mass: MassUnit::Avoirdupois,
        ..Units::default()
    })
}

fn typed(frame: &Frame, pairs: &[(&str, &str)]) -> Form {
    Form::typed(frame, pairs.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
}

/// The body as it would reach the record's own reader.
fn body(form: Form) -> Value {
    form.read(|body| Ok(body.clone())).expect("a form without faults")
}

const RECIPE: [(&str, &str); 19] = [
    ("name", "Lantern Row Pale"),
    ("volume_l", "5"),
    ("boil_min", "60"),
    ("target_pitch_c", "66"),
    ("pitch_low_c", "64"),
    ("pitch_high_c", "68 °F"),
    ("fermentables.0.name", "Pale malt"),
    ("fermentables.0.mass_kg", "10 lb 4 oz"),
    ("fermentables.0.yield_pct", "80 %"),
    ("fermentables.0.moisture_pct", "4"),
    ("fermentables.0.colour_ebc", "6"),
    ("fermentables.0.use", "mash"),
    ("hops.0.name", "Field hop"),
    ("hops.0.mass_kg", "1"),
    ("hops.0.alpha_pct", "5,5"),
    ("hops.0.form", "pellet"),
    ("hops.0.use", "boil"),
    ("hops.0.min", "60"),
    ("notes", ""),
];

#[test]
fn a_recipe_in_american_units_becomes_canonical_fields() {
    let recipe = typed(&american(), &RECIPE).read(Recipe::from_body).expect("a recipe");
    assert!((recipe.volume_l - 18.927_059).abs() < 1e-6);
    assert!((recipe.target_pitch_c - 18.888_889).abs() < 1e-6);
    assert!((recipe.fermentables[0].mass_kg - 4.649_322).abs() < 1e-6);
    assert!((recipe.hops[0].mass_kg - 0.028_350).abs() < 1e-6, "hops are weighed in ounces");
    assert_eq!(recipe.notes, None);
    assert_eq!(recipe.typed["fermentables.0.mass_kg"], "10 lb 4 oz");
    assert_eq!(recipe.typed["volume_l"], "5 US gal", "a unit not typed is told");
    assert_eq!(recipe.typed.get("boil_min"), None, "a plain canonical number says all");
}

#[test]
fn a_form_filled_with_a_record_reads_back_as_that_record() {
    for frame in [metric(), american()] {
        let recipe = typed(&american(), &RECIPE).read(Recipe::from_body).expect("a recipe");
        let kept = serde_json::to_value(&recipe).expect("a body");
        let form = Form::filled(&frame, &kept);
        assert_eq!(form.value("fermentables.0.mass_kg"), "10 lb 4 oz", "as it was typed");
        assert_eq!(form.value("fermentables.0.yield_pct"), "80", "its unit stands beside the field");
        let again = form.read(Recipe::from_body).expect("the same recipe");
        assert_eq!(again.fermentables, recipe.fermentables);
        assert_eq!(again.hops, recipe.hops);
        assert!((again.volume_l - recipe.volume_l).abs() < 1e-9);
    }
}

#[test]
fn a_row_is_taken_out_by_the_number_it_had_on_the_page() {
    let rows =
        [("hops.1.name", "A"), ("hops.4.name", "B"), ("lists.0.items.1.text", "C"), ("lists.0.items.3.text", "D")];
    let left = |button: &str| {
        let form = typed(&metric(), &[rows.as_slice(), &[("row", button)]].concat());
        let names = ["hops.0.name", "hops.1.name", "lists.0.items.0.text", "lists.0.items.1.text"];
        names.map(|name| form.value(name).to_owned()).concat()
    };
    assert_eq!(left("remove-hops-1"), "BCD");
    assert_eq!(left("remove-lists.0.items-3"), "ABC");
    for none in ["add-hops", "remove-hops-0", "remove-hops-", "remove-hops-one", "remove--1", "hops-1", ""] {
        assert_eq!(left(none), "ABCD", "{none:?}");
    }
}

#[test]
fn what_was_typed_gives_way_where_the_value_is_another() {
    let body = json!({ "volume_l": 20.0, "typed": { "volume_l": "5 US gal" } });
    assert_eq!(Form::filled(&metric(), &body).value("volume_l"), "20");
}

#[test]
fn a_faulty_form_comes_back_with_everything_typed_and_a_sentence_each() {
    let mut pairs = RECIPE.to_vec();
    pairs[1].1 = "five gallons";
    pairs[5].1 = "300";
    pairs[0].1 = "  ";
    let form = typed(&american(), &pairs).read(Recipe::from_body).expect_err("faults");
    for (name, text) in pairs {
        assert_eq!(form.value(name), text, "{name} is lost");
    }
    assert_eq!(form.fault("name").as_deref(), Some("This is needed."));
    assert_eq!(
        form.fault("volume_l").as_deref(),
        Some("“five gallons” is no number that can be read here. Type it like 4.5.")
    );
    assert_eq!(
        form.fault("pitch_high_c").as_deref(),
        Some("300\u{a0}°F is outside what a temperature can be: 14 to 239\u{a0}°F.")
    );
    let told = form.faults();
    let of_volume: Vec<_> = told.iter().filter(|told| told.id == "volume_l").collect();
    assert_eq!(of_volume.len(), 1, "a text that can't be read is not also missing");
    assert_eq!(of_volume[0].place, "Volume");
}

#[test]
fn rows_close_up_in_order_and_blank_ones_are_dropped() {
    let form = typed(
        &metric(),
        &[
            ("hops.0.name", ""),
            ("hops.0.use", "boil"),
            ("hops.7.name", "Late"),
            ("hops.7.mass_kg", "20"),
            ("hops.2.name", "First"),
            ("hops.2.mass_kg", " "),
            ("hops.10.mass_kg", "5"),
        ],
    );
    assert_eq!(form.row_count("hops"), 3);
    assert_eq!(form.rows("hops", 1), ["hops.0", "hops.1", "hops.2", "hops.3"]);
    assert_eq!(form.value("hops.1.name"), "Late");
    let body = body(form);
    assert_eq!(body["hops"], json!([{ "name": "First" }, { "name": "Late", "mass_kg": 0.02 }, { "mass_kg": 0.005 }]));
}

#[test]
fn rows_within_rows_close_up_too() {
    let form = typed(
        &metric(),
        &[
            ("lists.4.name", "Before"),
            ("lists.4.items.9.text", "Flush"),
            ("lists.4.items.3.text", "Weigh"),
            ("lists.1.name", ""),
        ],
    );
    assert_eq!(body(form)["lists"], json!([{ "name": "Before", "items": [{ "text": "Weigh" }, { "text": "Flush" }] }]));
}

#[test]
fn a_row_that_cannot_be_read_keeps_the_place_of_those_after_it() {
    let pairs = [("mash_rests.0.min", "soon"), ("mash_rests.1.min", "60"), ("mash_rests.1.temperature_c", "200")];
    let form = typed(&metric(), &pairs).read(Recipe::from_body).expect_err("faults");
    assert!(form.fault("mash_rests.0.min").is_some_and(|why| why.starts_with("“soon”")));
    assert_eq!(form.fault("mash_rests.0.temperature_c").as_deref(), Some("This is needed."));
    assert!(form.fault("mash_rests.1.temperature_c").is_some_and(|why| why.contains("outside")));
    assert_eq!(
        form.faults().iter().find(|told| told.id == "mash_rests.0.min").map(|told| told.place.as_str()),
        Some("Rest 1, minutes")
    );
}

#[test]
fn ticked_records_become_a_list_and_a_chosen_one_stays_one() {
    let form = typed(&metric(), &[("recipe", "3"), ("equipment.2", "11"), ("equipment.5", "14")]);
    assert_eq!(body(form), json!({ "recipe": 3, "equipment": [11, 14] }));
    let form = typed(&metric(), &[("kind", "care"), ("equipment", "11"), ("mass_kg", "4.2")]);
    assert_eq!(body(form), json!({ "kind": "care", "equipment": 11, "mass_kg": 4.2 }));
}

#[test]
fn a_reading_is_on_the_scale_of_its_instrument() {
    let plato = frame(Units { gravity: GravityUnit::Plato, ..Units::default() });
    let of = |instrument, reading| body(typed(&plato, &[("instrument", instrument), ("reading", reading)]));
    assert!(of("hydrometer", "12")["reading"].as_f64().is_some_and(|sg| (sg - 1.048_37).abs() < 1e-5));
    assert_eq!(of("refractometer", "12")["reading"], json!(12.0));
    let form = typed(&plato, &[("instrument", "refractometer")]);
    assert_eq!((form.unit("reading"), form.unit_spoken("reading")), ("°Bx", "degrees Brix"));
}

#[test]
fn an_instruments_offset_is_in_its_own_unit() {
    let of = |kind, offset| body(typed(&american(), &[("kind", kind), ("offset", offset)]))["offset"].as_f64();
    assert!(of("thermometer", "0.9").is_some_and(|kelvins| (kelvins - 0.5).abs() < 1e-9));
    assert_eq!(of("hydrometer", "0.002"), Some(0.002));
    assert_eq!(of("refractometer", "-0.2"), Some(-0.2));
    let equipment = typed(&american(), &[("kind", "thermometer"), ("name", "Probe"), ("offset", "0.9")]);
    assert!(equipment.read(Equipment::from_body).is_ok());
}

#[test]
fn an_entry_is_weighed_and_timed_as_its_kind_is() {
    let pairs = [
        ("id", "0195703e-0000-7000-8000-000000000001"),
        ("at", "14:42"),
        ("kind", "addition"),
        ("what", "Field hop"),
        ("mass_kg", "28"),
    ];
    let now = datetime!(2026-03-07 14:00 UTC);
    let read = |body: &Value| Entry::from_body(body, now, time::Duration::ZERO);
    let entry = typed(&metric(), &pairs).read(read).expect("an entry");
    assert_eq!(entry.at, datetime!(2026-03-07 13:42 UTC));
    assert_eq!(entry.to_body()["mass_kg"], json!(0.028));
    assert_eq!(entry.typed["mass_kg"], "28 g");
}

#[test]
fn the_last_of_two_counts_and_the_button_pressed_is_taken_out() {
    let mut form = typed(&metric(), &[("void", "false"), ("void", "true"), ("then", "another"), ("why", "slip")]);
    assert_eq!(form.take("then").as_deref(), Some("another"));
    assert_eq!(form.take("then"), None);
    assert_eq!(body(form), json!({ "void": true, "why": "slip" }));
}

#[test]
fn a_field_nobody_asked_for_is_named() {
    let mut pairs = RECIPE.to_vec();
    pairs.push(("colour", "pale"));
    let form = typed(&american(), &pairs).read(Recipe::from_body).expect_err("a fault");
    assert_eq!(form.fault("colour").as_deref(), Some("There is no field of this name here."));
}

#[test]
fn several_forms_on_a_page_keep_their_ids_apart() {
    let form = typed(&metric(), &[("temperature_c", "x")]).named("gravity");
    let form = form.read(|_| Err::<(), _>(vec![])).expect_err("a fault");
    assert_eq!(form.id("temperature_c"), "gravity-temperature_c");
    assert_eq!(form.faults()[0].id, "gravity-temperature_c");
    assert_eq!(form.described_by("temperature_c", "a hint"), "gravity-temperature_c-hint gravity-temperature_c-fault");
}

#[test]
fn fields_are_named_in_words() {
    for (name, words) in [
        ("name", "Name"),
        ("volume_l", "Volume"),
        ("hops.1.alpha_pct", "Hop 2, alpha acids"),
        ("fermentables.0.mass_kg", "Malt or sugar 1, mass"),
        ("yeast.cells_billion", "Yeast, cells"),
        ("ph", "pH"),
        ("units.temperature", "Units, temperature"),
        ("dead_space_l", "Dead space"),
        ("mash_rests.2.temperature_c", "Rest 3, temperature"),
    ] {
        assert_eq!(names::spoken(name), words);
    }
}

#[test]
fn one_missing_field_is_one_fault_and_not_the_fault_of_others() {
    for missing in ["boil_min", "pitch_high_c", "pitch_low_c", "target_pitch_c"] {
        let pairs: Vec<_> = RECIPE.into_iter().filter(|(name, _)| *name != missing).collect();
        let form = typed(&american(), &pairs).read(Recipe::from_body).expect_err("a fault");
        let told: Vec<_> = form.faults().into_iter().map(|told| told.id).collect();
        assert_eq!(told, [missing]);
    }
}

#[test]
fn a_number_no_row_can_have_makes_no_rows() {
    for number in ["+9999999999", "99999999999999999999999", "-1", "0x9", " 9", "1e9"] {
        let form = typed(&metric(), &[(&format!("hops.{number}.name"), "Bittering hop")]);
        assert_eq!(form.rows("hops", 1), ["hops.0"], "{number}");
    }
    let form = typed(&metric(), &[("hops.18446744073709551615.name", "Bittering hop")]);
    assert_eq!(form.rows("hops", 0), ["hops.0"], "it is the only one");
}

#[test]
fn a_name_that_begins_with_a_number_is_a_field_like_any_other() {
    for name in ["9999999999.name", "0.name", "0.0.name"] {
        let read = body(typed(&metric(), &[(name, "Bittering hop"), ("temperature_c", "61,5")]));
        assert_eq!(read["temperature_c"], 61.5, "{name}");
    }
}
