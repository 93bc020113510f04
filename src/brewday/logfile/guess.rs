//! Which column is what, told by what stands in it; headings only help.

use super::degrees::{self, celsius};
use super::{DateOrder, Degrees, Row, TimeForm, times};
use crate::brewday::plausible::TEMPERATURE;

/// Rows looked at, spread over the first part of the file.
const LOOKED_AT: usize = 300;
/// Of every hundred cells of a column so many have to be readable.
const MOSTLY_PCT: usize = 60;
/// Of every hundred figures so many may be no temperature at all.
const SLIPS_PCT: usize = 15;
/// Seconds since 1970 from the first loggers on to the end of the century.
const EPOCH_S: std::ops::Range<f64> = 6e8..4.1e9;
/// Days as a spreadsheet counts them, 1982 to 2064.
const SHEET_DAYS: std::ops::Range<f64> = 30_000.0..60_000.0;
/// A time since the start that begins later than this is a time of day.
const BEGINS_WITHIN_S: f64 = 300.0;

/// What a file seems to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// The column with the time, or with the date where the time stands apart.
    pub time: Option<usize>,
    /// The column with the time of day, where it stands apart.
    pub clock: Option<usize>,
    /// The column with the temperature.
    pub temperature: Option<usize>,
    /// How the time is told.
    pub form: TimeForm,
    /// The order of dates in figures, where the file shows it.
    pub order: Option<DateOrder>,
    /// Whether the order of its dates has to be asked for.
    pub asks_order: bool,
    /// The scale.
    pub degrees: Degrees,
}

/// A column of the rows looked at.
struct Column<'a> {
    index: usize,
    name: &'a str,
    cells: Vec<&'a str>,
}

impl Column<'_> {
    /// Whether most of its cells, and at least one, are readable so.
    fn is_mostly(&self, reads: impl Fn(&str) -> bool) -> bool {
        let found = self.cells.iter().filter(|cell| reads(cell)).count();
        found > 0 && found * 100 >= self.cells.len() * MOSTLY_PCT
    }

    fn numbers(&self) -> Vec<f64> {
        self.cells.iter().filter_map(|cell| degrees::number(cell)).collect()
    }

    fn words(&self) -> Vec<String> {
        let lowered = self.name.to_lowercase().replace(['°', 'º', '˚'], " ");
        let words =
            lowered.split(|letter: char| !letter.is_alphanumeric() && letter != '%').filter(|word| !word.is_empty());
        words.map(str::to_owned).collect()
    }

    fn is_called(&self, names: &[&str]) -> bool {
        self.words().iter().any(|word| names.contains(&word.as_str()))
    }

    /// Numbers that only ever grow, as a row's number or a clock's.
    fn is_rising(&self) -> bool {
        let numbers = self.numbers();
        numbers.len() * 100 >= self.cells.len() * MOSTLY_PCT
            && numbers.len() > 1
            && numbers.windows(2).all(|pair| pair[1] >= pair[0])
            && numbers.first() < numbers.last()
    }

    /// 0, 1, 2 … or 1, 2, 3 …: the number of the row.
    fn counts_rows(&self) -> bool {
        let numbers = self.numbers();
        numbers.first().is_some_and(|first| *first == 0.0 || *first == 1.0)
            && numbers.windows(2).all(|pair| pair[1] - pair[0] == 1.0)
    }
}

/// How many of the rows could be read.
pub(super) fn score(rows: &[Row]) -> usize {
    let (guess, _) = columns(rows);
    let (Some(time), Some(temperature)) = (guess.time, guess.temperature) else { return 0 };
    let reads = |row: &&Row| {
        let cell = |column: usize| row.cells.get(column).map_or("", String::as_str);
        let clock = guess.clock.map_or(String::new(), |clock| format!(" {}", cell(clock)));
        reads_time(&format!("{}{clock}", cell(time)), guess.form) && is_temperature(cell(temperature))
    };
    rows.iter().filter(|row| !row.is_remark).filter(reads).count()
}

/// What the columns are, and what they are called.
pub(super) fn columns(rows: &[Row]) -> (Guess, Vec<String>) {
    let data: Vec<&Row> = rows.iter().filter(|row| !row.is_remark).collect();
    let width = usual_width(&data);
    let names = names(rows, width);
    let fit: Vec<&Row> =
        data.iter().copied().filter(|row| row.cells.len() == width && !is_heading(row)).take(LOOKED_AT).collect();
    let column = |index: usize| Column {
        index,
        name: names.get(index).map_or("", String::as_str),
        cells: fit.iter().map(|row| row.cells[index].trim()).filter(|cell| !cell.is_empty()).collect(),
    };
    let columns: Vec<Column<'_>> = (0..width).map(column).filter(|column| !column.cells.is_empty()).collect();
    let (time, clock, form) = time_of(&columns);
    let temperature = temperature_of(&columns, [time, clock]);
    let degrees = temperature
        .and_then(|index| columns.iter().find(|column| column.index == index))
        .map_or(Degrees::Celsius, scale_of);
    let (order, asks_order) = match (form, time) {
        (TimeForm::DateTime, Some(time)) => order_of(&data, time),
        _ => (None, false),
    };
    (Guess { time, clock, temperature, form, order, asks_order, degrees }, names)
}

