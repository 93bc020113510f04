//! A thermometer's own log, as a table of text from whatever wrote it.
//!
//! Such files agree on nothing but rows with a time and a temperature in them.
//! Reading order: [`text`] (bytes to letters), [`table`] (letters to rows and
//! cells), [`times`] and [`degrees`] (what one cell says), [`guess`] (which
//! column is what, and where to ask). Then here: a table and a [`Mapping`] give
//! the readings, and a reason for every row that gives none.
//!
//! Nothing here knows a clock or a time zone: what a wall clock showed becomes a
//! moment through the function that is handed in.

mod degrees;
mod guess;
mod table;
#[cfg(test)]
mod tests;
mod text;
mod times;

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use time::{Duration, OffsetDateTime, PrimitiveDateTime};

use super::choices::{Choice, Place, choices};
use super::plausible::TEMPERATURE;
use times::Stamp;

pub use guess::Guess;
pub use table::{LogTable, Row};

/// The largest file that is read.
pub const MOST_BYTES: usize = 16 * 1024 * 1024;
/// A clock that is a little ahead still tells the past.
const AHEAD_MOST: Duration = Duration::minutes(10);

choices! {
    /// How a column tells the time.
    TimeForm {
        DateTime = "date_time", "Date and time";
        TimeOfDay = "time_of_day", "Time of day, like 14:42:30";
        Elapsed = "elapsed", "Time since the start, like 12:30 or 1:02:30";
        Seconds = "seconds", "Seconds since the start";
        Minutes = "minutes", "Minutes since the start";
        Hours = "hours", "Hours since the start";
        EpochSeconds = "epoch_s", "Seconds since 1970";
        EpochMilliseconds = "epoch_ms", "Milliseconds since 1970";
        SheetDays = "sheet_days", "Days as a spreadsheet counts them";
    }

    /// In which order a date written in figures stands.
    DateOrder {
        DayFirst = "dmy", "Day, month, year";
        MonthFirst = "mdy", "Month, day, year";
        YearFirst = "ymd", "Year, month, day";
    }

    /// A scale of temperature.
    Degrees {
        Celsius = "c", "°C";
        Fahrenheit = "f", "°F";
        Kelvin = "k", "K";
    }
}

impl TimeForm {
    /// Whether it needs to be told when the log began.
    #[must_use]
    pub fn needs_start(self) -> bool {
        matches!(self, Self::TimeOfDay | Self::Elapsed | Self::Seconds | Self::Minutes | Self::Hours)
    }
}

/// Which column is what, and how its cells are meant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mapping {
    /// The column with the time, or with the date where the time stands apart.
    pub time: usize,
    /// The column with the time of day, where `time` has the date alone.
    pub clock: Option<usize>,
    /// The column with the temperature.
    pub temperature: usize,
    /// How the time is told.
    pub form: TimeForm,
    /// The order of dates in figures; none where they can't be read without being told.
    pub order: Option<DateOrder>,
    /// The scale, where a cell doesn't name its own.
    pub degrees: Degrees,
    /// Where the thermometer was.
    pub place: Place,
    /// When the log began, or the day of its first time of day.
    #[serde(with = "time::serde::rfc3339::option")]
    pub start: Option<OffsetDateTime>,
    /// The name of the time zone its clock was set to; the house's own where none is named.
    pub zone: Option<String>,
    /// Of readings closer together than this many seconds, the first is kept; 0 keeps all.
    pub apart_s: u32,
}

/// A reading of the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogReading {
    /// The line it stands on, from 1.
    pub line: usize,
    /// When it was read.
    pub at: OffsetDateTime,
    /// What it said, °C.
    pub temperature_c: f64,
}

/// A row that gives no reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RefusedRow {
    /// The line, from 1.
    pub line: usize,
    /// Why, in a sentence.
    pub why: String,
    /// The line as it stands, cut where it is long.
    pub text: String,
}

/// What a file gives under a mapping. Every row is counted in exactly one of these.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogReadings {
    /// In the order of the file.
    pub readings: Vec<LogReading>,
    /// In the order of the file.
    pub refused: Vec<RefusedRow>,
    /// Headings and remarks.
    pub passed_over: usize,
    /// Rows left out because the one before was close enough.
    pub thinned: usize,
}

impl LogReadings {
    /// Takes out what is in the log already (`held`: the moments, in Unix
    /// milliseconds, of readings at the same place), or twice in the file, and
    /// tells how many those were.
    pub fn without_held(&mut self, mut held: HashSet<i128>) -> usize {
        let before = self.readings.len();
        self.readings.retain(|reading| held.insert(reading.at.unix_timestamp_nanos().div_euclid(1_000_000)));
        before - self.readings.len()
    }
}

