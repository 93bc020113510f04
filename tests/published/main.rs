//! The science against published tables, worked examples and independent computation.

mod chill_advice;
mod chill_days;
mod chill_effects;
mod chill_fit;
mod chill_hold;
mod chill_plan;
mod chill_stage;
mod chill_tables;
