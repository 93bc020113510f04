//! The log's entries: what happened, and when. How a body is read is in [`read`].

mod read;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::choices::{CareAct, Cooling, GravityPoint, Instrument, Outcome, PhPoint, Place, Stage, VolumePoint};
use super::recipe::Typed;

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

impl Entry {
    /// The entry as a body that [`Entry::from_body`] reads back.
    #[must_use]
    pub fn to_body(&self) -> Value {
        serde_json::to_value(self).unwrap_or_else(|_| Value::Object(Map::new()))
    }
}

impl Body {
    /// The kind of a thermometer reading.
    pub const TEMPERATURE: &str = "temperature";

    /// The word for its kind.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::StageStarted { .. } => "stage_started",
            Self::StageFinished { .. } => "stage_finished",
            Self::BoilStarted => "boil_started",
            Self::FlameOut => "flame_out",
            Self::Temperature { .. } => Self::TEMPERATURE,
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
}
