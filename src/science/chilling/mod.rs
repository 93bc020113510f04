//! From flame-out to pitching temperature.

pub mod advice;
pub mod after_effects;
pub mod constants;
pub mod curve;
mod estimate;
pub mod exchange;
pub mod fit;
pub mod forecast;
pub mod hold;
mod law;
pub mod learn;
mod guess;
mod least_squares;
mod model;
pub mod live;
pub mod plan;
mod robust;
mod schedule;
pub mod series;
pub mod stage;
pub mod standard;
mod trajectory;

pub use estimate::Estimate;
pub use trajectory::Track;
