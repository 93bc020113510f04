//! The scales each dimension is shown on and read in.

use super::Dimension;
use crate::{
    brewday::{
        Units,
        choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
    },
    science::{
        gravity,
        units::{
            Colour, FlowRate, Length, Mass, Plato, SpecificGravity, Temperature, TemperatureDifference, TimeSpan,
            Volume,
        },
    },
};

/// One unit a dimension is spoken in.
#[derive(Debug)]
pub struct Scale {
    /// Beside the number: "°C".
    pub symbol: &'static str,
    /// Read aloud, in a label: "degrees Celsius".
    pub spoken: &'static str,
    /// How it may be typed, in lower case and without spaces.
    pub spellings: &'static [&'static str],
    /// From a number on this scale to what is kept.
    pub to_kept: fn(f64) -> f64,
    /// From what is kept to a number on this scale.
    pub from_kept: fn(f64) -> f64,
    /// Decimals shown.
    pub decimals: Decimals,
}

/// How many decimals a scale is worth.
#[derive(Clone, Copy, Debug)]
pub enum Decimals {
    /// Always so many: a column of them lines up.
    Fixed(usize),
    /// So many where the number is below ten, one fewer below a hundred, and so on.
    Below10(usize),
    /// At most so many, without zeros at the end.
    UpTo(usize),
}

use Decimals::{Below10, Fixed, UpTo};

const fn same(value: f64) -> f64 {
    value
}

macro_rules! scale {
    ($symbol:literal, $spoken:literal, [$($spelling:literal),*], $to:expr, $from:expr, $decimals:expr) => {
        Scale {
            symbol: $symbol,
            spoken: $spoken,
            spellings: &[$($spelling),*],
            to_kept: $to,
            from_kept: $from,
            decimals: $decimals,
        }
    };
}

static TEMPERATURE: [Scale; 2] = [
    scale!("°C", "degrees Celsius", ["°c", "c", "ºc", "degc", "celsius"], same, same, Fixed(1)),
    scale!(
        "°F",
        "degrees Fahrenheit",
        ["°f", "f", "ºf", "degf", "fahrenheit"],
        |v| Temperature::from_fahrenheit(v).celsius(),
        |v| Temperature::from_celsius(v).fahrenheit(),
        Fixed(1)
    ),
];

static DIFFERENCE: [Scale; 2] = [
    scale!("°C", "degrees Celsius", ["°c", "c", "ºc", "degc", "celsius", "k", "kelvin"], same, same, UpTo(2)),
    scale!(
        "°F",
        "degrees Fahrenheit",
        ["°f", "f", "ºf", "degf", "fahrenheit"],
        |v| TemperatureDifference::from_fahrenheit_degrees(v).kelvins(),
        |v| TemperatureDifference::from_kelvins(v).fahrenheit_degrees(),
        UpTo(2)
    ),
];

/// A US liquid quart is a quarter of its gallon [NIST-SP811].
const US_QUARTS_PER_GALLON: f64 = 4.0;

static VOLUME: [Scale; 5] = [
    scale!("L", "litres", ["l", "litre", "litres", "liter", "liters", "ltr"], same, same, Below10(2)),
    scale!(
        "US gal",
        "US gallons",
        ["usgal", "gal", "gals", "gallon", "gallons", "usgallon", "usgallons", "galus"],
        |v| Volume::from_us_gallons(v).litres(),
        |v| Volume::from_litres(v).us_gallons(),
        Fixed(2)
    ),
    scale!(
        "mL",
        "millilitres",
        ["ml", "millilitre", "millilitres", "milliliter", "milliliters", "cc"],
        |v| Volume::from_millilitres(v).litres(),
        |v| Volume::from_litres(v).millilitres(),
        UpTo(0)
    ),
    scale!("hL", "hectolitres", ["hl", "hectolitre", "hectolitres"], |v| v * 100.0, |v| v / 100.0, UpTo(3)),
    scale!(
        "US qt",
        "US quarts",
        ["usqt", "qt", "qts", "quart", "quarts"],
        |v| Volume::from_us_gallons(v / US_QUARTS_PER_GALLON).litres(),
        |v| Volume::from_litres(v).us_gallons() * US_QUARTS_PER_GALLON,
        UpTo(2)
    ),
];

const KILOGRAM: Scale =
    scale!("kg", "kilograms", ["kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"], same, same, UpTo(3));
