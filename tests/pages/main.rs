//! The pages, asked for in this process as a browser without scripts asks for them.

mod book;
mod compare;
mod correction;
mod day;
mod equipment;
mod glossary;
mod lists;
mod recipes;
mod sheet;
mod welcome;
