//! The numbers behind a chart, for the reader who can't use the picture.

use super::{Point, prepared};
use crate::brewday::spreadsheet::harmless;

/// How many readings a page's table shows; the CSV holds all of them.
pub(super) const MOST_ROWS: usize = 120;

/// A column's head, and whether its cells are figures (set to the right).
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// The head, with the unit: "Wort, °C".
    pub head: String,
    /// Whether the cells are figures.
    pub figures: bool,
}

/// A chart's numbers in rows, written out as they should be read.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What the table shows, and whether readings are left out.
    pub caption: String,
    /// Heads, left to right.
    pub columns: Vec<Column>,
    /// Cells, each row as long as `columns`; a cell with nothing to say is empty.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table. A head that starts with `#` is a column of figures.
    pub(super) fn new(caption: &str, heads: &[&str]) -> Self {
        let column = |head: &&str| match head.strip_prefix('#') {
            Some(head) => Column { head: head.to_owned(), figures: true },
            None => Column { head: (*head).to_owned(), figures: false },
        };
        Self { caption: caption.to_owned(), columns: heads.iter().map(column).collect(), rows: Vec::new() }
    }

    /// Says in the caption that some readings are shown out of all.
    pub(super) fn say_thinned(&mut self, shown: usize, all: usize) {
        if shown < all {
            self.caption += &format!(" ({shown} of {all} readings, with every peak; the CSV has them all)");
        }
    }

    /// The table as CSV (RFC 4180), heads first, with a plain minus sign.
    ///
    /// A cell of words that a spreadsheet would run as a formula gets an
    /// apostrophe in front of it (OWASP, "CSV Injection").
    #[must_use]
    pub fn csv(&self) -> String {
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        let heads = self.columns.iter().map(|c| c.head.clone());
        let rows = self.rows.iter().map(|row| row.iter().zip(&self.columns).map(|(cell, column)| plain(cell, column)));
        // Rows are as long as the heads and a Vec takes every byte, so neither write can fail.
        let _ = writer.write_record(heads);
        for row in rows {
            let _ = writer.write_record(row);
        }
        writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
    }
}

fn plain(cell: &str, column: &Column) -> String {
    if column.figures { cell.replace('−', "-") } else { harmless(cell) }
}

/// Whether a table is for the page (thinned) or for a file (everything).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Length {
    Page,
    Whole,
}

impl Length {
    /// The readings to show of these, in order; ones that are no number are not.
    pub(super) fn of(self, points: &[Point]) -> Vec<Point> {
        match self {
            Self::Page => prepared(points, MOST_ROWS),
            Self::Whole => prepared(points, usize::MAX),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_keeps_figures_plain_and_words_harmless() {
        let mut table = Table::new("", &["#Wort, °C", "Stage"]);
        table.rows.push(vec!["−1.5".into(), "=HYPERLINK(\"x\")".into()]);
        table.rows.push(vec!["20.0".into(), "bath 1, the big one".into()]);
        let wanted = "\"Wort, °C\",Stage\r\n-1.5,\"'=HYPERLINK(\"\"x\"\")\"\r\n20.0,\"bath 1, the big one\"\r\n";
        assert_eq!(table.csv(), wanted);
    }
}
