//! A brew day in a real browser, and what can go wrong on it.

mod alarms;
mod day;
mod drafts;
mod flaps;
mod ghosts;
mod outbox;
mod phones;
mod pictures;
mod thumb;
mod windows;