impl LogTable {
    /// Reads every row. `wall` gives the moment at which a clock on the wall showed a time.
    #[must_use]
    pub fn readings(
        &self,
        mapping: &Mapping,
        wall: impl Fn(PrimitiveDateTime) -> Result<OffsetDateTime, String>,
        now: OffsetDateTime,
    ) -> LogReadings {
        let mut read = Reading { mapping, wall, now, day: None, last: None };
        let mut found = LogReadings::default();
        let mut kept: Option<OffsetDateTime> = None;
        // What cannot be read before the first reading is a heading, unless there is none at all.
        let mut before_first = Vec::new();
        for row in &self.rows {
            if row.is_remark {
                found.passed_over += 1;
                continue;
            }
            match read.row(row) {
                Ok(reading) => {
                    found.passed_over += before_first.len();
                    before_first.clear();
                    let close = kept
                        .is_some_and(|kept| (reading.at - kept).abs() < Duration::seconds(i64::from(mapping.apart_s)));
                    if close {
                        found.thinned += 1;
                    } else {
                        kept = Some(reading.at);
                        found.readings.push(reading);
                    }
                }
                Err(why) => {
                    let refused = RefusedRow { line: row.line, why, text: row.text() };
                    if found.readings.is_empty() { before_first.push(refused) } else { found.refused.push(refused) }
                }
            }
        }
        found.refused.extend(before_first);
        found
    }
}

/// One file being read.
struct Reading<'a, W> {
    mapping: &'a Mapping,
    wall: W,
    now: OffsetDateTime,
    /// The day that a bare time of day belongs to.
    day: Option<time::Date>,
    /// The time of day before.
    last: Option<time::Time>,
}

impl<W: Fn(PrimitiveDateTime) -> Result<OffsetDateTime, String>> Reading<'_, W> {
    fn row(&mut self, row: &Row) -> Result<LogReading, String> {
        let cell = |column: usize| row.cells.get(column).map(|cell| cell.trim()).unwrap_or_default();
        let (time, temperature) = (cell(self.mapping.time), cell(self.mapping.temperature));
        if time.is_empty() {
            return Err("There is no time on this line.".into());
        }
        if temperature.is_empty() {
            return Err("There is no temperature on this line.".into());
        }
        let (value, named) =
            degrees::read(temperature).ok_or_else(|| format!("“{}” is no temperature.", short(temperature)))?;
        let temperature_c = degrees::celsius(value, named.unwrap_or(self.mapping.degrees));
        if !TEMPERATURE.takes(temperature_c) {
            let (low, high) = (TEMPERATURE.min, TEMPERATURE.max);
            return Err(format!("{temperature_c:.1} °C is outside what is kept: {low} to {high} °C."));
        }
        let at = match self.mapping.clock {
            Some(clock) => self.moment(&format!("{time} {}", cell(clock)))?,
            None => self.moment(time)?,
        };
        if at > self.now + AHEAD_MOST {
            return Err("This time still lies ahead.".into());
        }
        if at < OffsetDateTime::UNIX_EPOCH {
            return Err("This time lies before 1970.".into());
        }
        Ok(LogReading { line: row.line, at, temperature_c })
    }

    fn moment(&mut self, text: &str) -> Result<OffsetDateTime, String> {
        let no_time = || format!("“{}” can't be read as {}.", short(text), lower(self.mapping.form.label()));
        match self.mapping.form {
            TimeForm::DateTime => match times::date_time(text, self.mapping.order)? {
                Stamp::Moment(at) => Ok(at),
                Stamp::Wall(at) => (self.wall)(at),
            },
            TimeForm::EpochSeconds => times::epoch(text, 1.0).ok_or_else(no_time),
            TimeForm::EpochMilliseconds => times::epoch(text, 1e-3).ok_or_else(no_time),
            TimeForm::SheetDays => (self.wall)(times::sheet_days(text).ok_or_else(no_time)?),
            TimeForm::TimeOfDay => {
                let time = times::time_of_day(text).ok_or_else(no_time)?;
                self.on_the_day(time)
            }
            form => {
                let since = times::elapsed(text, form).ok_or_else(no_time)?;
                self.start()?.checked_add(since).ok_or_else(no_time)
            }
        }
    }

    fn start(&self) -> Result<OffsetDateTime, String> {
        self.mapping.start.ok_or_else(|| "It isn't said yet when this log began.".to_owned())
    }

    /// A time of day earlier than the one before by half a day or more is the next day's.
    fn on_the_day(&mut self, time: time::Time) -> Result<OffsetDateTime, String> {
        let first = match self.day {
            Some(day) => day,
            None => self.local_day(self.start()?)?,
        };
        let crossed = self.last.is_some_and(|last| last - time > Duration::hours(12));
        let day = if crossed { first.next_day().unwrap_or(first) } else { first };
        let at = (self.wall)(PrimitiveDateTime::new(day, time))?;
        (self.day, self.last) = (Some(day), Some(time));
        Ok(at)
    }

    /// The day on the wall at a moment: that whose midnight is the last before it.
    fn local_day(&self, at: OffsetDateTime) -> Result<time::Date, String> {
        let near = at.date();
        let midnight = |day: time::Date| (self.wall)(PrimitiveDateTime::new(day, time::Time::MIDNIGHT));
        let days = [near.next_day(), Some(near), near.previous_day()];
        let day = days.into_iter().flatten().find(|day| midnight(*day).is_ok_and(|begins| begins <= at));
        Ok(day.unwrap_or(near))
    }
}

/// The first words of a text that may be long.
fn short(text: &str) -> String {
    const MOST: usize = 40;
    let mut kept: String = text.chars().take(MOST).collect();
    if text.chars().nth(MOST).is_some() {
        kept.push('…');
    }
    kept
}

fn lower(label: &str) -> String {
    let first = label.split(',').next().unwrap_or_default();
    let mut letters = first.chars();
    letters.next().map(|letter| letter.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
