//! A brew day in a real browser, and what can go wrong on it.

mod access;
mod alarms;
mod chill;
mod day;
mod drafts;
mod faults;
mod flaps;
mod ghosts;
mod keyboard;
mod outbox;
mod pairing;
mod phones;
mod pictures;
mod report;
mod sizes;
mod thumb;
mod windows;