/// The number of cells that most rows have.
fn usual_width(rows: &[&Row]) -> usize {
    let mut counts = std::collections::BTreeMap::new();
    for row in rows.iter().take(2 * LOOKED_AT) {
        *counts.entry(row.cells.len()).or_insert(0_usize) += 1;
    }
    // Of two widths as frequent the larger: a preamble has the smaller.
    counts.into_iter().max_by_key(|(width, count)| (*count, *width)).map_or(0, |(width, _)| width)
}

/// Whether a row says nothing in figures.
fn is_heading(row: &Row) -> bool {
    !row.cells.iter().any(|cell| cell.contains(|letter: char| letter.is_ascii_digit()))
}

/// The last row of words as wide as the table that stands before its figures.
fn names(rows: &[Row], width: usize) -> Vec<String> {
    let is_figures =
        |row: &&Row| row.cells.len() == width && !row.is_remark && row.cells.iter().any(|cell| is_temperature(cell));
    let first = rows.iter().position(|row| is_figures(&row)).unwrap_or(0);
    let heading = rows[..first]
        .iter()
        .rev()
        .find(|row| row.cells.len() == width || row.is_remark && row.cells.len() + 1 == width);
    let names = heading.map(|row| row.cells.iter().map(|cell| cell.trim().to_owned()).collect());
    names.unwrap_or_default()
}

fn reads_time(cell: &str, form: TimeForm) -> bool {
    match form {
        // Whether it can be read at all, in whatever order its date stands.
        TimeForm::DateTime => {
            [None, Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst), Some(DateOrder::YearFirst)]
                .into_iter()
                .any(|order| times::date_time(cell, order).is_ok())
        }
        TimeForm::TimeOfDay => times::time_of_day(cell).is_some(),
        TimeForm::EpochSeconds => degrees::number(cell).is_some_and(|value| EPOCH_S.contains(&value)),
        TimeForm::EpochMilliseconds => degrees::number(cell).is_some_and(|value| EPOCH_S.contains(&(value / 1e3))),
        TimeForm::SheetDays => degrees::number(cell).is_some_and(|value| SHEET_DAYS.contains(&value)),
        form => times::elapsed(cell, form).is_some(),
    }
}

fn time_of(columns: &[Column<'_>]) -> (Option<usize>, Option<usize>, TimeForm) {
    let first = |form| columns.iter().find(|column| column.is_mostly(|cell| reads_time(cell, form)));
    if let Some(column) = first(TimeForm::DateTime) {
        return (Some(column.index), None, TimeForm::DateTime);
    }
    let is_clock = |cell: &str| cell.contains([':', 'h']) && times::time_of_day(cell).is_some();
    let clock = columns.iter().find(|column| column.is_mostly(is_clock));
    let date = columns.iter().find(|column| column.is_mostly(times::is_date));
    if let (Some(date), Some(clock)) = (date, clock) {
        return (Some(date.index), Some(clock.index), TimeForm::DateTime);
    }
    for form in [TimeForm::EpochSeconds, TimeForm::EpochMilliseconds, TimeForm::SheetDays] {
        if let Some(column) =
            columns.iter().find(|column| column.is_rising() && column.is_mostly(|cell| reads_time(cell, form)))
        {
            return (Some(column.index), None, form);
        }
    }
    let spelt = |cell: &str| cell.contains(':') && times::elapsed(cell, TimeForm::Elapsed).is_some();
    if let Some(column) = columns.iter().find(|column| column.is_mostly(|cell| spelt(cell) || is_clock(cell))) {
        let from_start = column.cells.iter().find_map(|cell| times::elapsed(cell, TimeForm::Elapsed));
        let at_start = from_start.is_some_and(|since| since.as_seconds_f64() <= BEGINS_WITHIN_S);
        let form = if at_start || !column.is_mostly(is_clock) { TimeForm::Elapsed } else { TimeForm::TimeOfDay };
        return (Some(column.index), None, form);
    }
    let unit = |column: &Column<'_>| {
        let last = |ending: &str| column.cells.iter().all(|cell| cell.to_lowercase().ends_with(ending));
        if column.is_called(&["h", "hr", "hrs", "hour", "hours", "stunden"]) || last("h") {
            TimeForm::Hours
        } else if column.is_called(&["m", "min", "mins", "minute", "minutes", "minuten"]) || last("min") {
            TimeForm::Minutes
        } else {
            TimeForm::Seconds
        }
    };
    let is_time = |column: &&Column<'_>| column.is_mostly(|cell| reads_time(cell, unit(column)));
    let called = |column: &&Column<'_>| {
        column.is_called(&[
            "time", "elapsed", "s", "sec", "secs", "seconds", "min", "minutes", "h", "hours", "zeit", "temps",
            "tiempo", "tempo", "tijd", "t",
        ])
    };
    let rising: Vec<&Column<'_>> = columns.iter().filter(|column| column.is_rising()).filter(is_time).collect();
    let named = rising.iter().find(|column| called(column));
    let rising = named.or_else(|| rising.iter().find(|column| !column.counts_rows())).or_else(|| rising.first());
    // Of two columns that only grow, one is the time; of one alone next to a temperature too.
    let spelt_units = columns
        .iter()
        .find(|column| column.is_mostly(|cell| degrees::number(cell).is_none() && reads_time(cell, unit(column))));
    match rising.copied().or(spelt_units) {
        Some(column) => (Some(column.index), None, unit(column)),
        None => (None, None, TimeForm::DateTime),
    }
}

