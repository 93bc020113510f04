//! What a body may hold, as whoever writes one needs to know it.

use crate::brewday::plausible::Range;

/// One field of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub shape: Shape,
    /// Whether it has to be there.
    pub required: bool,
}

/// What a field holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A text of at most so many characters, and not of spaces alone.
    Text(usize),
    /// A number within a range.
    Number(Range),
    /// A whole number from 0: an id or an index.
    Whole,
    /// At most so many of them.
    Wholes(usize),
    /// One of these words.
    OneOf(Vec<&'static str>),
    /// True or false.
    Flag,
    /// A time, RFC 3339.
    Time,
    /// A UUID.
    Uuid,
    /// Texts of at most so many characters, by name.
    Texts(usize),
    /// A group of fields.
    Group(Vec<Field>),
    /// A list of at most so many groups of fields.
    Rows(usize, Vec<Field>),
    /// A body that is read by rules of its own.
    Body,
    /// A list of at most so many such bodies.
    Bodies(usize),
}
