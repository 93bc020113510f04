//! Why a figure can't be computed.

use std::collections::BTreeMap;

use crate::science::OutOfRange;
use crate::science::units::Measured;

/// A figure, or the sentence that says what it waits for.
pub(super) type Figure<T> = Result<T, String>;

/// Why a formula does not hold, without the figures: they stand in the log, in
/// the brewer's own units.
pub(super) fn beyond(why: OutOfRange) -> String {
    format!("The {} is beyond what the formula holds for.", why.quantity)
}

/// Collects, for each figure that can't be computed, the reason.
#[derive(Debug, Default)]
pub(super) struct Missing(BTreeMap<String, String>);

impl Missing {
    /// The figure, or nothing and a note of why under its name.
    pub(super) fn keep<T>(&mut self, name: &str, figure: Figure<T>) -> Option<T> {
        figure.map_err(|why| self.0.insert(name.to_owned(), why)).ok()
    }

    /// The figure and its standard error, or nothing and a note of why under both names.
    pub(super) fn keep_both(&mut self, name: &str, se_name: &str, figure: Figure<Measured>) -> [Option<f64>; 2] {
        if let Err(why) = &figure {
            self.0.insert(se_name.to_owned(), why.clone());
        }
        let figure = self.keep(name, figure);
        [figure.map(|figure| figure.value), figure.map(|figure| figure.se)]
    }

    pub(super) fn into_reasons(self) -> BTreeMap<String, String> {
        self.0
    }
}
