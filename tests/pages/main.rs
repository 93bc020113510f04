//! The pages, asked for in this process as a browser without scripts asks for them.

mod bad_input;
mod book;
mod chill;
mod chill_changes;
mod coil;
mod compare;
mod correction;
mod day;
mod equipment;
mod every_page;
mod glossary;
mod instruments;
mod keep;
mod lasting;
mod lists;
mod log_files;
mod recipes;
mod record;
mod sheet;
mod welcome;
