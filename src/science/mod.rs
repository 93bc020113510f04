//! The trade's computation, as pure functions on quantities.

pub mod boiling_point;
pub mod curve;
pub mod extract;
pub mod gravity;
pub mod kettle;
mod range;
pub mod units;
pub mod water;
pub mod wort;

pub use range::OutOfRange;
