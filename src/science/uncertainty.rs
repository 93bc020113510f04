//! How far a reading can be trusted where nobody said otherwise.

use super::units::Measured;

/// What an instrument reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instrument {
    /// A digital probe or dial thermometer, °C.
    Thermometer,
    /// A glass hydrometer, SG.
    Hydrometer,
    /// A hand refractometer, °Bx.
    Refractometer,
    /// A dipstick, sight glass or marked kettle, litres.
    VolumeMark,
    /// A kitchen or luggage scale, kilograms.
    Scale,
    /// A pH meter, pH.
    PhMeter,
}

/// How far off an instrument may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trust {
    /// Which.
    pub instrument: Instrument,
    /// The ± a brewer would say of it: half the width of what it may be.
    pub half_width: f64,
    /// In this unit.
    pub unit: &'static str,
    /// Where the figure comes from.
    pub basis: &'static str,
}

/// The usual ± of each instrument: defaults that the brewer can set.
pub const USUAL: [Trust; 6] = [
    Trust { instrument: Instrument::Thermometer, half_width: 0.5, unit: "°C", basis: "common practice, no source" },
    Trust {
        instrument: Instrument::Hydrometer,
        half_width: 0.001,
        unit: "SG",
        basis: "half of a 0.002 division; common practice, no source",
    },
    Trust {
        instrument: Instrument::Refractometer,
        half_width: 0.2,
        unit: "°Bx",
        basis: "one division of a hand instrument; common practice, no source",
    },
    Trust {
        instrument: Instrument::VolumeMark,
        half_width: 0.25,
        unit: "L",
        basis: "half of a 0.5 L mark; common practice, no source",
    },
    Trust {
        instrument: Instrument::Scale,
        half_width: 0.005,
        unit: "kg",
        basis: "kitchen scale; common practice, no source",
    },
    Trust {
        instrument: Instrument::PhMeter,
        half_width: 0.1,
        unit: "pH",
        basis: "pocket meter, two buffers; common practice, no source",
    },
];

/// The usual ± of an instrument.
///
/// ```
/// use gylebook::science::uncertainty::{self, Instrument};
/// assert_eq!(uncertainty::usual(Instrument::Hydrometer).half_width, 0.001);
/// ```
#[must_use]
pub fn usual(instrument: Instrument) -> Trust {
    USUAL[instrument as usize]
}

/// The standard error behind a "±": `a/√3`.
///
/// A brewer's "± a" says where the truth lies and favours no place within, and
/// that is how wide such a spread is [GUM-2008, 4.3.7].
///
/// ```
/// use gylebook::science::uncertainty;
/// assert!((uncertainty::standard_error(0.25) - 0.144).abs() < 0.0005);
/// ```
#[must_use]
pub fn standard_error(half_width: f64) -> f64 {
    half_width.abs() / 3.0_f64.sqrt()
}

impl Trust {
    /// A reading of this instrument with its standard error.
    #[must_use]
    pub fn of(self, reading: f64) -> Measured {
        Measured::new(reading, standard_error(self.half_width))
    }
}
