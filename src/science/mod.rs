//! The trade's computation, as pure functions on quantities.

pub mod chilling;
pub mod units;
pub mod water;
pub mod wort;
pub mod yeast;

pub use range::OutOfRange;
