//! The day's readings as a table for other programs.

use time::format_description::well_known::Rfc3339;

use super::choices::Choice;
use super::{Body, BrewDay};

/// The table's columns; a reading leaves those that aren't its own empty.
const COLUMNS: [&str; 9] =
    ["at", "kind", "point", "instrument", "temperature_c", "volume_l", "gravity_sg", "brix", "ph"];

/// One standing reading: what it is, then the figures by column.
struct Reading {
    kind: &'static str,
    point: &'static str,
    instrument: &'static str,
    temperature_c: Option<f64>,
    volume_l: Option<f64>,
    gravity_sg: Option<f64>,
    brix: Option<f64>,
    ph: Option<f64>,
}

/// Every temperature, volume, gravity and pH that stands, in the order they
/// were read, as comma-separated values [RFC 4180] with a heading: times in
/// UTC, figures as they were read.
///
/// No cell holds a brewer's own words, so none can be taken for a formula.
#[must_use]
pub fn readings_csv(day: &BrewDay) -> String {
    let mut table = COLUMNS.join(",") + "\r\n";
    write(&mut table, "", day);
    table
}

/// The readings of a whole book, batch after batch: a column with the batch's
/// number, then the columns of [`readings_csv`].
#[derive(Clone, Debug)]
pub struct BookReadings(String);

impl Default for BookReadings {
    fn default() -> Self {
        Self(format!("batch,{}\r\n", COLUMNS.join(",")))
    }
}

impl BookReadings {
    /// Adds a batch's rows.
    pub fn add(&mut self, day: &BrewDay) {
        write(&mut self.0, &format!("{},", day.batch.id), day);
    }

    /// How long the table is, from what was last taken.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.0.len()
    }

    /// The table, from what was last taken.
    #[must_use]
    pub fn take(&mut self) -> String {
        std::mem::take(&mut self.0)
    }
}

/// Writes a row for each reading, each with the same words before it.
fn write(table: &mut String, before: &str, day: &BrewDay) {
    use std::fmt::Write;

    for one in &day.standing {
        let Some(reading) = Reading::of(&one.body) else { continue };
        let at = one.at.to_offset(time::UtcOffset::UTC).format(&Rfc3339).unwrap_or_default();
        let _ = write!(table, "{before}{at},{},{},{}", reading.kind, reading.point, reading.instrument);
        for figure in [reading.temperature_c, reading.volume_l, reading.gravity_sg, reading.brix, reading.ph] {
            table.push(',');
            if let Some(figure) = figure {
                let _ = write!(table, "{figure}");
            }
        }
        table.push_str("\r\n");
    }
}

impl Reading {
    fn of(body: &Body) -> Option<Self> {
        let reading = |point| Self {
            kind: body.kind(),
            point,
            instrument: "",
            temperature_c: None,
            volume_l: None,
            gravity_sg: None,
            brix: None,
            ph: None,
        };
        Some(match *body {
            Body::Temperature { place, temperature_c } => {
                Self { temperature_c: Some(temperature_c), ..reading(place.key()) }
            }
            Body::Volume { point, volume_l, temperature_c } => {
                Self { volume_l: Some(volume_l), temperature_c: Some(temperature_c), ..reading(point.key()) }
            }
            Body::Gravity { point, instrument, reading: value, temperature_c } => {
                let brix = instrument == super::choices::Instrument::Refractometer;
                Self {
                    instrument: instrument.key(),
                    temperature_c: Some(temperature_c),
                    gravity_sg: (!brix).then_some(value),
                    brix: brix.then_some(value),
                    ..reading(point.key())
                }
            }
            Body::Ph { point, ph } => Self { ph: Some(ph), ..reading(point.key()) },
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::testing::Day;

    #[test]
    fn what_another_reader_reads_is_what_was_read() {
        let mut day = Day::new();
        day.at(0.5, json!({"kind": "temperature", "place": "room", "temperature_c": -3.5}));
        day.at(1.0, json!({"kind": "note", "note": "=cmd"}));
        day.at(2.0, json!({"kind": "volume", "point": "pre_boil", "volume_l": 26, "temperature_c": 70}));
        day.at(3.0, json!({"kind": "gravity", "point": "pre_boil", "instrument": "refractometer", "reading": 10.2, "temperature_c": 20}));
        let struck = day.at(4.0, json!({"kind": "ph", "point": "mash", "ph": 9}));
        day.at(5.0, json!({"kind": "ph", "point": "mash", "ph": 5.4}));
        day.at(6.0, json!({"kind": "amendment", "of": struck.to_string(), "void": true}));
        let table = readings_csv(&day.fold());

        // The csv crate is the outside reader: strict about the number of cells.
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        assert_eq!(reader.headers().unwrap(), &COLUMNS[..]);
        let rows: Vec<Vec<String>> =
            reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
        let wanted = [
            ["2026-03-07T09:00:30Z", "temperature", "room", "", "-3.5", "", "", "", ""],
            ["2026-03-07T09:02:00Z", "volume", "pre_boil", "", "70", "26", "", "", ""],
            ["2026-03-07T09:03:00Z", "gravity", "pre_boil", "refractometer", "20", "", "", "10.2", ""],
            ["2026-03-07T09:05:00Z", "ph", "mash", "", "", "", "", "", "5.4"],
        ];
        assert_eq!(rows, wanted);
        let mut book = BookReadings::default();
        book.add(&day.fold());
        let book = book.take();
        let mut lines = book.lines().zip(table.lines());
        assert_eq!(lines.next(), Some((&*format!("batch,{}", COLUMNS.join(",")), &*COLUMNS.join(","))));
        assert!(lines.all(|(one, other)| one == format!("1,{other}")), "{book}");
        assert!(table.lines().count() == 5 && table.matches("\r\n").count() == 5, "RFC 4180 ends lines with CRLF");
    }
}
