//! The JSON interface, asked as a script asks it.

mod house;
mod records;
