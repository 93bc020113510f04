//! Files as loggers write them. Every shape here is made up; the readings in it are
//! known, so a table that comes out otherwise was misread.

use proptest::prelude::*;
use time::macros::{datetime, offset};

use super::*;

/// A house an hour ahead of UTC, the day after.
const NOW: OffsetDateTime = datetime!(2026-04-08 12:00 UTC);
const ZONE: time::UtcOffset = offset!(+1);
/// 14:42 on the wall of that house, where a log begins that has to be told so.
const START: OffsetDateTime = datetime!(2026-03-07 13:42 UTC);

fn wall(at: PrimitiveDateTime) -> Result<OffsetDateTime, String> {
    Ok(at.assume_offset(ZONE))
}

/// What the guess makes of a file, without anybody's help.
fn mapping(guess: &Guess) -> Option<Mapping> {
    Some(Mapping {
        time: guess.time?,
        clock: guess.clock,
        temperature: guess.temperature?,
        form: guess.form,
        order: guess.order,
        degrees: guess.degrees,
        place: Place::Wort,
        start: Some(START),
        zone: None,
        apart_s: 0,
    })
}

fn read(bytes: &[u8]) -> (Guess, LogReadings) {
    let (table, guess) =
        LogTable::read(bytes).unwrap_or_else(|why| panic!("{why}: {:?}", String::from_utf8_lossy(bytes)));
    let mapping = mapping(&guess).unwrap_or_else(|| panic!("{guess:?} of {:?}", table.rows));
    let readings = table.readings(&mapping, wall, NOW);
    (guess, readings)
}

/// The usual three readings: 14:42:00, 14:42:30 and 14:43:00 on the wall, 65.3, 60.1 and 55.0 °C.
#[track_caller]
fn is_the_usual(what: &str, bytes: &[u8]) {
    let (guess, found) = read(bytes);
    let at: Vec<_> = found.readings.iter().map(|reading| (reading.at - START).whole_seconds()).collect();
    assert_eq!(at, [0, 30, 60], "{what}: times, {guess:?}, {found:?}");
    let degrees: Vec<_> = found.readings.iter().map(|reading| (reading.temperature_c * 10.0).round() / 10.0).collect();
    assert_eq!(degrees, [65.3, 60.1, 55.0], "{what}: temperatures, {guess:?}");
    assert!(found.refused.is_empty(), "{what}: {:?}", found.refused);
    assert!(!guess.asks_order, "{what}");
}

