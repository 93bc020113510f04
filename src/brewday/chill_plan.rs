//! The chill plan: asked for and answered in the record's own terms.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

use super::choices::Aim;
use super::fields::{Fault, Field, Reader, Why};
use super::plausible::{
    CONDUCTANCE, Dimension, LINE_CHARS, MASS, MINUTES, PASS, PLATO, ROWS, TEMPERATURE, VOLUME, VOLUME_OR_NONE,
};
use super::said::{Part, Said};
use crate::science::chilling::plan::{self, Assumption, BathAtHand};
use crate::science::chilling::stage::{Kettle, Loss};
use crate::science::units::{Conductance, Mass, Plato, Temperature, TimeSpan, Volume};
use crate::science::water;
use crate::science::wort::Wort;

/// A change of baths takes this long unless the brewer says otherwise (common practice, no source).
const CHANGE_MIN: f64 = 1.0;
/// A room where none was read (common practice, no source).
const ROOM_C: f64 = 20.0;

mod coil;
mod what_if;

pub use coil::{CoilPasses, KnownFrom};
pub use what_if::{BAG_KG, Beside, Change, ChillPlanAnswer, OneAim, Outcome, WARMER_K, WhatIf};

/// What is to be chilled, and with what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChillPlanRequest {
    /// Wort at 20 °C.
    pub wort_l: f64,
    /// Its strength.
    pub wort_plato: f64,
    /// Its temperature at the start.
    pub wort_c: f64,
    /// Where it is to be.
    pub target_c: f64,
    /// The coil's conductance, where it is given outright.
    pub conductance_w_per_k: Option<f64>,
    /// The coil's id, where its own history is to be used.
    pub coil: Option<i64>,
    /// One full pass.
    pub pass_min: Option<f64>,
    /// The buckets, in the order at hand.
    pub baths: Vec<PlannedBath>,
    /// All the ice there is.
    pub ice_available_kg: Option<f64>,
    /// What a change of baths costs.
    pub change_min: f64,
    /// What is to be least.
    pub aim: Aim,
}

/// A bucket that is ready.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PlannedBath {
    /// Water in it.
    pub water_l: f64,
    /// How warm the water is.
    pub water_c: f64,
    /// Ice meant for it.
    pub ice_kg: f64,
}

/// The plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChillPlan {
    /// The baths' turns, in order.
    pub stages: Vec<PlannedStage>,
    /// From the coil going in to the end.
    pub minutes: f64,
    /// Wort at the end.
    pub end_c: f64,
    /// Whether that is the target; if not, this is the best there is.
    pub reaches_target: bool,
    /// Water in the baths used.
    pub water_l: f64,
    /// Ice used.
    pub ice_kg: f64,
    /// The least ice that still reaches the target; none where no amount does.
    pub least_ice_kg: Option<f64>,
    /// What the plan rests on, in sentences.
    #[schema(value_type = Vec<String>)]
    pub assumptions: Vec<Said>,
}

/// One bath's turn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PlannedStage {
    /// Which of the baths given: its index, from 0.
    pub bath: usize,
    /// Minutes from the coil going in.
    pub start_min: f64,
    /// Minutes from the coil going in.
    pub end_min: f64,
    /// Wort when the coil goes in.
    pub wort_start_c: f64,
    /// Wort when it comes out.
    pub wort_end_c: f64,
    /// The bath when it comes out.
    pub bath_end_c: f64,
    /// Ice put in.
    pub ice_kg: f64,
    /// Ice left when it comes out.
    pub ice_left_kg: f64,
}

