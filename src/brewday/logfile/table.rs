//! From a text to rows and cells.

use super::guess::{self, Guess};
use super::{MOST_BYTES, short, text};

/// What may stand between cells, the likelier first where two do as well.
const SEPARATORS: [char; 5] = ['\t', ';', '|', ',', ' '];
/// Rows by which the separator is found.
const TRIED: usize = 300;
/// Rows before these may be a long preamble.
const SKIPPED_MOST: usize = 200;
/// More rows than a year of readings a minute apart.
const MOST_ROWS: usize = 600_000;
/// More cells in one row than any logger has probes.
const MOST_CELLS: usize = 64;
/// Of a refused row so many letters are told.
const TOLD_CHARS: usize = 120;

/// The rows of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct LogTable {
    /// What stands between the cells.
    pub separator: char,
    /// The name over each column; empty where it has none.
    pub names: Vec<String>,
    /// Every line that isn't blank.
    pub rows: Vec<Row>,
}

/// A line of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its number, from 1.
    pub line: usize,
    /// Its cells.
    pub cells: Vec<String>,
    /// Whether it is a remark rather than a row.
    pub is_remark: bool,
}

impl Row {
    /// The line as a refusal shows it.
    #[must_use]
    pub fn text(&self) -> String {
        self.cells.join(" | ").chars().take(TOLD_CHARS).collect()
    }
}

impl LogTable {
    /// Reads a file, and guesses what its columns are.
    ///
    /// # Errors
    /// A sentence, where there is nothing in it that could be read.
    pub fn read(bytes: &[u8]) -> Result<(Self, Guess), String> {
        if bytes.len() > MOST_BYTES {
            return Err(format!("This file is too large: at most {} MB are read.", MOST_BYTES / 1024 / 1024));
        }
        let text = text::decode(bytes).replace("\r\n", "\n").replace('\r', "\n");
        let strange = text.chars().filter(|letter| is_strange(*letter)).count();
        if strange * 20 > text.chars().count() {
            return Err("This is no table of text. Export the log as CSV and bring that.".into());
        }
        let lines: Vec<(usize, &str)> = text
            .lines()
            .zip(1..)
            .map(|(line, number)| (number, line))
            .filter(|(_, line)| !line.trim().is_empty())
            .collect();
        if lines.is_empty() {
            return Err("There is nothing in this file.".into());
        }
        if lines.len() > MOST_ROWS {
            return Err(format!("This file has too many rows: at most {MOST_ROWS} are read."));
        }
        let tried = &lines[..lines.len().min(SKIPPED_MOST + TRIED)];
        let sample =
            |separator| (separator, tried.iter().map(|(line, text)| row(*line, text, separator)).collect::<Vec<_>>());
        // The first of the best: `max_by_key` alone would give the last.
        let best = SEPARATORS.into_iter().rev().map(sample).max_by_key(|(_, rows)| guess::score(rows));
        let separator =
            best.filter(|(_, rows)| guess::score(rows) > 0).map_or_else(|| usual(&lines), |(separator, _)| separator);
        let rows: Vec<Row> = lines.iter().map(|(line, text)| row(*line, text, separator)).collect();
        let (guess, names) = guess::columns(&rows);
        Ok((Self { separator, names, rows }, guess))
    }

    /// How many columns the widest of the first rows has.
    #[must_use]
    pub fn width(&self) -> usize {
        self.rows.iter().take(SKIPPED_MOST + TRIED).map(|row| row.cells.len()).max().unwrap_or(0)
    }

    /// What a column is called: its own name, or its number.
    #[must_use]
    pub fn name(&self, column: usize) -> String {
        match self.names.get(column).filter(|name| !name.is_empty()) {
            Some(name) => short(name),
            None => format!("Column {}", column + 1),
        }
    }
}

/// The separator seen most, where no row says anything.
fn usual(lines: &[(usize, &str)]) -> char {
    let count =
        |separator: &char| lines.iter().take(TRIED).map(|(_, line)| line.matches(*separator).count()).sum::<usize>();
    SEPARATORS[..4].iter().rev().copied().max_by_key(count).unwrap_or(',')
}

fn is_strange(letter: char) -> bool {
    letter == char::REPLACEMENT_CHARACTER || letter.is_control() && !matches!(letter, '\n' | '\t')
}

fn row(line: usize, text: &str, separator: char) -> Row {
    let bare = text.trim_start();
    let remark = ["#", "//", "\"#"].into_iter().find(|mark| bare.starts_with(mark));
    let text = remark.map_or(text, |mark| &bare[mark.len()..]);
    let cells = if separator == ' ' { text.split_whitespace().map(unquoted).collect() } else { split(text, separator) };
    Row { line, cells, is_remark: remark.is_some() }
}

fn unquoted(cell: &str) -> String {
    cell.trim_matches('"').to_owned()
}

/// The cells of one line [RFC 4180]; a quote that is not closed ends with the line.
fn split(line: &str, separator: char) -> Vec<String> {
    let mut cells = Vec::new();
    let mut cell = String::new();
    let mut quoted = false;
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if cell.trim().is_empty() => {
                cell.clear();
                quoted = true;
            }
            letter if letter == separator && !quoted => {
                cells.push(std::mem::take(&mut cell).trim().to_owned());
                if cells.len() == MOST_CELLS {
                    return cells;
                }
            }
            letter => cell.push(letter),
        }
    }
    cells.push(cell.trim().to_owned());
    cells
}
