//! Times of day: shown in the brewer's zone, kept in UTC.
//!
//! A time on a page is a [`Moment`]: the words, and beside them the machine's
//! form for `<time datetime>`. What a brewer types (`14:42`, or what a
//! date-and-time field sends) is read back by [`Clock::read`].

use std::fmt;

use jiff::{Timestamp, civil, tz::TimeZone};
use time::{Duration, OffsetDateTime, PrimitiveDateTime};

use crate::brewday::Settings;

/// How far ahead of now a bare time of day may lie before yesterday's is meant.
const AHEAD_MOST: Duration = Duration::minutes(10);
/// How far past midnight, on either side, a time still belongs to the day that is told of:
/// a brew day that began in the evening says `00:33`, not tomorrow's date on every line.
const SAME_NIGHT: Duration = Duration::hours(8);

/// What time it is, and where.
#[derive(Clone, Debug)]
pub struct Clock {
    /// Now.
    pub now: OffsetDateTime,
    zone: TimeZone,
}

/// A time as a page tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// In UTC, for `<time datetime>`.
    pub utc: String,
    /// In words.
    pub text: String,
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Clock {
    /// The brewer's own time of day at a moment.
    #[must_use]
    pub fn of(settings: &Settings, now: OffsetDateTime) -> Self {
        Self::at(now, zone_of(settings.time_zone.as_deref()))
    }

    /// A clock stopped at a time, in a zone.
    #[must_use]
    pub fn at(now: OffsetDateTime, zone: TimeZone) -> Self {
        Self { now, zone }
    }

    /// The zone's IANA name, where it has one.
    #[must_use]
    pub fn zone_name(&self) -> Option<&str> {
        self.zone.iana_name()
    }

    /// `14:42`
    #[must_use]
    pub fn time(&self, at: OffsetDateTime) -> Moment {
        self.told(at, "%H:%M")
    }

    /// `7 March 2026`
    #[must_use]
    pub fn date(&self, at: OffsetDateTime) -> Moment {
        self.told(at, "%-d %B %Y")
    }

    /// `7 Mar`, with the year where it is another than this one.
    #[must_use]
    pub fn day(&self, at: OffsetDateTime) -> Moment {
        let this_year = self.civil(at).year() == self.civil(self.now).year();
        self.told(at, if this_year { "%-d\u{a0}%b" } else { "%-d\u{a0}%b %Y" })
    }

    /// `7 Mar 2026`
    #[must_use]
    pub fn short_date(&self, at: OffsetDateTime) -> Moment {
        self.told(at, "%-d %b %Y")
    }

    /// `7 March, 14:42`, with the year where it is another than this one.
    #[must_use]
    pub fn day_and_time(&self, at: OffsetDateTime) -> Moment {
        let this_year = self.civil(at).year() == self.civil(self.now).year();
        self.told(at, if this_year { "%-d %B, %H:%M" } else { "%-d %B %Y, %H:%M" })
    }

    /// `7 Mar 2026, 14:42:30`
    #[must_use]
    pub fn day_and_second(&self, at: OffsetDateTime) -> Moment {
        self.told(at, "%-d %b %Y, %H:%M:%S")
    }

    /// `14:42` on the day that `now` is in and within eight hours of it, `7 March, 14:42` at any other time.
    #[must_use]
    pub fn short(&self, at: OffsetDateTime) -> Moment {
        let today = self.civil(at).date() == self.civil(self.now).date();
        let tonight = (at - self.now).abs() < SAME_NIGHT;
        if today || tonight { self.time(at) } else { self.day_and_time(at) }
    }

    /// `just now`, `3 min ago`, `2 h 5 min ago`, then the date.
    #[must_use]
    pub fn ago(&self, at: OffsetDateTime) -> Moment {
        let minutes = (self.now - at).whole_minutes();
        let text = match minutes {
            ..1 => "just now".to_owned(),
            1..60 => format!("{minutes}\u{a0}min ago"),
            60..1440 => format!("{}\u{a0}h {}\u{a0}min ago", minutes / 60, minutes % 60),
            _ => return self.day_and_time(at),
        };
        Moment { utc: utc(at), text }
    }

    /// Minutes since midnight on the brewer's wall, for the axis of a picture.
    #[must_use]
    pub fn minute_of_day(&self, at: OffsetDateTime) -> f64 {
        let time = self.civil(at).time();
        f64::from(time.hour()) * 60.0 + f64::from(time.minute()) + f64::from(time.second()) / 60.0
    }

    /// `2026-03-07`, for the name of a file.
    #[must_use]
    pub fn stamp(&self) -> String {
        self.civil(self.now).strftime("%Y-%m-%d").to_string()
    }

    /// What a `datetime-local` field is filled with.
    #[must_use]
    pub fn field(&self, at: OffsetDateTime) -> String {
        self.civil(at).strftime("%Y-%m-%dT%H:%M").to_string()
    }

    /// Reads a time: `14:42`, what a `datetime-local` field sends, or RFC 3339.
    ///
    /// A bare time of day is today's, or yesterday's where today's still lies
    /// ahead: a brew day may cross midnight. Where the clocks went back, the
    /// earlier of the two is meant.
    ///
    /// # Errors
    /// A sentence for the page.
    pub fn read(&self, text: &str) -> Result<OffsetDateTime, String> {
        let text = text.trim();
        if let Ok(at) = text.parse::<Timestamp>() {
            return Ok(from_jiff(at));
        }
        if let Some(time) = time_of_day(text) {
            let today = self.civil(self.now).date();
            let at = self.instant(today.to_datetime(time))?;
            let ahead = at > self.now + AHEAD_MOST;
            let yesterday = today.yesterday().ok().filter(|_| ahead);
            return yesterday.map_or(Ok(at), |day| self.instant(day.to_datetime(time)));
        }
        let Ok(local) = text.parse::<civil::DateTime>() else {
            return Err(format!("“{text}” is no time. Type it like 14:42."));
        };
        self.instant(local)
    }

    /// The moment at which the clock on the wall showed a time.
    ///
    /// # Errors
    /// A sentence, where no clock showed it: the clocks went forward.
    pub fn wall(&self, at: PrimitiveDateTime) -> Result<OffsetDateTime, String> {
        let outside = || "This time is outside what a calendar holds.".to_owned();
        let small = |number: u8| i8::try_from(number).unwrap_or(i8::MAX);
        let year = i16::try_from(at.year()).map_err(|_| outside())?;
        let nanosecond = i32::try_from(at.nanosecond()).unwrap_or(0);
        let local = civil::DateTime::new(
            year,
            small(u8::from(at.month())),
            small(at.day()),
            small(at.hour()),
            small(at.minute()),
            small(at.second()),
            nanosecond,
        );
        self.instant(local.map_err(|_| outside())?)
    }

    fn instant(&self, local: civil::DateTime) -> Result<OffsetDateTime, String> {
        let at = self.zone.to_ambiguous_timestamp(local);
        if matches!(at.offset(), jiff::tz::AmbiguousOffset::Gap { .. }) {
            return Err(format!("{} did not exist on that day: the clocks went forward.", local.strftime("%H:%M")));
        }
        at.compatible().map(from_jiff).map_err(|_| "This time is outside what a calendar holds.".to_owned())
    }

    fn told(&self, at: OffsetDateTime, format: &str) -> Moment {
        Moment { utc: utc(at), text: self.civil(at).strftime(format).to_string() }
    }

    fn civil(&self, at: OffsetDateTime) -> civil::DateTime {
        self.zone.to_datetime(to_jiff(at))
    }
}

