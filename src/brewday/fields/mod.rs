//! From a body of named fields to a record: everything wrong with it is found
//! at once, and each finding names its field.
//!
//! JSON from a script and a form from a page both arrive here as one
//! [`serde_json::Value`] with canonical units, so they cannot come to differ.
//! What a body may hold is told by the same code that reads it
//! ([`Reader::fields`]), so what is published can't come to differ either.

mod reader;
mod shape;

use std::fmt;

use super::plausible::Range;
pub use reader::Reader;
pub use shape::{Field, Shape};

/// One thing that is wrong with one field.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The field's path: `mass_kg`, or `hops.2.alpha_pct` in a list.
    pub field: String,
    /// What is wrong with it.
    pub why: Why,
}

impl Fault {
    /// A fault told in a sentence of its own.
    pub fn new(field: impl Into<String>, why: impl Into<String>) -> Self {
        Self { field: field.into(), why: Why::Said(why.into()) }
    }
}

/// What is wrong with a field.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// It has to be there.
    Missing,
    /// Nothing here is called that.
    Unknown,
    /// A number was wanted.
    NotANumber,
    /// A text was wanted.
    NotAText,
    /// A list was wanted.
    NotAList,
    /// A group of fields was wanted.
    NotAnObject,
    /// The number is outside what is plausible.
    Outside(Range, f64),
    /// More characters, or rows, than are kept.
    TooLong(usize),
    /// One of these words was wanted.
    NotOneOf(Vec<&'static str>),
    /// Anything else, told in a sentence.
    Said(String),
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing => f.write_str("This is needed."),
            Self::Unknown => f.write_str("There is no field of this name here."),
            Self::NotANumber => f.write_str("A number is needed here."),
            Self::NotAText => f.write_str("A text is needed here."),
            Self::NotAList => f.write_str("A list is needed here."),
            Self::NotAnObject => f.write_str("A group of fields is needed here."),
            Self::Outside(range, value) => {
                write!(f, "{value} is outside what {} can be: {} to {}.", range.what, range.min, range.max)
            }
            Self::TooLong(most) => write!(f, "This is too long: at most {most} are kept."),
            Self::NotOneOf(words) => write!(f, "One of these is needed: {}.", words.join(", ")),
            Self::Said(sentence) => f.write_str(sentence),
        }
    }
}