/// Shapes whose three rows are the usual ones.
const SHAPES: &[(&str, &str)] = &[
    (
        "commas, ISO with a space",
        "time,temperature\n2026-03-07 14:42:00,65.3\n2026-03-07 14:42:30,60.1\n2026-03-07 14:43:00,55.0\n",
    ),
    ("ISO with a T, no headings", "2026-03-07T14:42:00,65.3\n2026-03-07T14:42:30,60.1\n2026-03-07T14:43:00,55.0"),
    ("UTC by its letter", "t,C\n2026-03-07T13:42:00Z,65.3\n2026-03-07T13:42:30Z,60.1\n2026-03-07T13:43:00Z,55.0\n"),
    (
        "distance from UTC",
        "t,C\n2026-03-07T08:42:00-05:00,65.3\n2026-03-07T08:42:30-05:00,60.1\n2026-03-07T08:43:00-05:00,55.0\n",
    ),
    (
        "distance without a colon",
        "t,C\n2026-03-07 14:42:00+0100,65.3\n2026-03-07 14:42:30+0100,60.1\n2026-03-07 14:43:00+0100,55.0\n",
    ),
    (
        "UTC as a word",
        "t;C\n2026-03-07 13:42:00 UTC;65.3\n2026-03-07 13:42:30 UTC;60.1\n2026-03-07 13:43:00 UTC;55.0\n",
    ),
    ("milliseconds", "2026-03-07 14:42:00.000,65.3\n2026-03-07 14:42:30.000,60.1\n2026-03-07 14:43:00.000,55.0\n"),
    (
        "semicolons and decimal commas",
        "Zeit;Temperatur\n07.03.2026 14:42:00;65,3\n07.03.2026 14:42:30;60,1\n07.03.2026 14:43:00;55,0\n",
    ),
    (
        "points in the time too",
        "Kello;Lämpötila\n7.3.2026 14.42.00;65,3\n7.3.2026 14.42.30;60,1\n7.3.2026 14.43.00;55,0\n",
    ),
    ("two-digit years with points", "Datum;Wert\n27.03.26 14:42;1\n07.03.26 14:42;65,3\n"),
    ("tabs", "Date\tReading\n2026-03-07 14:42:00\t65.3\n2026-03-07 14:42:30\t60.1\n2026-03-07 14:43:00\t55.0\n"),
    ("bars", "when|what\n2026/03/07 14:42:00|65.3\n2026/03/07 14:42:30|60.1\n2026/03/07 14:43:00|55.0\n"),
    ("spaces", "2026-03-07 14:42:00 65.3\n2026-03-07 14:42:30 60.1\n2026-03-07 14:43:00 55.0\n"),
    (
        "columns of spaces",
        "date        time      deg\n2026-03-07  14:42:00  65.3\n2026-03-07  14:42:30  60.1\n2026-03-07  14:43:00  55.0\n",
    ),
    (
        "everything quoted",
        "\"Time\",\"Temp\"\n\"2026-03-07 14:42:00\",\"65.3\"\n\"2026-03-07 14:42:30\",\"60.1\"\n\"2026-03-07 14:43:00\",\"55.0\"\n",
    ),
    (
        "quoted decimal commas between commas",
        "time,temp\n2026-03-07 14:42:00,\"65,3\"\n2026-03-07 14:42:30,\"60,1\"\n2026-03-07 14:43:00,\"55,0\"\n",
    ),
    (
        "a quote within",
        "\"Probe \"\"A\"\", time\",\"Temp\"\n\"2026-03-07 14:42:00\",65.3\n\"2026-03-07 14:42:30\",60.1\n\"2026-03-07 14:43:00\",55\n",
    ),
    (
        "date and time apart",
        "Date,Time,Temp (C)\n2026-03-07,14:42:00,65.3\n2026-03-07,14:42:30,60.1\n2026-03-07,14:43:00,55.0\n",
    ),
    (
        "date and time apart, time first",
        "Time;Date;T\n14:42:00;07.03.2026;65,3\n14:42:30;07.03.2026;60,1\n14:43:00;07.03.2026;55,0\n",
    ),
    (
        "time before the date in one cell",
        "14:42:00 07.03.2026;65,3\n14:42:30 07.03.2026;60,1\n14:43:00 07.03.2026;55,0\n",
    ),
    ("month as a word", "7-Mar-2026 14:42:00,65.3\n7-Mar-2026 14:42:30,60.1\n7-Mar-2026 14:43:00,55.0\n"),
    (
        "month as a word before the day",
        "\"Mar 7, 2026 14:42:00\",65.3\n\"Mar 7, 2026 14:42:30\",60.1\n\"Mar 7, 2026 14:43:00\",55.0\n",
    ),
    ("month in German", "7. März 2026 14:42:00;65,3\n7. März 2026 14:42:30;60,1\n7. März 2026 14:43:00;55,0\n"),
    ("month in French", "7 mars 2026 14:42:00;65,3\n7 mars 2026 14:42:30;60,1\n7 mars 2026 14:43:00;55,0\n"),
    (
        "weekday before the date",
        "Sat 7 Mar 2026 14:42:00\t65.3\nSat 7 Mar 2026 14:42:30\t60.1\nSat 7 Mar 2026 14:43:00\t55.0\n",
    ),
    (
        "twelve hours",
        "time,temp\n2026-03-07 02:42:00 PM,65.3\n2026-03-07 02:42:30 PM,60.1\n2026-03-07 02:43:00 PM,55.0\n",
    ),
    (
        "twelve hours with points",
        "time,temp\n2026-03-07 2:42:00 p.m.,65.3\n2026-03-07 2:42:30 p.m.,60.1\n2026-03-07 2:43:00 p.m.,55.0\n",
    ),
    ("seconds since 1970", "ts,value\n1772890920,65.3\n1772890950,60.1\n1772890980,55.0\n"),
    ("seconds since 1970 with a part", "1772890920.0,65.3\n1772890950.0,60.1\n1772890980.0,55.0\n"),
    ("milliseconds since 1970", "ts,value\n1772890920000,65.3\n1772890950000,60.1\n1772890980000,55.0\n"),
    ("days as a spreadsheet counts", "46088.6125,65.3\n46088.61284722,60.1\n46088.61319444,55.0\n"),
    ("elapsed minutes and seconds", "elapsed,temp\n00:00,65.3\n00:30,60.1\n01:00,55.0\n"),
    ("elapsed hours, minutes, seconds", "Elapsed;Temp\n0:00:00;65,3\n0:00:30;60,1\n0:01:00;55,0\n"),
    ("elapsed seconds", "s,°C\n0,65.3\n30,60.1\n60,55.0\n"),
    ("elapsed minutes by heading", "Time (min),Temp\n0.0,65.3\n0.5,60.1\n1.0,55.0\n"),
    ("elapsed hours by heading", "t [h],T\n0,65.3\n0.0083333,60.1\n0.0166667,55.0\n"),
    ("elapsed seconds with their unit", "0 s;65.3 °C\n30 s;60.1 °C\n60 s;55.0 °C\n"),
    ("a time of day alone", "time,temp\n14:42:00,65.3\n14:42:30,60.1\n14:43:00,55.0\n"),
    (
        "Fahrenheit in the heading",
        "time,Temp (°F)\n2026-03-07 14:42:00,149.54\n2026-03-07 14:42:30,140.18\n2026-03-07 14:43:00,131.0\n",
    ),
    (
        "Fahrenheit as a word",
        "time,Degrees Fahrenheit\n2026-03-07 14:42:00,149.54\n2026-03-07 14:42:30,140.18\n2026-03-07 14:43:00,131\n",
    ),
    (
        "Fahrenheit in the cells",
        "time,reading\n2026-03-07 14:42:00,149.54 F\n2026-03-07 14:42:30,140.18°F\n2026-03-07 14:43:00,131 °F\n",
    ),
    (
        "Fahrenheit by its figures",
        "time,reading\n2026-03-07 14:42:00,149.54\n2026-03-07 14:42:30,140.18\n2026-03-07 14:43:00,131\n",
    ),
    ("kelvin", "time,T/K\n2026-03-07 14:42:00,338.45\n2026-03-07 14:42:30,333.25\n2026-03-07 14:43:00,328.15\n"),
    ("kelvin by its figures", "2026-03-07 14:42:00,338.45\n2026-03-07 14:42:30,333.25\n2026-03-07 14:43:00,328.15\n"),
    (
        "a row number first",
        "No,Time,Temp\n1,2026-03-07 14:42:00,65.3\n2,2026-03-07 14:42:30,60.1\n3,2026-03-07 14:43:00,55.0\n",
    ),
    (
        "humidity and battery beside",
        "Time,Humidity %,Temperature °C,Battery V\n2026-03-07 14:42:00,44.1,65.3,3.1\n2026-03-07 14:42:30,45.0,60.1,3.1\n2026-03-07 14:43:00,45.2,55.0,3.0\n",
    ),
    (
        "a preamble",
        "Serial number: 4711\nInterval: 30 s\nFirmware,2.1\n\nTime,Temp\n2026-03-07 14:42:00,65.3\n2026-03-07 14:42:30,60.1\n2026-03-07 14:43:00,55.0\n",
    ),
    (
        "a line that names the separator",
        "sep=;\nTime;Temp\n2026-03-07 14:42:00;65,3\n2026-03-07 14:42:30;60,1\n2026-03-07 14:43:00;55,0\n",
    ),
    (
        "remarks",
        "# logger 7\n# time,temp\n2026-03-07 14:42:00,65.3\n// pause\n2026-03-07 14:42:30,60.1\n2026-03-07 14:43:00,55.0\n",
    ),
    (
        "blank lines and old line ends",
        "time,temp\r\r2026-03-07 14:42:00,65.3\r\r2026-03-07 14:42:30,60.1\r2026-03-07 14:43:00,55.0\r",
    ),
    (
        "a separator at the end",
        "time;temp;\n2026-03-07 14:42:00;65.3;\n2026-03-07 14:42:30;60.1;\n2026-03-07 14:43:00;55.0;\n",
    ),
    ("figures run together", "20260307T144200,65.3\n20260307T144230,60.1\n20260307T144300,55.0\n"),
    ("figures run together without the T", "20260307144200;65.3\n20260307144230;60.1\n20260307144300;55.0\n"),
    (
        "headings in letters of elsewhere",
        "時刻,温度\n2026-03-07 14:42:00,65.3\n2026-03-07 14:42:30,60.1\n2026-03-07 14:43:00,55.0\n",
    ),
    ("the year first with points", "2026.03.07 14:42:00;65.3\n2026.03.07 14:42:30;60.1\n2026.03.07 14:43:00;55.0\n"),
    (
        "spaces round the cells",
        "  2026-03-07 14:42:00 ,  65.3 \n 2026-03-07 14:42:30 , 60.1\n2026-03-07 14:43:00,55.0  \n",
    ),
];

