//! The trade's computation, as pure functions on quantities.

pub mod bitterness;
pub mod boiling_point;
pub mod chilling;
pub mod colour;
pub mod curve;
pub mod dms;
pub mod extract;
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
