//! Sentences with figures in them, before anybody has chosen units.
//!
//! Nothing in this room knows how the brewer wants a temperature told. A
//! [`Said`] keeps its figures as figures: a page speaks it in the brewer's units,
//! a JSON document in SI, which is how it is displayed and kept.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::plausible::Dimension;

/// A sentence, or part of one, with its figures still to be spoken.
///
/// Kept as its SI text; read back it is words alone.
///
/// ```
/// use gylebook::brewday::plausible::Dimension;
/// use gylebook::brewday::said::{Part, Said};
/// let said = Said::of([
///     Part::words("wort "),
///     Part::Figure(18.52, Dimension::Temperature),
///     Part::words(", in range"),
/// ]);
/// assert_eq!(said.to_string(), "wort 18.5 °C, in range");
/// ```
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub struct Said(Vec<Part>);

/// A stretch of words, or a figure.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Words that are the same in every house.
    Words(String),
    /// A figure in the unit the record keeps.
    Figure(f64, Dimension),
}

impl Part {
    /// Words that are the same in every house.
    pub fn words(words: impl Into<String>) -> Self {
        Self::Words(words.into())
    }
}

impl Said {
    /// A sentence of these parts, one after another.
    #[must_use]
    pub fn of(parts: impl IntoIterator<Item = Part>) -> Self {
        Self(parts.into_iter().collect())
    }

    /// The same, with more behind it.
    #[must_use]
    pub fn and(mut self, words: &str) -> Self {
        self.0.push(Part::words(words));
        self
    }

    /// Its parts, for whoever speaks it.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.0
    }
}

impl From<String> for Said {
    fn from(words: String) -> Self {
        Self(vec![Part::Words(words)])
    }
}

impl From<&str> for Said {
    fn from(words: &str) -> Self {
        words.to_owned().into()
    }
}

impl From<Said> for String {
    fn from(said: Said) -> Self {
        said.to_string()
    }
}

/// Two sentences are the same where they read the same.
impl PartialEq for Said {
    fn eq(&self, other: &Self) -> bool {
        self.to_string() == other.to_string()
    }
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|part| part.fmt(f))
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use Dimension as D;
        let (value, dimension) = match self {
            Self::Words(words) => return f.write_str(words),
            Self::Figure(value, dimension) => (value, dimension),
        };
        match dimension {
            D::Temperature => write!(f, "{value:.1} °C"),
            D::TemperatureDifference => write!(f, "{value} °C"),
            D::Volume => write!(f, "{value:.1} L"),
            D::Mass | D::SmallMass => write!(f, "{value:.3} kg"),
            D::Gravity => write!(f, "{value:.4} SG"),
            D::Brix => write!(f, "{value:.1} °Bx"),
            D::Colour => write!(f, "{value:.1} EBC"),
            D::Flow => write!(f, "{value:.2} L/min"),
            D::BoilOff => write!(f, "{value:.1} L/h"),
            D::Absorption => write!(f, "{value:.2} L/kg"),
            D::MassPerVolume => write!(f, "{value:.2} kg/L"),
            D::Height => write!(f, "{value:.0} m"),
            D::Minutes => write!(f, "{value:.1} min"),
            D::Percent => write!(f, "{value:.1} %"),
            D::Plain => write!(f, "{value}"),
        }
    }
}
