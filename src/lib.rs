//! Gylebook: the brew-day record.

pub mod brewday;
pub mod science;
pub mod store;
pub mod web;
