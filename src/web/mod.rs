//! Pages and what they are made of.

pub mod chart;