impl ChillPlanRequest {
    /// Reads a request from a body of canonical fields.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let request = Self::read(&mut read);
        read.finish(request)
    }

    /// The fields of a body, for whoever writes one.
    #[must_use]
    pub fn fields() -> Vec<Field> {
        Reader::fields(&json!({}), Self::read)
    }

    fn read(read: &mut Reader<'_>) -> Self {
        let request = Self {
            wort_l: read.number("wort_l", VOLUME),
            wort_plato: read.number("wort_plato", PLATO),
            wort_c: read.number("wort_c", TEMPERATURE),
            target_c: read.number("target_c", TEMPERATURE),
            conductance_w_per_k: read.maybe_number("conductance_w_per_k", CONDUCTANCE),
            coil: read.maybe_id("coil"),
            pass_min: read.maybe_number("pass_min", PASS),
            baths: read.each("baths", ROWS, |read| PlannedBath {
                water_l: read.number("water_l", VOLUME_OR_NONE),
                water_c: read.number("water_c", TEMPERATURE),
                ice_kg: read.maybe_number("ice_kg", MASS).unwrap_or(0.0),
            }),
            ice_available_kg: read.maybe_number("ice_available_kg", MASS),
            change_min: read.maybe_number("change_min", MINUTES).unwrap_or(CHANGE_MIN),
            aim: read.maybe_choice("aim").unwrap_or(Aim::Time),
        };
        let neither = request.conductance_w_per_k.is_none() && request.coil.is_none();
        if neither && read.is_sound("conductance_w_per_k") && read.is_sound("coil") {
            let why = "Give the coil's conductance, or the id of a coil whose batches tell it.";
            read.fault("conductance_w_per_k", Why::Said(why.into()));
        }
        let both_sound = read.is_sound("target_c") && read.is_sound("wort_c");
        if both_sound && request.target_c >= request.wort_c {
            read.fault("target_c", Why::Said("The target is not below the wort's temperature.".into()));
        }
        if request.baths.is_empty() {
            read.needs("baths");
        }
        for (index, bath) in request.baths.iter().enumerate() {
            let field = format!("baths.{index}.water_l");
            let empty = bath.water_l <= 0.0 && bath.ice_kg <= 0.0 && request.ice_available_kg.is_none();
            if empty && read.is_sound(&field) {
                read.fault(&field, Why::Said("This bath has neither water nor ice.".into()));
            }
        }
        request
    }

    /// The wort, as the science of chilling takes it.
    fn kettle(&self) -> Kettle {
        let wort = Wort::new(Volume::from_litres(self.wort_l), Plato::from_degrees(self.wort_plato));
        let ends = [self.wort_c, self.target_c].map(Temperature::from_celsius);
        Kettle {
            wort: wort.mean_heat_capacity(ends[0], ends[1]),
            loss: Loss::assumed(Temperature::from_celsius(ROOM_C)),
        }
    }

    /// What the coil passes in this chill: as given here, else as its batches
    /// tell (W/K, newest first), else as coils usually do.
    #[must_use]
    pub fn coil_passes(&self, newest_first: impl IntoIterator<Item = f64>) -> CoilPasses {
        let learned = || CoilPasses::learned(newest_first);
        let given = self.conductance_w_per_k.map(CoilPasses::given);
        given.or_else(learned).unwrap_or_else(|| CoilPasses::usual(self.kettle().wort))
    }

    /// The plan, with what the coil passes.
    #[must_use]
    pub fn plan(&self, coil: &CoilPasses) -> ChillPlan {
        let planned = self.planned(coil.conductance_w_per_k);
        let used_water_l = planned.stages.iter().map(|stage| self.baths[stage.bath].water_l).sum();
        ChillPlan {
            minutes: planned.takes.minutes(),
            end_c: planned.end.celsius(),
            reaches_target: planned.reaches_target,
            water_l: used_water_l,
            ice_kg: planned.ice.kilograms(),
            least_ice_kg: planned.least_ice.map(Mass::kilograms),
            assumptions: std::iter::once(coil.told().into()).chain(planned.assumptions.iter().map(told)).collect(),
            stages: planned.stages.iter().map(PlannedStage::of).collect(),
        }
    }

    fn planned(&self, conductance_w_per_k: f64) -> plan::Plan {
        plan::plan(&plan::Request {
            kettle: self.kettle(),
            wort: Temperature::from_celsius(self.wort_c),
            target: Temperature::from_celsius(self.target_c),
            coil: Conductance::from_watts_per_kelvin(conductance_w_per_k),
            pass: self.pass_min.map(TimeSpan::from_minutes),
            baths: self.baths.iter().map(|bath| bath.at_hand()).collect(),
            ice_available: self.ice_available_kg.map(Mass::from_kilograms),
            change: TimeSpan::from_minutes(self.change_min),
            aim: match self.aim {
                Aim::Time => plan::Aim::Time,
                Aim::Ice => plan::Aim::Ice,
                Aim::Water => plan::Aim::Water,
            },
        })
    }
}

impl PlannedBath {
    pub(super) fn at_hand(self) -> BathAtHand {
        let at = Temperature::from_celsius(self.water_c);
        BathAtHand {
            water: water::mass(Volume::from_litres(self.water_l), at),
            at,
            ice: Mass::from_kilograms(self.ice_kg),
        }
    }
}

