//! From a body of named fields to an entry.

use serde_json::{Value, json};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::{Amendment, Body, Care, CoolingStarted, Entry, KINDS, Pitched, Replacement};
use crate::brewday::choices::{CareAct, Choice, Instrument};
use crate::brewday::fields::{Fault, Field, Reader, Why};
use crate::brewday::plausible::{
    BRIX, CELLS, FLOW, GRAVITY, LINE_CHARS, MASS, NAME_CHARS, NOTE_CHARS, PH, SMALL_MASS, TEMPERATURE, VOLUME,
    VOLUME_OR_NONE,
};
use crate::brewday::recipe::Typed;

/// How far ahead of now an entry may lie: a phone's clock is never quite right.
const AHEAD_MOST: Duration = Duration::minutes(10);

impl Entry {
    /// Reads an entry from a body of canonical fields.
    ///
    /// `now` is the server's time; `clock_error` is how far the phone's clock
    /// runs ahead of it, and is taken off the time the phone gave.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value, now: OffsetDateTime, clock_error: Duration) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        match Self::read(&mut read, now, clock_error) {
            Some(entry) => read.finish(entry),
            // Without a kind there is no telling which other fields belong here.
            None => Err(read.into_faults()),
        }
    }

    /// The fields of one kind of entry, for whoever writes one. What an
    /// instrument reads depends on which it is.
    #[must_use]
    pub fn fields(kind: &'static str, instrument: Option<Instrument>) -> Vec<Field> {
        Reader::fields(&given(kind, instrument), |read| Self::read(read, OffsetDateTime::UNIX_EPOCH, Duration::ZERO))
    }

    fn read(read: &mut Reader<'_>, now: OffsetDateTime, clock_error: Duration) -> Option<Self> {
        let id = read.uuid("id");
        let at = read.maybe_time("at").map(|at| at.checked_sub(clock_error).unwrap_or(at));
        if at.is_none() {
            read.needs("at");
        }
        let at = at.unwrap_or(now);
        check_time(read, at, now);
        let body = Body::read(read, now)?;
        let note = read_note(read, &body);
        Some(Self { id, at, body, note, typed: read.texts("typed", LINE_CHARS) })
    }

    /// Reads a probe's reading, which comes without an id and may come without a time.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_probe(body: &Value, id: Uuid, now: OffsetDateTime) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let (at, body) = Self::read_probe(&mut read);
        let at = at.unwrap_or(now);
        check_time(&mut read, at, now);
        read.finish(Self { id, at, body, note: None, typed: Typed::new() })
    }

    /// The fields of a probe's reading.
    #[must_use]
    pub fn probe_fields() -> Vec<Field> {
        Reader::fields(&json!({}), Self::read_probe)
    }

    fn read_probe(read: &mut Reader<'_>) -> (Option<OffsetDateTime>, Body) {
        (read.maybe_time("at"), Body::read_temperature(read))
    }
}

impl Body {
    /// Reads the fields of whatever kind the body says it is.
    fn read(read: &mut Reader<'_>, now: OffsetDateTime) -> Option<Self> {
        let kind = read.text("kind", NAME_CHARS);
        Some(match kind.as_str() {
            "stage_started" => Self::StageStarted { stage: read.choice("stage") },
            "stage_finished" => Self::StageFinished { stage: read.choice("stage") },
            "boil_started" => Self::BoilStarted,
            "flame_out" => Self::FlameOut,
            "temperature" => Self::read_temperature(read),
            "volume" => Self::Volume {
                point: read.choice("point"),
                volume_l: read.number("volume_l", VOLUME),
                temperature_c: read.number("temperature_c", TEMPERATURE),
            },
            "gravity" => Self::read_gravity(read),
            "ph" => Self::Ph { point: read.choice("point"), ph: read.number("ph", PH) },
            "addition" => Self::Addition {
                what: read.text("what", NAME_CHARS),
                mass_kg: read.number("mass_kg", SMALL_MASS),
                planned: read.maybe_id("planned"),
            },
            "flush_started" => Self::FlushStarted { temperature_c: read.maybe_number("temperature_c", TEMPERATURE) },
            "flush_finished" => Self::FlushFinished { temperature_c: read.maybe_number("temperature_c", TEMPERATURE) },
            "cooling_started" => Self::CoolingStarted(CoolingStarted::read(read)),
            "ice_added" => Self::IceAdded { ice_kg: read.number("ice_kg", MASS) },
            "bath_stirred" => Self::BathStirred,
            "coil_drained" => Self::CoilDrained { recovered_l: read.number("recovered_l", VOLUME_OR_NONE) },
            "check" => Self::Check {
                item: read.text("item", LINE_CHARS),
                outcome: read.choice("outcome"),
                why: read.maybe_text("why", NOTE_CHARS),
            },
            "pitched" => Self::Pitched(Pitched::read(read)),
            "care" => Self::Care(Care::read(read)),
            "note" => Self::Note,
            "amendment" => Self::Amendment(Amendment::read(read, now)),
            "" => return None,
            _ => {
                read.fault("kind", Why::NotOneOf(KINDS.to_vec()));
                return None;
            }
        })
    }