/// The zone of this IANA name; the system's where none is chosen or known.
#[must_use]
pub fn zone_of(name: Option<&str>) -> TimeZone {
    name.and_then(|name| TimeZone::get(name).ok()).unwrap_or_else(TimeZone::system)
}

/// Whether this is the IANA name of a zone.
#[must_use]
pub fn is_zone(name: &str) -> bool {
    TimeZone::get(name).is_ok()
}

/// The IANA names of every zone known, in order.
#[must_use]
pub fn zone_names() -> Vec<String> {
    let is_a_place = |name: &String| name.contains('/') && !name.starts_with("Etc/") && !name.starts_with("SystemV/");
    let mut names: Vec<_> = jiff::tz::db().available().map(|name| name.to_string()).filter(is_a_place).collect();
    names.push("UTC".to_owned());
    names
}

/// `2026-03-07T14:42:00Z`
#[must_use]
pub fn utc(at: OffsetDateTime) -> String {
    to_jiff(at).strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// `2026-03-07T14:42:00.125Z`: as exact as the book keeps it.
#[must_use]
pub fn utc_ms(at: OffsetDateTime) -> String {
    to_jiff(at).strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string()
}

/// `14:42`, `9:05` or `14:42:30`, as typed by hand.
fn time_of_day(text: &str) -> Option<civil::Time> {
    let mut parts =
        text.split(':').map(|part| (1..=2).contains(&part.len()).then(|| part.parse::<i8>().ok()).flatten());
    let (hour, minute, second) = (parts.next()??, parts.next()??, parts.next().unwrap_or(Some(0))?);
    if parts.next().is_some() {
        return None;
    }
    civil::Time::new(hour, minute, second, 0).ok()
}

fn to_jiff(at: OffsetDateTime) -> Timestamp {
    // Every time the book holds lies well inside what a timestamp can.
    Timestamp::from_nanosecond(at.unix_timestamp_nanos()).unwrap_or_default()
}

fn from_jiff(at: Timestamp) -> OffsetDateTime {
    OffsetDateTime::from_unix_timestamp_nanos(at.as_nanosecond()).unwrap_or(OffsetDateTime::UNIX_EPOCH)
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    fn berlin(now: OffsetDateTime) -> Clock {
        Clock::at(now, TimeZone::get("Europe/Berlin").expect("a zone"))
    }

    #[test]
    fn a_time_is_told_in_the_zone_and_kept_in_utc() {
        let clock = berlin(datetime!(2026-03-07 14:00 UTC));
        let at = datetime!(2026-03-07 13:42:30 UTC);
        assert_eq!(clock.time(at), Moment { utc: "2026-03-07T13:42:30Z".into(), text: "14:42".into() });
        assert_eq!(clock.date(at).text, "7 March 2026");
        assert_eq!(clock.day(at).text, "7\u{a0}Mar");
        assert_eq!(clock.day(datetime!(2025-10-12 12:00 UTC)).text, "12\u{a0}Oct 2025");
        assert_eq!(clock.day_and_time(at).text, "7 March, 14:42");
        assert_eq!(clock.day_and_time(datetime!(2025-12-31 23:30 UTC)).text, "1 January, 00:30");
        assert_eq!(clock.day_and_time(datetime!(2025-12-31 22:30 UTC)).text, "31 December 2025, 23:30");
        assert_eq!(clock.short(at).text, "14:42");
        assert_eq!(clock.short(datetime!(2026-03-06 13:42 UTC)).text, "6 March, 14:42");
        let evening = berlin(datetime!(2026-03-07 20:00 UTC));
        assert_eq!(evening.short(datetime!(2026-03-07 06:30 UTC)).text, "07:30");
        assert_eq!(evening.short(datetime!(2026-03-08 00:33 UTC)).text, "01:33", "the same brew day, past midnight");
        assert_eq!(evening.short(datetime!(2026-03-08 04:00 UTC)).text, "8 March, 05:00");
        assert_eq!(clock.field(at), "2026-03-07T14:42");
        assert!((clock.minute_of_day(at) - (14.0 * 60.0 + 42.5)).abs() < 1e-9);
    }

    #[test]
    fn how_long_ago_is_told_in_minutes_then_hours() {
        let clock = berlin(datetime!(2026-03-07 14:00 UTC));
        for (at, told) in [
            (datetime!(2026-03-07 14:00:05 UTC), "just now"),
            (datetime!(2026-03-07 13:59:30 UTC), "just now"),
            (datetime!(2026-03-07 13:57 UTC), "3\u{a0}min ago"),
            (datetime!(2026-03-07 11:55 UTC), "2\u{a0}h 5\u{a0}min ago"),
            (datetime!(2026-03-06 13:00 UTC), "6 March, 14:00"),
        ] {
            assert_eq!(clock.ago(at).text, told);
        }
    }

    #[test]
    fn what_a_brewer_types_is_read_in_the_zone() {
        let clock = berlin(datetime!(2026-03-07 14:00 UTC));
        for (text, at) in [
            ("14:42", datetime!(2026-03-07 13:42 UTC)),
            (" 9:05 ", datetime!(2026-03-07 08:05 UTC)),
            ("14:42:30", datetime!(2026-03-07 13:42:30 UTC)),
            ("15:10", datetime!(2026-03-07 14:10 UTC)),
            // Still ahead of the clock: yesterday evening.
            ("23:50", datetime!(2026-03-06 22:50 UTC)),
            ("2026-03-01T08:00", datetime!(2026-03-01 07:00 UTC)),
            ("2026-07-01T08:00", datetime!(2026-07-01 06:00 UTC)),
            ("2026-03-01T08:00:15", datetime!(2026-03-01 07:00:15 UTC)),
            ("2026-03-07T14:42:00Z", datetime!(2026-03-07 14:42 UTC)),
        ] {
            assert_eq!(clock.read(text), Ok(at), "{text}");
        }
    }

    #[test]
    fn what_is_no_time_is_refused_with_a_sentence() {
        let clock = berlin(datetime!(2026-03-07 14:00 UTC));
        for text in ["", "noon", "25:00", "14:60", "14", "14:", "14:4x", "2026-02-30T10:00", "1:2:3:4"] {
            let sentence = clock.read(text).expect_err(text);
            assert!(sentence.contains("14:42"), "{sentence}");
        }
    }

    #[test]
    fn the_hour_the_clocks_skip_did_not_exist_and_the_one_they_repeat_is_the_first() {
        let clock = berlin(datetime!(2026-11-01 12:00 UTC));
        let sentence = clock.read("2026-03-29T02:30").expect_err("skipped");
        assert_eq!(sentence, "02:30 did not exist on that day: the clocks went forward.");
        assert_eq!(clock.read("2026-10-25T02:30"), Ok(datetime!(2026-10-25 00:30 UTC)));
    }
}