#[test]
fn every_shape_gives_the_same_readings() {
    assert!(SHAPES.len() >= 40);
    for (what, text) in SHAPES {
        if what.starts_with("two-digit years") {
            continue;
        }
        is_the_usual(what, text.as_bytes());
        is_the_usual(&format!("{what}, Windows lines"), text.replace('\n', "\r\n").as_bytes());
        is_the_usual(&format!("{what}, marked UTF-8"), format!("\u{feff}{text}").as_bytes());
        for (bytes, mark) in [
            (u16::to_le_bytes as fn(u16) -> [u8; 2], true),
            (u16::to_be_bytes, true),
            (u16::to_le_bytes, false),
            (u16::to_be_bytes, false),
        ] {
            // Without its mark UTF-16 is known by its noughts, which only plain letters leave.
            if mark || text.is_ascii() {
                let marked = if mark { format!("\u{feff}{text}") } else { (*text).to_owned() };
                let wide: Vec<u8> = marked.encode_utf16().flat_map(bytes).collect();
                is_the_usual(&format!("{what}, UTF-16"), &wide);
            }
        }
        if text.chars().all(|letter| u32::from(letter) < 256) {
            let western: Vec<u8> = text.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect();
            is_the_usual(&format!("{what}, Latin-1"), &western);
        }
    }
}

