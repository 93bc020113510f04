//! A brew day in a real browser, and what can go wrong on it.

mod chill;
mod day;
mod outbox;
mod pictures;
mod windows;