fn is_temperature(cell: &str) -> bool {
    degrees::read(cell).is_some()
}

fn temperature_of(columns: &[Column<'_>], taken: [Option<usize>; 2]) -> Option<usize> {
    let free = columns.iter().filter(|column| !taken.contains(&Some(column.index)) && column.is_mostly(is_temperature));
    // Of two that look alike the one further left.
    free.max_by_key(|column| (rank(column), std::cmp::Reverse(column.index))).map(|column| column.index)
}

/// How much a column looks like a temperature.
fn rank(column: &Column<'_>) -> i32 {
    let names_scale = column.cells.iter().any(|cell| matches!(degrees::read(cell), Some((_, Some(_)))))
        || scale_in(column).is_some() && column.name.contains(['°', 'º', '(', '[', '/', '_', ' ', ',']);
    let is_called = column.words().iter().any(|word| {
        ["temp", "tº", "sonde", "probe", "sensor", "wort", "fühler", "température"]
            .iter()
            .any(|name| word.starts_with(name))
    });
    let is_other = column.is_called(&[
        "%", "rh", "hum", "humidity", "feuchte", "bat", "batt", "battery", "v", "mv", "volt", "volts", "id", "no",
        "nr", "index", "record", "count", "hpa", "pressure", "rssi", "ph", "sg", "dew", "set", "setpoint", "target",
    ]);
    let scale = scale_of(column);
    let plausible = column.is_mostly(|cell| {
        degrees::read(cell).is_some_and(|(value, named)| TEMPERATURE.takes(celsius(value, named.unwrap_or(scale))))
    });
    i32::from(names_scale) * 4 + i32::from(is_called) * 2 + i32::from(plausible) * 4
        - i32::from(is_other) * 6
        - i32::from(column.counts_rows()) * 3
}

/// The scale a heading names.
fn scale_in(column: &Column<'_>) -> Option<Degrees> {
    column.words().iter().rev().find_map(|word| degrees::scale(word))
}

/// The scale of a column: what its cells name, else its heading, else what its figures can be.
fn scale_of(column: &Column<'_>) -> Degrees {
    let named = column.cells.iter().find_map(|cell| degrees::read(cell)?.1).or_else(|| scale_in(column));
    if let Some(named) = named {
        return named;
    }
    let numbers: Vec<f64> = column.cells.iter().filter_map(|cell| Some(degrees::read(cell)?.0)).collect();
    let fits = |degrees| numbers.iter().filter(|value| TEMPERATURE.takes(celsius(**value, degrees))).count();
    // Celsius unless more of it than a few slips can't be.
    let in_celsius = fits(Degrees::Celsius);
    if (numbers.len() - in_celsius) * 100 <= numbers.len() * SLIPS_PCT {
        return Degrees::Celsius;
    }
    let other = [Degrees::Fahrenheit, Degrees::Kelvin].into_iter().max_by_key(|degrees| fits(*degrees));
    other.filter(|other| fits(*other) > in_celsius).unwrap_or(Degrees::Celsius)
}

/// The order of the dates, where all rows together leave only one, and whether it has to be asked for.
fn order_of(rows: &[&Row], column: usize) -> (Option<DateOrder>, bool) {
    const ORDERS: [DateOrder; 3] = [DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst];
    let mut possible = [true; 3];
    let mut doubtful = false;
    let mut before = "";
    for cell in rows.iter().filter_map(|row| row.cells.get(column)) {
        // A log stays on one day for hundreds of rows.
        let date = cell.get(..cell.find(':').map_or(cell.len(), |colon| colon.saturating_sub(2))).unwrap_or(cell);
        if date == before {
            continue;
        }
        before = date;
        let orders = times::orders(cell);
        if !orders.contains(&true) {
            continue;
        }
        doubtful |= times::is_ambiguous(cell);
        for (possible, here) in possible.iter_mut().zip(orders) {
            *possible &= here;
        }
        if doubtful && possible.iter().filter(|one| **one).count() <= 1 {
            break;
        }
    }
    if !doubtful {
        return (None, false);
    }
    let mut left = ORDERS.into_iter().zip(possible).filter(|(_, possible)| *possible).map(|(order, _)| order);
    match (left.next(), left.next()) {
        (Some(order), None) => (Some(order), false),
        _ => (None, true),
    }
}