#[test]
fn a_date_that_may_be_two_is_asked_for() {
    let text = b"03/04/2026 14:42,65.3\n03/04/2026 14:43,60.1\n";
    let (guess, found) = read(text);
    assert!(guess.asks_order && guess.order.is_none(), "{guess:?}");
    assert!(found.readings.is_empty());
    assert!(found.refused[0].why.contains("may be two dates"), "{:?}", found.refused);
    let (table, _) = LogTable::read(text).unwrap();
    for (order, at) in [
        (DateOrder::DayFirst, datetime!(2026-04-03 13:42 UTC)),
        (DateOrder::MonthFirst, datetime!(2026-03-04 13:42 UTC)),
    ] {
        let told = Mapping { order: Some(order), ..mapping(&guess).unwrap() };
        assert_eq!(table.readings(&told, wall, NOW).readings[0].at, at);
    }
    let told = Mapping { order: Some(DateOrder::YearFirst), ..mapping(&guess).unwrap() };
    assert!(table.readings(&told, wall, NOW).refused[0].why.contains("no calendar"));
}

#[test]
fn one_day_past_the_twelfth_tells_the_order_of_all() {
    for (late, order) in [("13/04/2026", DateOrder::DayFirst), ("04/13/2025", DateOrder::MonthFirst)] {
        let (guess, _) = read(format!("03/04/2026 14:42,65.3\n{late} 14:43,60.1\n").as_bytes());
        assert_eq!((guess.order, guess.asks_order), (Some(order), false), "{late}");
    }
    // The same day either way, and years first, need no asking.
    for date in ["04/04/2026", "2026/03/04", "2026-03-04", "03.04.2026"] {
        let (guess, found) = read(format!("{date} 14:42,65.3\n{date} 14:43,60.1\n").as_bytes());
        assert!(!guess.asks_order && found.readings.len() == 2, "{date}: {guess:?}, {found:?}");
    }
}

#[test]
fn a_two_digit_year_is_of_this_century() {
    let (table, guess) = LogTable::read(b"27.03.26 14:42;65,3\n28.03.26 14:42;60,1\n").unwrap();
    assert!(guess.order.is_none() && guess.asks_order || guess.order == Some(DateOrder::DayFirst), "{guess:?}");
    let told = Mapping { order: Some(DateOrder::DayFirst), ..mapping(&guess).unwrap() };
    let found = table.readings(&told, wall, NOW);
    assert_eq!(found.readings[0].at, datetime!(2026-03-27 13:42 UTC));
}

