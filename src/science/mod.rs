//! The trade's computation, as pure functions on quantities.

pub mod boiling_point;
pub mod curve;
pub mod gravity;
mod range;
pub mod units;
pub mod water;
pub mod wort;

pub use range::OutOfRange;
