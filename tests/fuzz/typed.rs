//! What people type: numbers with units, times, forms.

use gylebook::brewday::batch::NewBatch;
use gylebook::brewday::choices::Choice;
use gylebook::brewday::plausible::Dimension;
use gylebook::brewday::settings::Units;
use gylebook::brewday::{Entry, Equipment, Recipe};
use gylebook::web::Frame;
use gylebook::web::form::Form;
use gylebook::web::page::Light;
use gylebook::web::units;
use gylebook::web::when::{Clock, zone_of};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use time::macros::datetime;

use crate::{bend, fuzz};

const DIMENSIONS: [Dimension; 14] = [
    Dimension::Temperature,
    Dimension::TemperatureDifference,
    Dimension::Volume,
    Dimension::Mass,
    Dimension::SmallMass,
    Dimension::Gravity,
    Dimension::Brix,
    Dimension::Colour,
    Dimension::Flow,
    Dimension::BoilOff,
    Dimension::Height,
    Dimension::Minutes,
    Dimension::Percent,
    Dimension::Plain,
];

const NUMBERS: [&str; 24] = [
    "20",
    "67,5",
    "1.048",
    "1048",
    "1 234,5",
    "1,234.5",
    "12 P",
    "SG 1.048",
    "152 F",
    "66 °C",
    "5 gal",
    "2 lb 3 oz",
    "1'234",
    "−2",
    "60:30",
    "5 %",
    "0.0",
    "1.5 L/min",
    "300 ft",
    "40 SRM",
    ".5",
    "5.",
    "20 US gal",
    "1 kg 200 g",
];

const TIMES: [&str; 14] = [
    "14:42",
    "2:05",
    "00:00",
    "23:59:59",
    "2026-03-29T02:30",
    "2026-10-25 02:30",
    "2026-03-07T12:00:00Z",
    "2026-03-07T12:00:00+01:00",
    "1969-12-31T23:59:59Z",
    "9999-12-31T23:59",
    "-009999-01-01T00:00",
    "2024-02-29T00:00",
    "2026-03-07T12:00:00.123456789Z",
    "2016-12-31T23:59:60Z",
];

fn units() -> impl Strategy<Value = Units> {
    use gylebook::brewday::choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit};
    let all = (
        select(TemperatureUnit::ALL),
        select(VolumeUnit::ALL),
        select(MassUnit::ALL),
        select(GravityUnit::ALL),
        select(ColourUnit::ALL),
    );
    all.prop_map(|(temperature, volume, mass, gravity, colour)| Units { temperature, volume, mass, gravity, colour })
}

#[test]
fn numbers_with_units() {
    let inputs = (bend::text(&NUMBERS), select(&DIMENSIONS[..]), units());
    fuzz("numbers with units", 1, inputs, |(text, dimension, units)| {
        if let Ok(read) = units::read(&text, dimension, &units) {
            assert!(!read.kept.is_nan(), "{text:?} is read as no number");
            let _ = units::show(read.kept, dimension, &units).to_string();
        }
    });
}

#[test]
fn times_of_day_and_of_the_calendar() {
    let zones = ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC", "No/Where"];
    let nows = [datetime!(2026-03-29 01:30 UTC), datetime!(2026-10-25 01:00 UTC), datetime!(2026-06-15 23:59 UTC)];
    let inputs = (bend::text(&TIMES), select(zones.to_vec()), select(nows.to_vec()));
    fuzz("times", 1, inputs, |(text, zone, now)| {
        let clock = Clock::at(now, zone_of(Some(zone)));
        if let Ok(at) = clock.read(&text) {
            let _ = (clock.field(at), clock.ago(at), clock.short(at));
        }
    });
}

/// Names of fields, sound and bent; what is typed into them.
pub(crate) fn pairs() -> impl Strategy<Value = Vec<(String, String)>> {
    const NAMES: [&str; 34] = [
        "name",
        "id",
        "at",
        "kind",
        "note",
        "place",
        "temperature_c",
        "volume_l",
        "reading",
        "instrument",
        "point",
        "mass_kg",
        "hops.0.mass_kg",
        "hops.1.name",
        "hops.0.use",
        "hops.99999999999999999999.name",
        "fermentables.0.yield_pct",
        "mash_rests.2.min",
        "yeast.name",
        "yeast.kind",
        "row",
        "equipment",
        "equipment.0",
        "recipe",
        "units.temperature",
        "act",
        "method",
        "water_l",
        "ice_kg",
        "item",
        "outcome",
        "boil_min",
        "sent_at",
        "..",
    ];
    const TEXTS: [&str; 14] = [
        "temperature",
        "wort",
        "20",
        "61,5",
        "1.048",
        "pellet",
        "boil",
        "add-hops",
        "remove-hops-0",
        "down-hops-1",
        "14:42",
        "ale",
        "remove-hops-99999999999999999999",
        "0190a1b2-c3d4-7e5f-8a9b-0c1d2e3f4a5b",
    ];
    vec((bend::text(&NAMES), bend::text(&TEXTS)), 0..12)
}

#[test]
fn forms() {
    let frame = Frame::bare(Light::Device);
    let now = frame.clock.now;
    fuzz("forms", 4, pairs(), |pairs| {
        let form = Form::typed(&frame, pairs);
        let back = [
            form.clone().read(Recipe::from_body).err(),
            form.clone().read(Equipment::from_body).err(),
            form.clone().read(NewBatch::from_body).err(),
            form.clone().read(|body| Entry::from_body(body, now, time::Duration::ZERO)).err(),
        ];
        for form in back.into_iter().flatten() {
            assert!(form.row_count("hops") <= 12, "no more rows than fields");
            let _ = (form.faults(), form.rows("hops", 1), form.unit("hops.0.mass_kg"), form.says_the_same(&form));
        }
    });
}

#[test]
fn forms_as_they_are_sent() {
    const BODIES: [&str; 6] = [
        "kind=temperature&place=wort&temperature_c=61%2C5&id=0190a1b2-c3d4-7e5f-8a9b-0c1d2e3f4a5b",
        "name=Pale&hops.0.name=A&hops.0.mass_kg=40+g&hops.0.use=boil&hops.0.min=60&row=add-hops",
        "a=%&b=%zz&c=%00&&=&==",
        "note=%F0%9F%8D%BA&note=%ff%fe",
        "equipment=1&equipment=2&equipment=x",
        "lists.0.items.0.text=Kettle+clean&lists.0.items.1.text=",
    ];
    let frame = Frame::bare(Light::Device);
    fuzz("forms as sent", 2, bend::text(&BODIES), |body| {
        let pairs: Vec<_> = form_urlencoded::parse(body.as_bytes()).into_owned().collect();
        let _ = Form::typed(&frame, pairs).read(Recipe::from_body).map_err(|form| form.faults());
    });
}