#[test]
fn each_refused_row_has_its_line_and_its_reason() {
    let text = "time,temp\n\
        2026-03-07 14:42:00,65.3\n\
        2026-03-07 14:43:00,\n\
        ,60.0\n\
        yesterday,60.0\n\
        2026-03-07 14:44:00,ERR\n\
        2026-03-07 14:45:00,180\n\
        2026-02-30 14:46:00,60\n\
        2026-03-07 25:00:00,60\n\
        2031-03-07 14:46:00,60\n\
        1955-03-07 14:46:00,60\n\
        2026-03-07 14:47:00,58.5\n\
        end of log\n";
    let (_, found) = read(text.as_bytes());
    assert_eq!(found.readings.iter().map(|reading| reading.line).collect::<Vec<_>>(), [2, 12]);
    let told: Vec<(usize, &str)> = found.refused.iter().map(|refused| (refused.line, refused.why.as_str())).collect();
    let wanted = [
        (3, "no temperature on this line"),
        (4, "no time on this line"),
        (5, "can't be read as a date and a time"),
        (6, "“ERR” is no temperature"),
        (7, "outside what is kept"),
        (8, "names a day that no calendar has"),
        (9, "can't be read as a date and a time"),
        (10, "still lies ahead"),
        (11, "before 1970"),
        (13, "no temperature on this line"),
    ];
    assert_eq!(told.len(), wanted.len(), "{told:?}");
    for ((line, why), (wanted_line, words)) in told.iter().zip(wanted) {
        assert!(*line == wanted_line && why.contains(words) && why.ends_with('.'), "{line}: {why}, not {words}");
    }
    assert_eq!(found.passed_over, 1);
}

#[test]
fn a_time_of_day_that_falls_back_is_the_next_day() {
    let (_, found) = read(b"time,temp\n23:58:00,65.3\n23:59:00,64.0\n00:00:30,62.9\n00:01:00,62.0\n");
    let at: Vec<_> = found.readings.iter().map(|reading| reading.at.to_offset(ZONE)).collect();
    assert_eq!((at[1], at[2]), (datetime!(2026-03-07 23:59 +1), datetime!(2026-03-08 00:00:30 +1)));
}

#[test]
fn readings_too_close_together_are_thinned() {
    let rows: String = (0..600).map(|s| format!("{},{:.1}\n", 1_772_890_920 + s, 90.0 - 0.05 * f64::from(s))).collect();
    let (table, guess) = LogTable::read(rows.as_bytes()).unwrap();
    let told = Mapping { apart_s: 60, ..mapping(&guess).unwrap() };
    let found = table.readings(&told, wall, NOW);
    assert_eq!((found.readings.len(), found.thinned), (10, 590));
}

#[test]
fn a_reading_that_is_held_or_stands_twice_comes_in_once() {
    let (_, mut found) = read(b"1772890920,65.3\n1772890950,60.1\n1772890950,60.1\n1772890980,55.0\n");
    assert_eq!(found.readings.len(), 4);
    let held = HashSet::from([1_772_890_920_000]);
    assert_eq!(found.without_held(held), 2);
    assert_eq!(found.readings.iter().map(|reading| reading.line).collect::<Vec<_>>(), [2, 4]);
}

#[test]
fn a_wall_clock_that_never_showed_a_time_refuses_it() {
    let gap = |at: PrimitiveDateTime| if at.hour() == 2 { Err("02:30 did not exist.".to_owned()) } else { wall(at) };
    let (table, guess) =
        LogTable::read(b"2026-03-29 01:30,65.3\n2026-03-29 02:30,60.1\n2026-03-29 03:30,55\n").unwrap();
    let found = table.readings(&mapping(&guess).unwrap(), gap, NOW);
    assert_eq!((found.readings.len(), found.refused[0].why.as_str()), (2, "02:30 did not exist."));
}

#[test]
fn what_is_no_table_says_so() {
    for (bytes, words) in [
        (&b""[..], "nothing in this file"),
        (b"\n \n\t\n", "nothing in this file"),
        (b"\x00\x01\x02\x03PNG\x1a\x05\x06\x07\x08\x0e\x0f", "no table of text"),
    ] {
        let why = LogTable::read(bytes).unwrap_err();
        assert!(why.contains(words), "{why}");
    }
    let (_, guess) = LogTable::read(b"Dear all,\nthe malt has come.\n").unwrap();
    assert!(guess.time.is_none() || guess.temperature.is_none());
}

