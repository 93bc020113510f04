//! Every figure that a page shows, explained: the glossary, as data.
//!
//! A key is the figure's place in a batch's summary (`gravity.pre_boil_sg`), or
//! `reading.…` and `advice.…` for what is done to readings and what follows from
//! them. Figures of one kind share an entry.

mod chill;
mod day;
pub mod mathml;
mod wort;

/// One figure, or several of a kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Where it stands in the summary; the first names the entry.
    pub keys: &'static [&'static str],
    /// What the trade calls it.
    pub name: &'static str,
    /// What it is for, in a sentence.
    pub meaning: &'static str,
    /// The equation, one line each, in the notation of [`mathml`]; none where
    /// the figure is read, counted or judged.
    pub formula: &'static [&'static str],
    /// What its symbols stand for, with their units.
    pub symbols: &'static [(&'static str, &'static str)],
    /// Where it holds, and how far it can be trusted.
    pub validity: &'static str,
    /// Tags of [`super::bibliography::BIBLIOGRAPHY`]; none for a definition or
    /// common practice.
    pub sources: &'static [&'static str],
    /// Whether a page must call it an estimate.
    pub is_estimate: bool,
}

impl Figure {
    /// The equation as MathML blocks, one a line.
    pub fn mathml(&self) -> impl Iterator<Item = String> {
        self.formula.iter().map(|line| mathml::render(line))
    }
}

/// All entries, in the order of a brew day.
pub fn figures() -> impl Iterator<Item = &'static Figure> {
    wort::FIGURES.iter().chain(day::FIGURES).chain(chill::FIGURES)
}

/// The entry that explains a key.
///
/// ```
/// use gylebook::science::glossary;
/// assert_eq!(glossary::figure("estimate.bitterness_ibu").unwrap().name, "Bitterness");
/// assert!(glossary::figure("no.such_figure").is_none());
/// ```
#[must_use]
pub fn figure(key: &str) -> Option<&'static Figure> {
    figures().find(|figure| figure.keys.contains(&key))
}
