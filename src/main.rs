//! Gylebook.
fn main() {}