#[test]
fn numbers_and_scales_are_read_as_people_write_them() {
    for (cell, wanted) in [
        ("65.3", Some((65.3, None))),
        ("65,3", Some((65.3, None))),
        ("−1,5", Some((-1.5, None))),
        ("-0.25", Some((-0.25, None))),
        ("65", Some((65.0, None))),
        ("65.3°", Some((65.3, None))),
        ("65.3 °C", Some((65.3, Some(Degrees::Celsius)))),
        ("149.5F", Some((149.5, Some(Degrees::Fahrenheit)))),
        ("149.5 deg F", Some((149.5, Some(Degrees::Fahrenheit)))),
        ("338.4 K", Some((338.4, Some(Degrees::Kelvin)))),
        ("1,234.5", Some((1234.5, None))),
        ("1.234,5", Some((1234.5, None))),
        ("", None),
        ("---", None),
        ("NaN", None),
        ("inf", None),
        ("65.3 V", None),
        ("12:30", None),
        ("OL", None),
    ] {
        assert_eq!(degrees::read(cell), wanted, "{cell}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_bytes_at_all_upset_it(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        whole(&bytes);
    }

    #[test]
    fn nothing_that_looks_like_a_log_upsets_it(text in "([0-9:;,./ |tTzZ+\"#\n\r°CF−-]|am|pm|Mar|2026|14:42|65\\.3|ä){0,80}") {
        whole(text.as_bytes());
    }

    #[test]
    fn no_cell_upsets_its_reader(cell in "\\PC{0,24}") {
        for order in [None, Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst), Some(DateOrder::YearFirst)] {
            let _ = times::date_time(&cell, order);
        }
        let _ = (times::time_of_day(&cell), times::orders(&cell), times::is_ambiguous(&cell), times::is_date(&cell));
        for form in TimeForm::ALL {
            let _ = times::elapsed(&cell, *form);
        }
        let _ = (times::epoch(&cell, 1.0), times::sheet_days(&cell), degrees::read(&cell));
    }

    #[test]
    fn what_is_written_in_any_form_is_read_back(second in 0_i64..50_000_000, tenths in -99_i32..1149) {
        let at = datetime!(2024-01-01 00:00 +1) + Duration::seconds(second);
        let celsius = f64::from(tenths) / 10.0;
        let (y, m, d, h, n, s) = (at.year(), u8::from(at.month()), at.day(), at.hour(), at.minute(), at.second());
        let half = if h < 12 { "AM" } else { "PM" };
        let twelve = (h + 11) % 12 + 1;
        for (cell, order) in [
            (format!("{y}-{m:02}-{d:02}T{h:02}:{n:02}:{s:02}"), None),
            (format!("{y}-{m:02}-{d:02} {h:02}:{n:02}:{s:02}+01:00"), None),
            (format!("{d:02}/{m:02}/{y} {h:02}:{n:02}:{s:02}"), Some(DateOrder::DayFirst)),
            (format!("{m}/{d}/{y} {twelve}:{n:02}:{s:02} {half}"), Some(DateOrder::MonthFirst)),
            (format!("{d}.{m}.{y} {h}.{n:02}.{s:02}"), None),
            (format!("{y}{m:02}{d:02}{h:02}{n:02}{s:02}"), None),
        ] {
            let row = format!("{cell};{}", celsius.to_string().replace('.', ","));
            let (table, guess) = LogTable::read(row.as_bytes()).map_err(TestCaseError::fail)?;
            let told = Mapping { time: 0, clock: None, temperature: 1, form: TimeForm::DateTime, order, degrees: Degrees::Celsius, place: Place::Wort, start: None, zone: None, apart_s: 0 };
            prop_assert_eq!(table.separator, ';', "{} {:?}", row, guess);
            let found = table.readings(&told, wall, NOW);
            prop_assert_eq!(&found.readings, &vec![LogReading { line: 1, at, temperature_c: celsius }], "{} {:?}", cell, found);
        }
    }
}

/// Reads whatever it is under every form, and counts its rows.
fn whole(bytes: &[u8]) {
    let Ok((table, guess)) = LogTable::read(bytes) else { return };
    let base = Mapping {
        time: guess.time.unwrap_or(0),
        clock: guess.clock,
        temperature: guess.temperature.unwrap_or(1),
        form: guess.form,
        order: guess.order,
        degrees: guess.degrees,
        place: Place::Wort,
        start: Some(START),
        zone: None,
        apart_s: 1,
    };
    for form in TimeForm::ALL {
        let found = table.readings(&Mapping { form: *form, ..base.clone() }, wall, NOW);
        let told = found.readings.len() + found.refused.len() + found.passed_over + found.thinned;
        assert_eq!(told, table.rows.len(), "every row is told once");
    }
}
