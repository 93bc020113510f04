//! The trade's computation, as pure functions on quantities.
//!
//! No clock, no file, no database: a figure is what its readings make it, today
//! and in ten years. Every formula says what it is for, its units, equation,
//! symbols, the range it holds in and its source, with one worked example that
//! runs as a test. `tests/published/` holds each to its source's own numbers,
//! `tests/laws/` to what must be true of any numbers.
//!
//! Sources are cited by tag, `[Kell-1975]` say; [`bibliography::BIBLIOGRAPHY`]
//! spells them out and says how far each was followed back. A figure from memory
//! says so, and what second way it was checked; what the trade does without a
//! source is marked as common practice.
//!
//! | module | what it answers |
//! | --- | --- |
//! | [`units`] | quantities that know their unit, and [`units::Measured`], which knows its error |
//! | [`water`] | how dense water is, and what heat it, ice and steam hold |
//! | [`wort`] | the same for wort, and [`wort::Wort`]: a volume and a strength |
//! | [`boiling_point`] | where water boils up here |
//! | [`gravity`] | SG and °P, hydrometer, refractometer, attenuation and alcohol |
//! | [`extract`] | potential, efficiencies, boil-off, points, and the extract account |
//! | [`mash`] | strike and infusion heat, the day's water, the first wort |
//! | [`kettle`] | boil longer or shorter, add extract, add water |
//! | [`bitterness`] | hop utilisation, and isomerisation along a curve |
//! | [`dms`] | the DMS precursor along a curve |
//! | [`chilling`] | the chill: stages and baths, fit, forecast, hold, advice, plan, comparison |
//! | [`colour`] | malt colour to wort colour |
//! | [`yeast`] | cells needed, cells in a pack |
//! | [`sanitation`] | was the flush hot and long enough; pasteurisation units |
//! | [`curve`] | a logged temperature over time, to walk along |
//! | [`uncertainty`] | how far an instrument is trusted by default |
//! | [`glossary`] | every figure on a page explained, as data |
//! | [`bibliography`] | every source |

pub mod bibliography;
pub mod bitterness;
pub mod boiling_point;
pub mod chilling;
pub mod colour;
pub mod curve;
pub mod dms;
pub mod extract;
pub mod glossary;
pub mod gravity;
pub mod kettle;
pub mod mash;
mod range;
pub mod sanitation;
pub mod uncertainty;
pub mod units;
pub mod water;
pub mod wort;
pub mod yeast;

pub use range::OutOfRange;
