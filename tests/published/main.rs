//! The science against what others have published or computed.
//!
//! One file a topic. The numbers are in `values/`, each table with its source;
//! every check names the tolerance it takes from there.

mod table;

mod alcohol;
mod bitterness;
mod boiling_point;
mod chill_advice;
mod chill_days;
mod chill_effects;
mod chill_fit;
mod chill_hold;
mod chill_loss;
mod chill_plan;
mod chill_stage;
mod chill_tables;
mod colour;
mod dms;
mod extract;
mod gravity;
mod hydrometer;
mod mash;
mod refractometer;
mod sanitation;
mod second_route;
mod water;
mod wort;
mod yeast;
