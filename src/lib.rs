//! Gylebook: the brew-day record.

pub mod science;
