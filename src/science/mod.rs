//! The trade's computation, as pure functions on quantities.

pub mod units;
