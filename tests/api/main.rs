//! The JSON interface, asked as a script asks it.

mod chill;
mod entries;
mod follow;
mod house;
mod laws;
mod openapi;
mod records;
mod refusals;
