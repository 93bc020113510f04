//! Gylebook: the brew-day record.

pub mod brewday;
pub mod cli;
pub mod demo;
pub mod science;
pub mod store;
pub mod web;
