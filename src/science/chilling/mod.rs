//! From flame-out to pitching temperature: the chill.
//!
//! # What for
//! Boiled wort must be cold before yeast goes in, and while it cools nobody quite
//! knows where it is: the thermometer lies after every change of the bath, a
//! bucket's worth is guessed, ice is wasted early or short at 25 °C. This folder
//! turns a handful of written readings into answers: how good was the coil, may
//! this reading be believed, when will it be cold, is it time for the next bucket,
//! how much ice would just do.
//!
//! # One picture
//! Everything rests on two well-mixed bodies and two ways for heat:
//!
//! ```text
//!              K                    G
//!   bath  ◀────────  wort (C_w)  ────────▶  room
//!  H_b, m   coil                   kettle
//! ```
//!
//! [`stage`] solves that picture in closed form, ice and all. The rest is built
//! on it:
//!
//! | page | answers |
//! | --- | --- |
//! | [`series`] | what was recorded, in order; what is not known says so |
//! | [`fit`] | `K` of each stage and of the day, with a standard error |
//! | [`exchange`] | how much of the flow's heat that is; what holds it back |
//! | [`hold`] | may the latest reading be believed |
//! | [`live`] | where the chill stands now |
//! | [`forecast`] | when it will be cold in this bath |
//! | [`advice`], [`remedies`] | stay or change; ice, stirring, running water |
//! | [`plan`] | the whole chill beforehand: least time, ice or water |
//! | [`learn`] | what this coil usually does, and whether it is getting worse |
//! | [`hindsight`] | what would have helped most |
//! | [`standard`] | one number to compare chills by |
//! | [`curve`], [`after_effects`] | the measured curve, and what it did to the wort |
//!
//! Reading order: [`stage`], [`series`], [`fit`], then what you came for. The
//! private modules are the machinery: `law` and `path` (the exponentials), `trajectory`
//! (stages in a row), `robust`, `model`, `guess`, `search` and `least_squares`
//! (the fit), `schedule` and `sparing` (the plan).
//!
//! # Sources
//! Heat: [Kern-1950] D. Q. Kern, *Process Heat Transfer*, ch. 18; [Incropera-2007]
//! Incropera & DeWitt, *Fundamentals of Heat and Mass Transfer*, ch. 11. Water and
//! ice: \[IAPWS-95\], \[IAPWS-R10-06\]. Statistics: each page names its own. Figures
//! marked "common practice, no source" are the trade's and meant to be changed.

pub mod advice;
pub mod after_effects;
pub mod constants;
pub mod curve;
mod estimate;
pub mod exchange;
pub mod fit;
pub mod forecast;
mod guess;
pub mod hindsight;
pub mod hold;
mod law;
pub mod learn;
mod least_squares;
pub mod live;
mod model;
mod path;
pub mod plan;
pub mod remedies;
mod robust;
mod schedule;
mod search;
pub mod series;
mod sparing;
pub mod stage;
pub mod standard;
mod trajectory;

pub use estimate::Estimate;
pub use trajectory::Track;
