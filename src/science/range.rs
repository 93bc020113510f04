//! One way to say that a number lies where a formula no longer holds.

use std::fmt;

/// A quantity outside the range its formula was made for.
///
/// Its sentence names the quantity and the range, ready to stand on a page:
///
/// ```
/// use gylebook::science::OutOfRange;
/// let beyond = OutOfRange::check("sample temperature", 71.0, (0.0, 60.0), "°C").unwrap_err();
/// assert_eq!(beyond.to_string(), "sample temperature 71 °C lies outside 0 to 60 °C");
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// What was out of range, in the trade's words.
    pub quantity: &'static str,
    /// The value it had.
    pub value: f64,
    /// The least and the greatest value the formula holds for.
    pub range: (f64, f64),
    /// The unit of all three.
    pub unit: &'static str,
}

impl OutOfRange {
    /// Passes a value that lies within `range`, ends included.
    ///
    /// # Errors
    /// The value and the range, where it lies outside or is not a number.
    pub fn check(quantity: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Result<f64, Self> {
        if value >= range.0 && value <= range.1 { Ok(value) } else { Err(Self { quantity, value, range, unit }) }
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { quantity, value, range: (low, high), unit } = self;
        let space = if unit.is_empty() { "" } else { " " };
        let value = (value * 1e4).round() / 1e4;
        write!(f, "{quantity} {value}{space}{unit} lies outside {low} to {high}{space}{unit}")
    }
}

impl std::error::Error for OutOfRange {}