const GRAM: Scale = scale!(
    "g",
    "grams",
    ["g", "gr", "gram", "grams", "gramme", "grammes"],
    |v| Mass::from_grams(v).kilograms(),
    |v| Mass::from_kilograms(v).grams(),
    UpTo(1)
);
const POUND: Scale = scale!(
    "lb",
    "pounds",
    ["lb", "lbs", "pound", "pounds"],
    |v| Mass::from_pounds(v).kilograms(),
    |v| Mass::from_kilograms(v).pounds(),
    UpTo(2)
);
const OUNCE: Scale = scale!(
    "oz",
    "ounces",
    ["oz", "ozs", "ounce", "ounces"],
    |v| Mass::from_ounces(v).kilograms(),
    |v| Mass::from_kilograms(v).ounces(),
    UpTo(2)
);
const MILLIGRAM: Scale = scale!(
    "mg",
    "milligrams",
    ["mg", "milligram", "milligrams"],
    |v| Mass::from_grams(v / 1000.0).kilograms(),
    |v| Mass::from_kilograms(v).grams() * 1000.0,
    UpTo(0)
);

static MASS: [Scale; 5] = [KILOGRAM, POUND, GRAM, OUNCE, MILLIGRAM];
static SMALL_MASS: [Scale; 5] = [GRAM, OUNCE, KILOGRAM, POUND, MILLIGRAM];

static GRAVITY: [Scale; 2] = [
    scale!("SG", "specific gravity", ["sg"], same, same, Fixed(3)),
    scale!("°P", "degrees Plato", ["°p", "p", "ºp", "plato", "°plato", "degp"], sg_of_plato, plato_of_sg, Fixed(1)),
];

fn sg_of_plato(degrees: f64) -> f64 {
    gravity::specific_gravity(Plato::from_degrees(degrees)).ratio()
}

fn plato_of_sg(ratio: f64) -> f64 {
    gravity::plato(SpecificGravity::from_ratio(ratio)).degrees()
}

static BRIX: [Scale; 1] = [scale!("°Bx", "degrees Brix", ["°bx", "bx", "ºbx", "brix", "°brix"], same, same, Fixed(1))];

static COLOUR: [Scale; 2] = [
    scale!("EBC", "EBC", ["ebc"], same, same, Below10(1)),
    scale!("SRM", "SRM", ["srm"], |v| Colour::from_srm(v).ebc(), |v| Colour::from_ebc(v).srm(), Below10(1)),
];

static FLOW: [Scale; 4] = [
    scale!("L/min", "litres per minute", ["l/min", "lpm", "l/m", "litres/min", "lperminute"], same, same, Below10(2)),
    scale!(
        "US gal/min",
        "US gallons per minute",
        ["usgal/min", "gal/min", "gpm", "gallons/min"],
        |v| Volume::from_us_gallons(v).litres(),
        |v| Volume::from_litres(v).us_gallons(),
        Below10(2)
    ),
    scale!(
        "L/h",
        "litres per hour",
        ["l/h", "l/hr", "lph"],
        |v| FlowRate::from_litres_per_hour(v).litres_per_minute(),
        |v| FlowRate::from_litres_per_minute(v).litres_per_hour(),
        UpTo(1)
    ),
    scale!(
        "mL/min",
        "millilitres per minute",
        ["ml/min"],
        |v| Volume::from_millilitres(v).litres(),
        |v| Volume::from_litres(v).millilitres(),
        UpTo(0)
    ),
];

static BOIL_OFF: [Scale; 2] = [
    scale!("L/h", "litres per hour", ["l/h", "l/hr", "lph", "litres/h", "litres/hour"], same, same, Fixed(1)),
    scale!(
        "US gal/h",
        "US gallons per hour",
        ["usgal/h", "gal/h", "gal/hr", "gph", "gallons/hour"],
        |v| Volume::from_us_gallons(v).litres(),
        |v| Volume::from_litres(v).us_gallons(),
        Fixed(2)
    ),
];

/// By the unit of volume, then by the unit of mass.
static ABSORPTION: [Scale; 4] = [
    scale!("L/kg", "litres per kilogram", ["l/kg"], same, same, Fixed(2)),
    scale!("L/lb", "litres per pound", ["l/lb"], |v| v / kilograms(1.0), |v| v * kilograms(1.0), Fixed(2)),
    scale!("US gal/kg", "US gallons per kilogram", ["usgal/kg", "gal/kg"], litres, us_gallons, Fixed(3)),
    scale!(
        "US gal/lb",
        "US gallons per pound",
        ["usgal/lb", "gal/lb"],
        |v| litres(v) / kilograms(1.0),
        |v| us_gallons(v) * kilograms(1.0),
        Fixed(3)
    ),
];

