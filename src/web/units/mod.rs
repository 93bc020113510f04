//! Figures in the brewer's own units: shown by [`show`], read by [`read`].
//!
//! What is kept is SI (see [`Dimension`]). Each dimension has its [`Scale`]s: one
//! is the brewer's choice and stands beside the field, and any other may be typed
//! after the number ("67 F" in a Celsius brew house). What can't be understood is
//! refused with a sentence that says what to type; nothing is ever dropped.

mod number;
mod read;
mod scale;
mod show;
#[cfg(test)]
mod tests;

pub use read::{Reading, read};
pub use scale::{Scale, chosen, scales};
pub use show::{Shown, as_typed, mark, on_scale, outside, show, show_computed, show_measured, speak};

use crate::brewday::plausible::Dimension;
