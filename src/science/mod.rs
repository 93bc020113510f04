//! The trade's computation, as pure functions on quantities.

pub mod chilling;
pub mod units;
