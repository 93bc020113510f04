//! A brew day in a real browser, and what can go wrong on it.

mod day;
mod outbox;
mod pictures;
mod report;
mod windows;
