//! The log's entries: what happened, when, and how a body is read.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339};
use uuid::Uuid;

use super::choices::{CareAct, Cooling, GravityPoint, Instrument, Outcome, PhPoint, Place, Stage, VolumePoint};
use super::fields::{Fault, Reader, Why};
use super::plausible::{
    BRIX, CELLS, FLOW, GRAVITY, LINE_CHARS, MASS, NAME_CHARS, NOTE_CHARS, PH, SMALL_MASS, TEMPERATURE, VOLUME,
    VOLUME_OR_NONE,
};
use super::recipe::{Typed, typed};

/// How far ahead of now an entry may lie: a phone's clock is never quite right.
const AHEAD_MOST: Duration = Duration::minutes(10);

/// One thing that happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Made on the phone, so that sending it twice changes nothing.
    pub id: Uuid,
    /// When it happened.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// What happened.
    #[serde(flatten)]
    pub body: Body,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What was typed, where it was typed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub typed: Typed,
}

/// An entry as it stands in the book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LoggedEntry {
    /// Its place in the book: later is larger.
    pub seq: i64,
    /// When the server got it.
    #[serde(with = "time::serde::rfc3339")]
    pub received_at: OffsetDateTime,
    /// Who wrote it.
    pub device: Option<String>,
    /// The entry.
    #[serde(flatten)]
    pub entry: Entry,
}

/// What happened, by kind. Units stand in the fields' names.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[expect(missing_docs, reason = "the fields are the published names of the interface, unit and all")]
pub enum Body {
    StageStarted {
        stage: Stage,
    },
    StageFinished {
        stage: Stage,
    },
    BoilStarted,
    FlameOut,
    Temperature {
        place: Place,
        temperature_c: f64,
    },
    Volume {
        point: VolumePoint,
        volume_l: f64,
        temperature_c: f64,
    },
    Gravity {
        point: GravityPoint,
        instrument: Instrument,
        reading: f64,
        temperature_c: f64,
    },
    Ph {
        point: PhPoint,
        ph: f64,
    },
    Addition {
        what: String,
        mass_kg: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        planned: Option<i64>,
    },
    FlushStarted {
        #[serde(skip_serializing_if = "Option::is_none")]
        temperature_c: Option<f64>,
    },
    FlushFinished {
        #[serde(skip_serializing_if = "Option::is_none")]
        temperature_c: Option<f64>,
    },
    CoolingStarted(CoolingStarted),
    IceAdded {
        ice_kg: f64,
    },
    BathStirred,
    CoilDrained {
        recovered_l: f64,
    },
    Check {
        item: String,
        outcome: Outcome,
        #[serde(skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    Pitched(Pitched),
    Care(Care),
    Note,
    Amendment(Amendment),
}

/// The wort begins to lose heat to something new.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CoolingStarted {
    /// What takes the heat.
    pub method: Cooling,
    /// Water in the bath.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_l: Option<f64>,
    /// The water's temperature, in the bath or from the tap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_c: Option<f64>,
    /// Ice in the bath.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ice_kg: Option<f64>,
    /// Flow of running water.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow_l_min: Option<f64>,
}

/// Yeast went in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pitched {
    /// Which yeast.
    pub yeast: String,
    /// Viable cells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cells_billion: Option<f64>,
    /// Its mass, where the cells were not counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// The yeast's temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yeast_c: Option<f64>,
    /// The wort's temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wort_c: Option<f64>,
}

/// Something was done to a piece of equipment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Care {
    /// Its id.
    pub equipment: i64,
    /// What was done.
    pub act: CareAct,
    /// What it weighs now, where it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// Where it was put, where it was stored.
    #[serde(default, rename = "where", skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
}

/// An older entry is replaced or struck out; it stays readable.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Amendment {
    /// The entry it is about.
    pub of: Uuid,
    /// What stands in its place; nothing where it is struck out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replacement: Option<Box<Replacement>>,
    /// Whether it is struck out.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub void: bool,
    /// The reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// What stands in the place of an amended entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Replacement {
    /// When it happened, where that was wrong too.
    #[serde(default, with = "time::serde::rfc3339::option", skip_serializing_if = "Option::is_none")]
    pub at: Option<OffsetDateTime>,
    /// What happened.
    #[serde(flatten)]
    pub body: Body,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Every kind of entry, in the order of the day.
pub const KINDS: [&str; 20] = [
    "stage_started",
    "stage_finished",
    "boil_started",
    "flame_out",
    "temperature",
    "volume",
    "gravity",
    "ph",
    "addition",
    "flush_started",
    "flush_finished",
    "cooling_started",
    "ice_added",
    "bath_stirred",
    "coil_drained",
    "check",
    "pitched",
    "care",
    "note",
    "amendment",
];

/// A clock that differs by less is right: the message took that long.
const CLOCK_RIGHT: Duration = Duration::seconds(2);
/// A clock that differs by more is no phone's clock but somebody copying an
/// older day into the book, whose times stand as given.
const CLOCK_WRONG_MOST: Duration = Duration::hours(26);