    fn read_temperature(read: &mut Reader<'_>) -> Self {
        Self::Temperature { place: read.choice("place"), temperature_c: read.number("temperature_c", TEMPERATURE) }
    }

    fn read_gravity(read: &mut Reader<'_>) -> Self {
        let point = read.choice("point");
        let instrument = read.choice("instrument");
        let range = if instrument == Instrument::Refractometer { BRIX } else { GRAVITY };
        Self::Gravity {
            point,
            instrument,
            reading: read.number("reading", range),
            temperature_c: read.number("temperature_c", TEMPERATURE),
        }
    }
}

impl CoolingStarted {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            method: read.choice("method"),
            water_l: read.maybe_number("water_l", VOLUME),
            water_c: read.maybe_number("water_c", TEMPERATURE),
            ice_kg: read.maybe_number("ice_kg", MASS),
            flow_l_min: read.maybe_number("flow_l_min", FLOW),
        }
    }
}

impl Pitched {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            yeast: read.text("yeast", NAME_CHARS),
            cells_billion: read.maybe_number("cells_billion", CELLS),
            mass_kg: read.maybe_number("mass_kg", SMALL_MASS),
            yeast_c: read.maybe_number("yeast_c", TEMPERATURE),
            wort_c: read.maybe_number("wort_c", TEMPERATURE),
        }
    }
}

impl Care {
    fn read(read: &mut Reader<'_>) -> Self {
        let care = Self {
            equipment: read.id("equipment"),
            act: read.choice("act"),
            mass_kg: read.maybe_number("mass_kg", MASS),
            place: read.maybe_text("where", LINE_CHARS),
        };
        if care.act == CareAct::Weighed && care.mass_kg.is_none() {
            read.needs("mass_kg");
        }
        care
    }
}

impl Amendment {
    fn read(read: &mut Reader<'_>, now: OffsetDateTime) -> Self {
        let of = read.uuid("of");
        let replacement = read.value("replacement").and_then(|body| {
            Replacement::from_body(body, now).map_err(|faults| read.faults_within("replacement", faults)).ok()
        });
        let void = read.flag("void");
        let gave_replacement = read.value("replacement").is_some();
        if gave_replacement == void {
            let why = "An amendment either replaces an entry or voids it: give one of the two.";
            read.fault(if void { "void" } else { "replacement" }, Why::Said(why.into()));
        }
        Self { of, replacement: replacement.map(Box::new), void, why: read.maybe_text("why", NOTE_CHARS) }
    }
}

impl Replacement {
    fn from_body(body: &Value, now: OffsetDateTime) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        match Self::read(&mut read, now) {
            Some(replacement) => read.finish(replacement),
            None => Err(read.into_faults()),
        }
    }

    /// The fields of a replacement of one kind, as those of an entry.
    #[must_use]
    pub fn fields(kind: &'static str, instrument: Option<Instrument>) -> Vec<Field> {
        Reader::fields(&given(kind, instrument), |read| Self::read(read, OffsetDateTime::UNIX_EPOCH))
    }

    fn read(read: &mut Reader<'_>, now: OffsetDateTime) -> Option<Self> {
        // A whole entry may be sent back as the replacement; its own id is not used.
        let _ = read.value("id");
        let at = read.maybe_time("at");
        if let Some(at) = at {
            check_time(read, at, now);
        }
        let body = Body::read(read, now)?;
        if matches!(body, Body::Amendment(_)) {
            read.fault("kind", Why::Said("An amendment can't stand in an entry's place.".into()));
        }
        let note = read_note(read, &body);
        let _ = read.texts("typed", LINE_CHARS);
        Some(Self { at, body, note })
    }
}

/// The least an entry of a kind has to say for its other fields to be known.
fn given(kind: &str, instrument: Option<Instrument>) -> Value {
    match instrument {
        Some(instrument) => json!({ "kind": kind, "instrument": instrument.key() }),
        None => json!({ "kind": kind }),
    }
}

/// A note says something; any other entry may have a remark beside it.
fn read_note(read: &mut Reader<'_>, body: &Body) -> Option<String> {
    let note = read.maybe_text("note", NOTE_CHARS);
    if matches!(body, Body::Note) && note.is_none() {
        read.needs("note");
    }
    note
}

fn check_time(read: &mut Reader<'_>, at: OffsetDateTime, now: OffsetDateTime) {
    if at > now + AHEAD_MOST {
        read.fault("at", Why::Said("This time is more than 10 minutes in the future.".into()));
    } else if at < OffsetDateTime::UNIX_EPOCH {
        read.fault("at", Why::Said("This time is before 1970.".into()));
    }
}
