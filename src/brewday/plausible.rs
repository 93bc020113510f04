//! What the record considers possible: one table of ranges.
//!
//! The parser checks against it, the refusal quotes it, a form's hint shows
//! it. A value inside its range may still be odd (a mash at 20 °C): it is kept,
//! and marked where the day is read back.

/// What a number measures, so that it can be shown in the brewer's own units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// A temperature, kept in °C.
    Temperature,
    /// A temperature difference, kept in kelvins.
    TemperatureDifference,
    /// A volume, kept in litres.
    Volume,
    /// A mass of malt, water, ice or equipment, kept in kilograms.
    Mass,
    /// A mass of hops, salts or dry yeast, kept in kilograms and spoken of in grams.
    SmallMass,
    /// A specific gravity 20/20.
    Gravity,
    /// A refractometer's °Bx.
    Brix,
    /// A colour, kept in EBC.
    Colour,
    /// A flow, kept in litres per minute.
    Flow,
    /// A rate of boiling off, kept in litres per hour.
    BoilOff,
    /// What a mass of grain keeps of the water poured on it, kept in litres per kilogram.
    Absorption,
    /// Ice for a volume of wort, kept in kilograms per litre.
    MassPerVolume,
    /// A height above the sea, kept in metres.
    Height,
    /// Minutes.
    Minutes,
    /// Per cent.
    Percent,
    /// A number with no unit of its own.
    Plain,
}

/// A closed range of plausible values in the unit the record keeps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// What it is, with its article: "a temperature".
    pub what: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// The least that is taken.
    pub min: f64,
    /// The most that is taken.
    pub max: f64,
}

impl Range {
    const fn new(what: &'static str, dimension: Dimension, min: f64, max: f64) -> Self {
        Self { what, dimension, min, max }
    }

    /// Whether the record takes this value. Not a number is never taken.
    #[must_use]
    pub fn takes(&self, value: f64) -> bool {
        (self.min..=self.max).contains(&value)
    }
}

/// A thermometer reading.
pub const TEMPERATURE: Range = Range::new("a temperature", Dimension::Temperature, -10.0, 115.0);
/// How far a reading may be off.
pub const TEMPERATURE_DIFFERENCE: Range =
    Range::new("a temperature difference", Dimension::TemperatureDifference, -20.0, 20.0);
/// A volume read in a vessel: something, and at most 2,000 L.
pub const VOLUME: Range = Range::new("a volume", Dimension::Volume, 0.001, 2000.0);
/// A volume that may be nothing (dead space, hold-up, no sparge).
pub const VOLUME_OR_NONE: Range = Range::new("a volume", Dimension::Volume, 0.0, 2000.0);
/// A mass of malt, water, ice or a vessel.
pub const MASS: Range = Range::new("a mass", Dimension::Mass, 0.0, 2000.0);
/// A mass of hops, salts or dry yeast.
pub const SMALL_MASS: Range = Range::new("a mass", Dimension::SmallMass, 0.0, 2000.0);
/// A hydrometer reading.
pub const GRAVITY: Range = Range::new("a specific gravity", Dimension::Gravity, 0.980, 1.200);
/// How far a hydrometer may be off.
pub const GRAVITY_OFFSET: Range = Range::new("a hydrometer's offset", Dimension::Plain, -0.05, 0.05);
/// How far a refractometer may be off.
pub const BRIX_OFFSET: Range = Range::new("a refractometer's offset", Dimension::Brix, -10.0, 10.0);
/// How far a scale may be off.
pub const MASS_OFFSET: Range = Range::new("a scale's offset", Dimension::Mass, -5.0, 5.0);
/// A refractometer reading.
pub const BRIX: Range = Range::new("a Brix reading", Dimension::Brix, 0.0, 45.0);
/// A pH.
pub const PH: Range = Range::new("a pH", Dimension::Plain, 2.0, 12.0);
/// A colour.
pub const COLOUR: Range = Range::new("a colour", Dimension::Colour, 0.0, 3000.0);
/// A percentage.
pub const PERCENT: Range = Range::new("a percentage", Dimension::Percent, 0.0, 100.0);
/// Minutes of a rest, a boil, an addition.
pub const MINUTES: Range = Range::new("a time", Dimension::Minutes, 0.0, 1440.0);
/// The minutes of one full pass.
pub const PASS: Range = Range::new("a pass time", Dimension::Minutes, 0.1, 240.0);
/// A flow through a coil.
pub const FLOW: Range = Range::new("a flow", Dimension::Flow, 0.01, 200.0);
/// What a kettle boils off.
pub const BOIL_OFF: Range = Range::new("a boil-off", Dimension::BoilOff, 0.0, 200.0);
/// Height above the sea.
pub const ALTITUDE: Range = Range::new("an altitude", Dimension::Height, -430.0, 5500.0);
/// Viable yeast cells, in thousand millions.
pub const CELLS: Range = Range::new("a cell count", Dimension::Plain, 0.0, 1_000_000.0);
/// °Bx over °P.
pub const WORT_FACTOR: Range = Range::new("a wort factor", Dimension::Plain, 0.9, 1.2);
/// An instrument's ±, in its own unit.
pub const UNCERTAINTY: Range = Range::new("an uncertainty", Dimension::Plain, 0.0, 100.0);
/// Watts for each kelvin across a coil.
pub const CONDUCTANCE: Range = Range::new("a conductance", Dimension::Plain, 0.1, 100_000.0);
/// Batches that a habit is told by.
pub const BATCHES_TOLD: Range = Range::new("a number of batches", Dimension::Plain, 1.0, 5.0);
/// Degrees Plato.
pub const PLATO: Range = Range::new("a strength in °P", Dimension::Plain, 0.0, 40.0);
/// The longest name.
pub const NAME_CHARS: usize = 120;
/// The longest line of text.
pub const LINE_CHARS: usize = 300;
/// The longest note.
pub const NOTE_CHARS: usize = 2000;
/// The most rows in one list of a recipe, or ids in one list of a batch.
pub const ROWS: usize = 100;
