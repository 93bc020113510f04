//! What a cell says of the time.

use time::{Date, Duration, Month, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

use super::degrees::number;
use super::{DateOrder, TimeForm, short};

/// A time as a cell tells it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stamp {
    /// What a clock on the wall showed.
    Wall(PrimitiveDateTime),
    /// With its distance from UTC: one moment for everybody.
    Moment(OffsetDateTime),
}

/// Month names by their first letters, in the languages of the loggers one meets
/// (English, German, French, Spanish, Italian, Dutch; from memory).
const MONTHS: [&[&str]; 12] = [
    &["jan", "gen", "ene", "jän"],
    &["feb", "fév", "fev"],
    &["mar", "mär", "maa", "mrt", "mrz"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mei", "mag"],
    &["jun", "juin", "giu"],
    &["jul", "juil", "lug"],
    &["aug", "aoû", "aou", "ago"],
    &["sep", "set"],
    &["oct", "okt", "ott"],
    &["nov"],
    &["dec", "dez", "déc", "dic"],
];

/// The largest distance from UTC that any clock is set to, in minutes.
const OFFSET_MOST: i64 = 18 * 60;

/// A part of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Part<'a> {
    /// Figures, as they stand.
    Figures(&'a str),
    Word(&'a str),
    Mark(char),
}

/// A date with a time of day, with or without a distance from UTC.
///
/// # Errors
/// A sentence. One that has to be told the order of its dates says so.
pub(super) fn date_time(cell: &str, order: Option<DateOrder>) -> Result<Stamp, String> {
    let no_time = || format!("“{}” can't be read as a date and a time.", short(cell));
    let lowered = cell
        .trim()
        .to_lowercase()
        .replace("a.m.", "am")
        .replace("p.m.", "pm")
        .replace("a.m", "am")
        .replace("p.m", "pm");
    let (date, clock) = apart(&lowered).ok_or_else(no_time)?;
    let (clock, offset) = without_offset(clock).ok_or_else(no_time)?;
    let time = clock_time(clock).ok_or_else(no_time)?;
    let at = PrimitiveDateTime::new(read_date(date, order).map_err(|why| why.told(cell))?, time);
    Ok(match offset {
        Some(offset) => Stamp::Moment(at.assume_offset(offset)),
        None => Stamp::Wall(at),
    })
}

/// A date alone: for a column beside that of the time.
pub(super) fn is_date(cell: &str) -> bool {
    let lowered = cell.trim().to_lowercase();
    !lowered.contains(':') && !matches!(read_date(&lowered, None), Err(WhyNot::NoDate | WhyNot::NoDay))
}

/// Whether the order of a date in figures can't be told from the date itself.
pub(super) fn is_ambiguous(cell: &str) -> bool {
    let lowered = cell.trim().to_lowercase();
    let date = apart(&lowered).map_or(lowered.as_str(), |(date, _)| date);
    read_date(date, None) == Err(WhyNot::Ambiguous)
}

/// Which orders a date in figures may be meant in.
pub(super) fn orders(cell: &str) -> [bool; 3] {
    let lowered = cell.trim().to_lowercase();
    let date = apart(&lowered).map_or(lowered.as_str(), |(date, _)| date);
    [DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst].map(|order| read_date(date, Some(order)).is_ok())
}

/// A time of day: `14:42`, `14:42:30.5`, `2:42 pm`, `14h42`.
pub(super) fn time_of_day(cell: &str) -> Option<Time> {
    let lowered = cell.trim().to_lowercase().replace("a.m.", "am").replace("p.m.", "pm");
    clock_time(&lowered)
}

/// Seconds, or a part of them, since 1970.
pub(super) fn epoch(cell: &str, seconds: f64) -> Option<OffsetDateTime> {
    let milliseconds = number(cell)? * seconds * 1e3;
    // Well inside what a calendar holds, and no rounding yet.
    (milliseconds.abs() < 1e14).then_some(())?;
    let milliseconds = milliseconds.round() as i128;
    OffsetDateTime::from_unix_timestamp_nanos(milliseconds * 1_000_000).ok()
}

/// Days since the last day of 1899, the way spreadsheets keep a date.
pub(super) fn sheet_days(cell: &str) -> Option<PrimitiveDateTime> {
    let days = number(cell)?;
    (1.0..2_000_000.0).contains(&days).then_some(())?;
    let zero = Date::from_calendar_date(1899, Month::December, 30).ok()?.midnight();
    // Spreadsheets keep no more than a millisecond anyway.
    zero.checked_add(Duration::milliseconds(rounded(days * 86_400_000.0)?))
}

/// Time since the start: `12:30` is minutes and seconds, `1:02:30` hours as well.
pub(super) fn elapsed(cell: &str, form: TimeForm) -> Option<Duration> {
    let seconds = match form {
        TimeForm::Seconds => plain(cell, &["s", "sec", "secs", "seconds"])?,
        TimeForm::Minutes => plain(cell, &["m", "min", "mins", "minutes"])? * 60.0,
        TimeForm::Hours => plain(cell, &["h", "hr", "hrs", "hours"])? * 3600.0,
        _ => spelt_out(cell)?,
    };
    (seconds.abs() < 1e9).then_some(())?;
    Some(Duration::milliseconds(rounded(seconds * 1e3)?))
}

fn rounded(value: f64) -> Option<i64> {
    (value.abs() < 9e15).then(|| value.round() as i64)
}

/// A number, with or without its unit after it.
fn plain(cell: &str, units: &[&str]) -> Option<f64> {
    let lowered = cell.trim().to_lowercase();
    let end = lowered.rfind(|letter: char| letter.is_ascii_digit())? + 1;
    let (figures, unit) = lowered.split_at(end);
    let unit = unit.trim().trim_end_matches('.');
    (unit.is_empty() || units.contains(&unit)).then(|| number(figures)).flatten()
}

/// `mm:ss`, `h:mm:ss`, with days before and a fraction after.
fn spelt_out(cell: &str) -> Option<f64> {
    let lowered = cell.trim().to_lowercase();
    let (days, clock) = match lowered.rsplit_once(char::is_whitespace) {
        Some((days, clock)) => (plain(days, &["d", "day", "days"])?, clock),
        None => (0.0, lowered.as_str()),
    };
    let mut parts: Vec<f64> =
        clock.split(':').map(|part| number(part).filter(|part| *part >= 0.0)).collect::<Option<_>>()?;
    if !(2..=3).contains(&parts.len()) || parts[1..].iter().any(|part| *part >= 60.0) {
        return None;
    }
    let seconds = parts.pop()?;
    let minutes = parts.pop()?;
    Some(days * 86_400.0 + parts.pop().unwrap_or(0.0) * 3600.0 + minutes * 60.0 + seconds)
}

/// The date and the time of day in a cell.
fn apart(cell: &str) -> Option<(&str, &str)> {
    let figures = |text: &str, count: usize| text.len() == count && text.bytes().all(|byte| byte.is_ascii_digit());
    // 20260307T144200 and 20260307144200.
    if cell.is_char_boundary(8) && figures(&cell[..8], 8) {
        let rest = cell[8..].trim_start_matches(['t', ' ', '_', '-', ',']);
        let clock = rest.trim_end_matches(|letter: char| !letter.is_ascii_digit());
        if figures(clock.split(['+', '-', '.']).next()?, 4)
            || figures(clock.split(['+', '-', '.']).next()?, 6)
            || rest.contains(':')
        {
            return Some((&cell[..8], rest));
        }
    }
    // The clock is where the colon is; where there is none, the last word.
    let colon = match cell.find(':') {
        Some(colon) => colon,
        None => {
            let (date, clock) =
                cell.split_once([' ', 't', '_']).filter(|(date, _)| date.bytes().any(|byte| byte.is_ascii_digit()))?;
            return clock.contains(['.', 'h']).then_some((date, clock.trim()));
        }
    };
    let hour = cell[..colon]
        .rfind(|letter: char| !letter.is_ascii_digit())
        .map_or(0, |at| at + cell[at..].chars().next().map_or(1, char::len_utf8));
    let (date, clock) = cell.split_at(hour);
    let date = date
        .trim_end_matches(|letter: char| letter.is_whitespace() || matches!(letter, ',' | '_' | '-' | '/' | '|' | ';'));
    let date = date.strip_suffix('t').unwrap_or(date).trim();
    if !date.is_empty() {
        return Some((date, clock.trim()));
    }
    // 14:42:00 07.03.2026: the date may stand behind.
    let (clock, date) = clock.split_once(char::is_whitespace)?;
    match date.trim_start().split_once(char::is_whitespace) {
        Some((half @ ("am" | "pm"), rest)) => {
            let end = clock.len() + 1 + date.find(half)? + half.len();
            Some((rest.trim(), cell.get(..end)?))
        }
        _ => Some((date.trim(), clock)),
    }
}

/// A clock's text without its distance from UTC, and that.
fn without_offset(clock: &str) -> Option<(&str, Option<UtcOffset>)> {
    for utc in ["z", "utc", "gmt"] {
        if let Some(bare) = clock.strip_suffix(utc) {
            return Some((bare.trim(), Some(UtcOffset::UTC)));
        }
    }
    let Some(sign) = clock.rfind(['+', '-']) else { return Some((clock, None)) };
    let (bare, offset) = clock.split_at(sign);
    let bare = bare.trim().trim_end_matches("utc").trim_end_matches("gmt").trim();
    let digits: String = offset[1..].chars().filter(|letter| *letter != ':').collect();
    let figures: i64 = digits.parse().ok()?;
    let minutes = match digits.len() {
        1 | 2 => figures * 60,
        4 => figures / 100 * 60 + figures % 100,
        _ => return None,
    };
    let minutes = if offset.starts_with('-') { -minutes } else { minutes };
    (minutes.abs() <= OFFSET_MOST).then_some(())?;
    let offset = UtcOffset::from_whole_seconds(i32::try_from(minutes * 60).ok()?).ok()?;
    Some((bare, Some(offset)))
}

/// A time of day of figures and marks, on 24 hours or on 12.
fn clock_time(clock: &str) -> Option<Time> {
    let clock = clock.trim();
    let (clock, half) = match clock {
        clock if clock.ends_with("am") => (clock[..clock.len() - 2].trim(), Some(0)),
        clock if clock.ends_with("pm") => (clock[..clock.len() - 2].trim(), Some(12)),
        clock => (clock, None),
    };
    let is_bare = matches!(clock.len(), 4 | 6) && clock.bytes().all(|byte| byte.is_ascii_digit());
    let spread = is_bare.then(|| {
        let pairs: Vec<&str> = (0..clock.len()).step_by(2).map(|at| &clock[at..at + 2]).collect();
        pairs.join(":")
    });
    let clock = spread.as_deref().unwrap_or(clock);
    let mut parts: Vec<&str> = clock.split([':', 'h']).collect();
    if parts.len() == 1 {
        parts = clock.split('.').collect();
    }
    if !(2..=4).contains(&parts.len()) || parts.last().is_some_and(|last| last.is_empty()) {
        return None;
    }
    let whole = |part: &str| (1..=2).contains(&part.len()).then(|| part.parse::<u8>().ok()).flatten();
    let (hour, minute) = (whole(parts[0].trim())?, whole(parts[1].trim())?);
    let seconds = match parts[2..] {
        [] => 0.0,
        [seconds] => number(seconds)?,
        // 14.42.30.125
        [seconds, thousandths] => number(&format!("{seconds}.{thousandths}"))?,
        _ => return None,
    };
    if !(0.0..60.0).contains(&seconds) {
        return None;
    }
    let hour = match half {
        None => hour,
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return None,
    };
    let millisecond = rounded(seconds * 1e3)?.min(59_999);
    let (second, millisecond) = (u8::try_from(millisecond / 1000).ok()?, u16::try_from(millisecond % 1000).ok()?);
    Time::from_hms_milli(hour, minute, second, millisecond).ok()
}

/// Why a date can't be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum WhyNot {
    NoDate,
    NoDay,
    Ambiguous,
}

impl WhyNot {
    fn told(self, cell: &str) -> String {
        let cell = short(cell);
        match self {
            Self::NoDate => format!("“{cell}” has no date that can be read."),
            Self::NoDay => format!("“{cell}” names a day that no calendar has in this order."),
            Self::Ambiguous => format!("“{cell}” may be two dates: choose what stands first in it."),
        }
    }
}

fn read_date(text: &str, order: Option<DateOrder>) -> Result<Date, WhyNot> {
    let parts = parts(text);
    let figures: Vec<&str> = parts
        .iter()
        .filter_map(|part| match part {
            Part::Figures(figures) => Some(*figures),
            _ => None,
        })
        .collect();
    let month = parts.iter().find_map(|part| match part {
        Part::Word(word) => month_of(word),
        _ => None,
    });
    if let Some(month) = month {
        let [one, other] = figures[..] else { return Err(WhyNot::NoDate) };
        let year_first = one.len() == 4 || order == Some(DateOrder::YearFirst) && one.len() == 2 && other.len() == 2;
        let (day, year) = if year_first { (other, one) } else { (one, other) };
        return day_of(year, month, day);
    }
    if let [whole] = figures[..]
        && whole.len() == 8
    {
        return day_of(&whole[..4], month_number(&whole[4..6])?, &whole[6..]);
    }
    let [one, two, three] = figures[..] else { return Err(WhyNot::NoDate) };
    if parts.iter().any(|part| matches!(part, Part::Word(word) if word.chars().count() > 3)) && month_words(&parts) {
        return Err(WhyNot::NoDate);
    }
    if one.len() == 4 {
        return day_of(one, month_number(two)?, three);
    }
    let in_order = |order| match order {
        DateOrder::DayFirst => day_of(three, month_number(two)?, one),
        DateOrder::MonthFirst => day_of(three, month_number(one)?, two),
        DateOrder::YearFirst if three.len() == 4 => Err(WhyNot::NoDay),
        DateOrder::YearFirst => day_of(one, month_number(two)?, three),
    };
    if let Some(order) = order {
        return in_order(order);
    }
    // With points between them the day stands first, wherever that is written.
    if three.len() == 4 && parts.contains(&Part::Mark('.')) {
        return in_order(DateOrder::DayFirst);
    }
    let mut found = [DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst]
        .into_iter()
        .filter_map(|order| in_order(order).ok());
    match (found.next(), found.next()) {
        (None, _) => Err(WhyNot::NoDay),
        (Some(date), None) => Ok(date),
        // 04/04/2026 is the same day either way.
        (Some(date), Some(other)) if date == other && found.all(|more| more == date) => Ok(date),
        _ => Err(WhyNot::Ambiguous),
    }
}

/// Words beside the figures other than a day of the week: no date after all.
fn month_words(parts: &[Part<'_>]) -> bool {
    const DAYS: [&str; 14] =
        ["mon", "tue", "wed", "thu", "fri", "sat", "sun", "mont", "dien", "mitt", "donn", "frei", "sams", "sonn"];
    parts.iter().any(|part| matches!(part, Part::Word(word) if !DAYS.iter().any(|day| word.starts_with(day))))
}

fn day_of(year: &str, month: Month, day: &str) -> Result<Date, WhyNot> {
    let number = |text: &str| text.parse::<u16>().map_err(|_| WhyNot::NoDay);
    let year = match year.len() {
        4 => number(year)?,
        2 => 2000 + number(year)?,
        _ => return Err(WhyNot::NoDay),
    };
    if !(1..=2).contains(&day.len()) {
        return Err(WhyNot::NoDay);
    }
    let day = u8::try_from(number(day)?).map_err(|_| WhyNot::NoDay)?;
    Date::from_calendar_date(i32::from(year), month, day).map_err(|_| WhyNot::NoDay)
}

fn month_number(text: &str) -> Result<Month, WhyNot> {
    let number = (1..=2).contains(&text.len()).then(|| text.parse::<u8>().ok()).flatten();
    number.and_then(|number| Month::try_from(number).ok()).ok_or(WhyNot::NoDay)
}

fn month_of(word: &str) -> Option<Month> {
    let index = MONTHS.iter().position(|names| names.iter().any(|name| word.starts_with(name)))?;
    Month::try_from(u8::try_from(index + 1).ok()?).ok()
}

fn parts(text: &str) -> Vec<Part<'_>> {
    let sort = |letter: char| (letter.is_ascii_digit(), letter.is_alphabetic());
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let kind = sort(first);
        let length = match kind {
            (false, false) => first.len_utf8(),
            _ => rest.find(|letter: char| sort(letter) != kind).unwrap_or(rest.len()),
        };
        let (part, after) = rest.split_at(length);
        parts.push(match kind {
            (true, _) => Part::Figures(part),
            (_, true) => Part::Word(part),
            _ => Part::Mark(first),
        });
        rest = after;
    }
    parts
}
