//! Which column is what: as guessed, and as the brewer has put it right.

use std::collections::HashSet;

use crate::brewday::choices::{Choice, Place};
use crate::brewday::logfile::{DateOrder, Degrees, Guess, LogReadings, LogTable, Mapping, TimeForm};
use crate::brewday::{BrewDay, Fault};
use crate::web::Frame;
use crate::web::form::Form;
use crate::web::when::{self, Clock};

/// What the form asks for.
pub(super) const FIELDS: [&str; 10] =
    ["time", "clock", "form", "order", "start", "zone", "temperature", "degrees", "place", "apart"];
/// Readings a batch's pages show well; more than that are thinned unless all are asked for.
const PLENTY: f64 = 5000.0;
/// Seconds apart that are offered, with their words.
const APART: [(&str, &str); 7] = [
    ("0", "Every reading"),
    ("5", "One every 5 s"),
    ("10", "One every 10 s"),
    ("30", "One every 30 s"),
    ("60", "One a minute"),
    ("300", "One every 5 min"),
    ("900", "One every 15 min"),
];

/// A file under a mapping.
pub(super) struct Looked {
    pub(super) form: Form,
    /// None where a column is still to be chosen.
    pub(super) mapping: Option<Mapping>,
    pub(super) found: LogReadings,
    /// Readings that are in the log, or twice in the file.
    pub(super) held: usize,
    /// Whether the order of its dates has to be asked for.
    pub(super) asks_order: bool,
}

impl Looked {
    /// Reads the file as the form says, and as was guessed where it says nothing.
    pub(super) fn at(table: &LogTable, guess: &Guess, day: &BrewDay, frame: &Frame, typed: &Form) -> Self {
        let mut form = filled(guess, day, frame, typed);
        let mapping = match chosen(&form, table, frame) {
            Ok(mapping) => Some(mapping),
            Err(faults) => {
                form = form.with_faults(faults);
                None
            }
        };
        let Some(mut mapping) = mapping else {
            let (found, asks_order) = (LogReadings::default(), guess.asks_order);
            return Self { form, mapping, found, held: 0, asks_order };
        };
        let mut found = readings(table, &mapping, frame);
        if typed.value("apart").is_empty() {
            mapping.apart_s = apart_for(&found);
            form = form.with("apart", mapping.apart_s.to_string());
            if mapping.apart_s > 0 {
                found = readings(table, &mapping, frame);
            }
        }
        let held = found.without_held(held(day, mapping.place));
        Self { form, mapping: Some(mapping), found, held, asks_order: guess.asks_order }
    }

    /// What is still to come in of a file whose columns were told before.
    pub(super) fn again(table: &LogTable, mapping: Mapping, day: &BrewDay, frame: &Frame) -> Self {
        let mut found = readings(table, &mapping, frame);
        let held = found.without_held(held(day, mapping.place));
        Self { form: Form::empty(frame), mapping: Some(mapping), found, held, asks_order: false }
    }
}

/// The moments at which there is a reading of this place, in Unix milliseconds.
fn held(day: &BrewDay, place: Place) -> HashSet<i128> {
    day.temperatures(place).map(|reading| reading.at.unix_timestamp_nanos().div_euclid(1_000_000)).collect()
}

/// The readings of a file under a mapping.
fn readings(table: &LogTable, mapping: &Mapping, frame: &Frame) -> LogReadings {
    let clock = clock_of(mapping.zone.as_deref(), frame);
    table.readings(mapping, |at| clock.wall(at), frame.clock.now)
}

fn clock_of(zone: Option<&str>, frame: &Frame) -> Clock {
    match zone {
        Some(zone) => Clock::at(frame.clock.now, when::zone_of(Some(zone))),
        None => frame.clock.clone(),
    }
}

/// The form with what was guessed wherever nothing was typed.
fn filled(guess: &Guess, day: &BrewDay, frame: &Frame, typed: &Form) -> Form {
    let number = |column: Option<usize>| column.map(|column| (column + 1).to_string()).unwrap_or_default();
    let start = day.flame_out().unwrap_or_else(|| day.brewed_at());
    let guessed = [
        ("time", number(guess.time)),
        ("clock", number(guess.clock)),
        ("form", guess.form.key().to_owned()),
        ("order", guess.order.map(|order| order.key().to_owned()).unwrap_or_default()),
        ("start", frame.clock.field(start)),
        ("zone", String::new()),
        ("temperature", number(guess.temperature)),
        ("degrees", guess.degrees.key().to_owned()),
        ("place", Place::Wort.key().to_owned()),
        ("apart", String::new()),
    ];
    let is_new = FIELDS.iter().all(|name| typed.value(name).is_empty());
    let mut form = Form::empty(frame);
    for (name, guessed) in guessed {
        form = form.with(name, if is_new { guessed.as_str() } else { typed.value(name) });
    }
    form
}

/// The mapping a form describes.
fn chosen(form: &Form, table: &LogTable, frame: &Frame) -> Result<Mapping, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut column = |name: &'static str| {
        let number = form.value(name).parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        let column = number.filter(|column| *column < table.width());
        if column.is_none() {
            faults.push(Fault::new(name, "Choose the column."));
        }
        column.unwrap_or(0)
    };
    let (time, temperature) = (column("time"), column("temperature"));
    let clock = (!form.value("clock").is_empty()).then(|| column("clock"));
    let zone = Some(form.value("zone")).filter(|zone| !zone.is_empty()).map(str::to_owned);
    if zone.as_deref().is_some_and(|zone| !when::is_zone(zone)) {
        faults.push(Fault::new("zone", "No time zone of this name is known. Choose one of the list."));
    }
    let time_form = TimeForm::from_key(form.value("form")).unwrap_or(TimeForm::DateTime);
    let start = match clock_of(zone.as_deref(), frame).read(form.value("start")) {
        Ok(start) => Some(start),
        Err(_) if !time_form.needs_start() => None,
        Err(why) => {
            faults.push(Fault::new("start", why));
            None
        }
    };
    let mapping = Mapping {
        time,
        clock,
        temperature,
        form: time_form,
        order: DateOrder::from_key(form.value("order")),
        degrees: Choice::from_key(form.value("degrees")).unwrap_or(Degrees::Celsius),
        place: Place::from_key(form.value("place")).unwrap_or(Place::Wort),
        start,
        zone,
        apart_s: form.value("apart").parse().unwrap_or(0),
    };
    if faults.is_empty() { Ok(mapping) } else { Err(faults) }
}

/// How far apart readings have to be for as many as a batch's pages show well.
fn apart_for(found: &LogReadings) -> u32 {
    let (Some(first), Some(last)) = (found.readings.first(), found.readings.last()) else { return 0 };
    if found.readings.len() as f64 <= PLENTY {
        return 0;
    }
    let wanted = (last.at - first.at).abs().as_seconds_f64() / PLENTY;
    let seconds = APART.iter().filter_map(|(key, _)| key.parse::<u32>().ok());
    seconds.clone().find(|seconds| f64::from(*seconds) >= wanted).or(seconds.max()).unwrap_or(0)
}

/// The columns to choose from, as the form names them.
pub(super) fn columns(table: &LogTable) -> Vec<(String, String)> {
    (0..table.width()).map(|column| ((column + 1).to_string(), table.name(column))).collect()
}

/// How close together readings may be.
pub(super) fn apart_choices() -> &'static [(&'static str, &'static str)] {
    &APART
}
