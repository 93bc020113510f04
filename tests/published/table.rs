//! Reading the tables in `values/`, and keeping the score of a comparison.
//!
//! Each table says on its comment lines where its numbers come from and how far
//! they can be trusted; a check names the tolerance it takes from there.

use std::path::Path;

/// A table with named columns.
pub(crate) struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One line of a table.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    columns: &'a [String],
    cells: &'a [String],
}

impl Table {
    pub(crate) fn read(name: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published/values").join(name);
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_path(&path)
            .unwrap_or_else(|why| panic!("{name}: {why}"));
        let columns = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<Vec<String>> =
            reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
        assert!(!rows.is_empty(), "{name} holds no rows");
        Self { columns, rows }
    }

    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { columns: &self.columns, cells })
    }

    /// The columns after the first, with the number in their names: `1.040`, `t20C`.
    pub(crate) fn numbered_columns(&self) -> Vec<(&str, f64)> {
        let number = |name: &str| name.trim_matches(|c: char| !c.is_ascii_digit()).parse().ok();
        self.columns.iter().skip(1).filter_map(|name| Some((name.as_str(), number(name)?))).collect()
    }
}

impl<'a> Row<'a> {
    pub(crate) fn text(self, column: &str) -> &'a str {
        let at = self.columns.iter().position(|name| name == column);
        &self.cells[at.unwrap_or_else(|| panic!("no column {column}"))]
    }

    pub(crate) fn number(self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{column}: {text:?} is no number"))
    }

    /// The number after `key=` in a cell such as `S=0.39;Tg=27;M=2.68 hL/100kg`.
    pub(crate) fn input(self, column: &str, key: &str) -> f64 {
        let given = self.text(column).split(';').find_map(|part| part.strip_prefix(key));
        let digits = |c: char| !c.is_ascii_digit() && c != '.';
        let value = given.unwrap_or_else(|| panic!("no {key} in {column}"));
        value.trim_start_matches('=').split(digits).next().unwrap().parse().unwrap()
    }
}

/// The largest deviation of a series of comparisons; fails past its tolerance.
///
/// `cargo test --test published -- --nocapture` prints the score of each.
pub(crate) struct Score {
    topic: &'static str,
    tolerance: f64,
    worst: f64,
    count: u32,
}

impl Score {
    pub(crate) fn new(topic: &'static str, tolerance: f64) -> Self {
        Self { topic, tolerance, worst: 0.0, count: 0 }
    }

    /// Compares a value of ours with a published one.
    #[track_caller]
    pub(crate) fn check(&mut self, ours: f64, published: f64, what: impl std::fmt::Debug) {
        let off = (ours - published).abs();
        assert!(
            off <= self.tolerance,
            "{}, {what:?}: {ours} against {published} published, off by {off:e}, more than {:e}",
            self.topic,
            self.tolerance,
        );
        self.worst = self.worst.max(off);
        self.count += 1;
    }

    /// Says how the series went; an empty one is a failure.
    pub(crate) fn end(self) {
        let Self { topic, tolerance, worst, count } = self;
        assert!(count > 0, "{topic}: nothing was compared");
        eprintln!("{topic:<52} {count:>4} values  largest deviation {worst:.2e} of {tolerance:.1e}");
    }
}

/// Half of the last printed decimal place: what rounding alone can do. The hair
/// on top is for values that were rounded exactly at the half.
pub(crate) const fn rounded_to(decimals: i32) -> f64 {
    let mut half = 0.5 * (1.0 + 1e-9);
    let mut i = 0;
    while i < decimals {
        half /= 10.0;
        i += 1;
    }
    half
}
