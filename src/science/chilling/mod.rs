//! From flame-out to pitching temperature.

pub mod advice;
pub mod after_effects;
pub mod constants;
pub mod curve;
mod estimate;
pub mod exchange;
pub mod fit;
pub mod forecast;
mod guess;
pub mod hold;
mod law;
pub mod learn;
mod least_squares;
pub mod live;
mod model;
pub mod plan;
mod robust;
mod schedule;
pub mod series;
mod sparing;
pub mod stage;
pub mod standard;
mod trajectory;

pub use estimate::Estimate;
pub use trajectory::Track;