/// How far a phone's clock runs ahead of the server's, from the time the phone
/// says it sends at: what is to be taken off the times it gives.
#[must_use]
pub fn clock_error(sent_at: OffsetDateTime, now: OffsetDateTime) -> Duration {
    let error = sent_at - now;
    let is_clock = (CLOCK_RIGHT..=CLOCK_WRONG_MOST).contains(&error.abs());
    if is_clock { error } else { Duration::ZERO }
}

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
        let id = read.text("id", 64);
        let id = Uuid::parse_str(&id).unwrap_or_else(|_| {
            if !id.is_empty() {
                read.fault("id", Why::Said("A UUID is needed here.".into()));
            }
            Uuid::nil()
        });
        let at = read_time(&mut read, "at").map(|at| at.checked_sub(clock_error).unwrap_or(at));
        let at = at.unwrap_or_else(|| {
            if read.value("at").is_none() {
                read.fault("at", Why::Missing);
            }
            now
        });
        check_time(&mut read, at, now);
        let kind = Body::read(&mut read, now);
        let note = read.maybe_text("note", NOTE_CHARS);
        if matches!(kind, Some(Body::Note)) && note.is_none() {
            read.fault("note", Why::Missing);
        }
        let typed = typed(&mut read);
        // Without a kind the entry is refused for that; the stand-in never gets out.
        read.finish(Self { id, at, body: kind.unwrap_or(Body::Note), note, typed })
    }

    /// The entry as a body that [`Entry::from_body`] reads back.
    #[must_use]
    pub fn to_body(&self) -> Value {
        serde_json::to_value(self).unwrap_or_else(|_| Value::Object(Map::new()))
    }
}

impl Body {
    /// The word for its kind.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::StageStarted { .. } => "stage_started",
            Self::StageFinished { .. } => "stage_finished",
            Self::BoilStarted => "boil_started",
            Self::FlameOut => "flame_out",
            Self::Temperature { .. } => "temperature",
            Self::Volume { .. } => "volume",
            Self::Gravity { .. } => "gravity",
            Self::Ph { .. } => "ph",
            Self::Addition { .. } => "addition",
            Self::FlushStarted { .. } => "flush_started",
            Self::FlushFinished { .. } => "flush_finished",
            Self::CoolingStarted(_) => "cooling_started",
            Self::IceAdded { .. } => "ice_added",
            Self::BathStirred => "bath_stirred",
            Self::CoilDrained { .. } => "coil_drained",
            Self::Check { .. } => "check",
            Self::Pitched(_) => "pitched",
            Self::Care(_) => "care",
            Self::Note => "note",
            Self::Amendment(_) => "amendment",
        }
    }

    /// Reads the fields of whatever kind the body says it is.
    fn read(read: &mut Reader<'_>, now: OffsetDateTime) -> Option<Self> {
        let kind = read.text("kind", NAME_CHARS);
        Some(match kind.as_str() {
            "stage_started" => Self::StageStarted { stage: read.choice("stage") },
            "stage_finished" => Self::StageFinished { stage: read.choice("stage") },
            "boil_started" => Self::BoilStarted,
            "flame_out" => Self::FlameOut,
            "temperature" => Self::Temperature {
                place: read.choice("place"),
                temperature_c: read.number("temperature_c", TEMPERATURE),
            },
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
            read.fault("mass_kg", Why::Missing);
        }
        care
    }
}

impl Amendment {
    fn read(read: &mut Reader<'_>, now: OffsetDateTime) -> Self {
        let of = read.text("of", 64);
        let of = Uuid::parse_str(&of).unwrap_or_else(|_| {
            if !of.is_empty() {
                read.fault("of", Why::Said("The UUID of an entry is needed here.".into()));
            }
            Uuid::nil()
        });
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
        // A whole entry may be sent back as the replacement; its own id is not used.
        let _ = read.value("id");
        let at = read_time(&mut read, "at");
        if let Some(at) = at {
            check_time(&mut read, at, now);
        }
        let kind = Body::read(&mut read, now);
        if matches!(kind, Some(Body::Amendment(_))) {
            read.fault("kind", Why::Said("An amendment can't stand in an entry's place.".into()));
        }
        let note = read.maybe_text("note", NOTE_CHARS);
        let _ = typed(&mut read);
        read.finish(Self { at, body: kind.unwrap_or(Body::Note), note })
    }
}

fn read_time(read: &mut Reader<'_>, name: &'static str) -> Option<OffsetDateTime> {
    let text = read.maybe_text(name, 64)?;
    let at = OffsetDateTime::parse(&text, &Rfc3339).ok();
    if at.is_none() {
        let wanted = "A time as RFC 3339 is needed here, like 2026-03-07T14:42:00Z.";
        read.fault(name, Why::Said(wanted.into()));
    }
    at
}

fn check_time(read: &mut Reader<'_>, at: OffsetDateTime, now: OffsetDateTime) {
    if at > now + AHEAD_MOST {
        read.fault("at", Why::Said("This time is more than 10 minutes in the future.".into()));
    } else if at < OffsetDateTime::UNIX_EPOCH {
        read.fault("at", Why::Said("This time is before 1970.".into()));
    }
}
