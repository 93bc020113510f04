//! The science against published tables, worked examples and independent computation.

mod chill_fit;
