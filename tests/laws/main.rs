//! What must be true of any numbers: round trips, conservation, monotony, limits,
//! and no figure that is not a number.

mod boil;
mod chill;
mod curves;
mod day;
mod extract;
mod glossary;
mod gravity;
mod hindsight;
mod kettle;
mod mash;
mod sources;
mod worked;
mod wort;

/// Two figures that differ by rounding alone.
#[track_caller]
fn close(left: f64, right: f64, within: f64) {
    assert!((left - right).abs() <= within, "{left} and {right} differ by more than {within:e}");
}
