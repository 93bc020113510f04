//! Bitterness: the trade's estimate, and the kinetics under it.
//!
//! [`tinseth`] is the estimate a brew sheet carries, right within 20 % or worse.
//! [`isomerisation`] follows the α-acids along a temperature curve and is for
//! comparing: what a slow chill added, what a boil at altitude leaves out.

pub mod isomerisation;
pub mod tinseth;