/// By the unit of volume, then by the unit of mass.
static MASS_PER_VOLUME: [Scale; 4] = [
    scale!("kg/L", "kilograms per litre", ["kg/l"], same, same, Fixed(2)),
    scale!("lb/L", "pounds per litre", ["lb/l"], |v| v * kilograms(1.0), |v| v / kilograms(1.0), Fixed(2)),
    scale!("kg/US gal", "kilograms per US gallon", ["kg/usgal", "kg/gal"], us_gallons, litres, Fixed(2)),
    scale!(
        "lb/US gal",
        "pounds per US gallon",
        ["lb/usgal", "lb/gal"],
        |v| us_gallons(v) * kilograms(1.0),
        |v| litres(v) / kilograms(1.0),
        Fixed(2)
    ),
];

fn litres(us_gallons: f64) -> f64 {
    Volume::from_us_gallons(us_gallons).litres()
}

fn us_gallons(litres: f64) -> f64 {
    Volume::from_litres(litres).us_gallons()
}

fn kilograms(pounds: f64) -> f64 {
    Mass::from_pounds(pounds).kilograms()
}

static HEIGHT: [Scale; 2] = [
    scale!("m", "metres", ["m", "metre", "metres", "meter", "meters", "masl"], same, same, UpTo(0)),
    scale!(
        "ft",
        "feet",
        ["ft", "feet", "foot", "'"],
        |v| Length::from_feet(v).metres(),
        |v| Length::from_metres(v).feet(),
        UpTo(0)
    ),
];

static MINUTES: [Scale; 3] = [
    scale!("min", "minutes", ["min", "mins", "minute", "minutes", "m", "'"], same, same, UpTo(1)),
    scale!(
        "h",
        "hours",
        ["h", "hr", "hrs", "hour", "hours"],
        |v| TimeSpan::from_hours(v).minutes(),
        |v| TimeSpan::from_minutes(v).hours(),
        UpTo(2)
    ),
    scale!(
        "s",
        "seconds",
        ["s", "sec", "secs", "second", "seconds"],
        |v| TimeSpan::from_seconds(v).minutes(),
        |v| TimeSpan::from_minutes(v).seconds(),
        UpTo(0)
    ),
];

static PERCENT: [Scale; 1] = [scale!("%", "per cent", ["%", "pct", "percent", "percents"], same, same, UpTo(1))];

static PLAIN: [Scale; 1] = [scale!("", "", [], same, same, UpTo(4))];

/// Every scale a dimension may be typed in.
#[must_use]
pub fn scales(dimension: Dimension) -> &'static [Scale] {
    match dimension {
        Dimension::Temperature => &TEMPERATURE,
        Dimension::TemperatureDifference => &DIFFERENCE,
        Dimension::Volume => &VOLUME,
        Dimension::Mass => &MASS,
        Dimension::SmallMass => &SMALL_MASS,
        Dimension::Gravity => &GRAVITY,
        Dimension::Brix => &BRIX,
        Dimension::Colour => &COLOUR,
        Dimension::Flow => &FLOW,
        Dimension::BoilOff => &BOIL_OFF,
        Dimension::Absorption => &ABSORPTION,
        Dimension::MassPerVolume => &MASS_PER_VOLUME,
        Dimension::Height => &HEIGHT,
        Dimension::Minutes => &MINUTES,
        Dimension::Percent => &PERCENT,
        Dimension::Plain => &PLAIN,
    }
}

/// The scale the brewer chose for a dimension. Heights follow the volumes:
/// whoever measures in gallons measures in feet.
#[must_use]
pub fn chosen(dimension: Dimension, units: &Units) -> &'static Scale {
    let by_volume = usize::from(units.volume == VolumeUnit::UsGallons);
    let by_mass = usize::from(units.mass == MassUnit::Avoirdupois);
    let place = match dimension {
        Dimension::Temperature | Dimension::TemperatureDifference => {
            usize::from(units.temperature == TemperatureUnit::Fahrenheit)
        }
        Dimension::Volume | Dimension::Flow | Dimension::BoilOff | Dimension::Height => by_volume,
        Dimension::Mass | Dimension::SmallMass => by_mass,
        Dimension::Absorption | Dimension::MassPerVolume => 2 * by_volume + by_mass,
        Dimension::Gravity => usize::from(units.gravity == GravityUnit::Plato),
        Dimension::Colour => usize::from(units.colour == ColourUnit::Srm),
        Dimension::Brix | Dimension::Minutes | Dimension::Percent | Dimension::Plain => 0,
    };
    &scales(dimension)[place]
}