/// A plan that was kept with a batch: what was asked, and the answer as the
/// brewer saw it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct KeptPlan {
    /// What was asked, the coil's conductance included.
    pub request: ChillPlanRequest,
    /// Where that conductance comes from.
    pub basis: String,
    /// One standard deviation of it, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub se_w_per_k: Option<f64>,
    /// The plan.
    pub plan: ChillPlan,
}

impl KeptPlan {
    /// Plans with what a coil passes, to keep.
    #[must_use]
    pub fn of(request: ChillPlanRequest, coil: &CoilPasses) -> Self {
        let plan = request.plan(coil);
        let conductance_w_per_k = Some(coil.conductance_w_per_k);
        // A coil's id means nothing in another book, and its history goes on.
        let request = ChillPlanRequest { conductance_w_per_k, coil: None, ..request };
        Self { request, basis: coil.basis(), se_w_per_k: coil.se_w_per_k, plan }
    }

    /// What the coil was taken to pass.
    #[must_use]
    pub fn coil(&self) -> CoilPasses {
        CoilPasses {
            conductance_w_per_k: self.request.conductance_w_per_k.unwrap_or_default(),
            se_w_per_k: self.se_w_per_k,
            known_from: KnownFrom::Said(self.basis.clone()),
        }
    }

    /// Reads a kept plan from a batch carried from another book. The answer is
    /// computed anew.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let basis = read.text("basis", LINE_CHARS);
        let se_w_per_k = read.maybe_number("se_w_per_k", CONDUCTANCE);
        let _ = read.value("plan");
        let request = match read.value("request").map(ChillPlanRequest::from_body) {
            Some(Ok(request)) => Some(request),
            Some(Err(faults)) => {
                read.faults_within("request", faults);
                None
            }
            None => {
                read.fault("request", Why::Missing);
                None
            }
        };
        let conductance = request.as_ref().and_then(|request| request.conductance_w_per_k);
        let told = read.finish((request.zip(conductance), basis))?;
        match told {
            (Some((request, conductance_w_per_k)), basis) => {
                let known_from = KnownFrom::Said(basis);
                Ok(Self::of(request, &CoilPasses { conductance_w_per_k, se_w_per_k, known_from }))
            }
            _ => Err(vec![Fault::new("request.conductance_w_per_k", "A kept plan says what the coil passes.")]),
        }
    }
}

impl PlannedStage {
    fn of(stage: &plan::PlannedStage) -> Self {
        Self {
            bath: stage.bath,
            start_min: stage.start.minutes(),
            end_min: stage.end.minutes(),
            wort_start_c: stage.wort_at_start.celsius(),
            wort_end_c: stage.wort_at_end.celsius(),
            bath_end_c: stage.bath_at_end.celsius(),
            ice_kg: stage.ice.kilograms(),
            ice_left_kg: stage.ice_left.kilograms(),
        }
    }
}

fn told(assumption: &Assumption) -> Said {
    let watts = |conductance: Conductance| format!("{:.0} W for each kelvin", conductance.watts_per_kelvin());
    let minutes = |time: TimeSpan| Part::Figure(time.minutes(), Dimension::Minutes);
    match assumption {
        Assumption::WellMixed => "Wort and baths are stirred and of one temperature throughout.".into(),
        Assumption::KettleLoss(loss, room) => Said::of([
            Part::words(format!("The kettle loses {} to a room at ", watts(*loss))),
            Part::Figure(room.celsius(), Dimension::Temperature),
            Part::words("."),
        ]),
        Assumption::IceAt(at) => Said::of([
            Part::words("The ice goes in at "),
            Part::Figure(at.celsius(), Dimension::Temperature),
            Part::words(", melting."),
        ]),
        Assumption::Change(change) => {
            Said::of([Part::words("Each change of baths takes "), minutes(*change), Part::words(".")])
        }
        Assumption::HeldToPass(most) => {
            format!("The flow carries at most {}, so the coil is held to that.", watts(*most)).into()
        }
        Assumption::LongestStay(stay) => {
            Said::of([Part::words("No stay is longer than "), minutes(*stay), Part::words(".")])
        }
        Assumption::HoldComesOnTop(hold) => Said::of([
            Part::words("The "),
            minutes(*hold),
            Part::words(" of one full pass, to be sure of the reading, come on top."),
        ]),
    }
}
