//! The chill plan: which bath when, and how much ice.
//!
//! # What for
//! Before the boil is over: how many buckets, when to change from one to the
//! next, what the ice must do and what it costs in minutes and litres.
//!
//! # How
//! Baths are used in the order given; one may be left out where the change costs
//! more than it brings. For *least time* the change times are set to the second,
//! a change itself costing `change` with the coil out. For *least water* the set
//! of baths with the least water that reaches the target is found first, for
//! *least ice* the least ice in the last bath that does; then the quickest
//! times with those. Ice belongs in the last bath: a kilogram melts at 0 °C
//! whatever the wort is, so it is spent best where plain water no longer helps.
//!
//! A kettle left standing long enough is cooled by the room whatever the baths do.
//! That is no plan: a last stay longer than half an hour counts only where the baths
//! alone would get there, and else the plan falls short and says where it ends.
//!
//! For least ice and least water, and for the least ice quoted, no stay is longer
//! than [`LONGEST_STAY`]: after twenty minutes a usual coil has given a bath
//! 99 % of what it can take, and the last gram of ice saved would cost hours.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::plan::{Aim, BathAtHand, Request, plan};
//! use gylebook::science::chilling::stage::{Kettle, Loss};
//! use gylebook::science::units::*;
//!
//! let celsius = Temperature::from_celsius;
//! let kilograms = Mass::from_kilograms;
//! let bath = |water: f64, ice: f64| BathAtHand {
//!     water: kilograms(water), at: celsius(15.0), ice: kilograms(ice),
//! };
//! let request = Request {
//!     kettle: Kettle { wort: HeatCapacity::from_joules_per_kelvin(82456.3), loss: Loss::none() },
//!     wort: celsius(98.0),
//!     target: celsius(20.0),
//!     coil: Conductance::from_watts_per_kelvin(154.0),
//!     pass: None,
//!     baths: vec![bath(18.0, 0.0), bath(18.0, 0.0), bath(18.0, 0.0), bath(12.0, 6.0)],
//!     ice_available: None,
//!     change: TimeSpan::from_minutes(1.0),
//!     aim: Aim::Time,
//! };
//! let plan = plan(&request);
//! assert!(plan.reaches_target);
//! assert_eq!(plan.stages.len(), 4);
//! assert!(plan.takes.minutes() < 35.0);
//! ```

use super::constants::ICE_TEMPERATURE;
use super::exchange::flow_heat_of_pass;
use super::law::{Cold, bath_state};
use super::schedule::{Job, Leg, Turn, Way};
use super::sparing::AtHand;
use super::stage::Kettle;
use crate::science::units::{Conductance, Mass, Temperature, TimeSpan};

/// Longest stay in one bath where ice or water is to be spared.
pub const LONGEST_STAY: TimeSpan = TimeSpan::from_seconds(1200.0);

/// What is to be least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// Minutes.
    Time,
    /// Ice, then minutes.
    Ice,
    /// Water, then minutes.
    Water,
}

/// A bucket that is ready.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BathAtHand {
    /// Water, without ice.
    pub water: Mass,
    /// Temperature of the water.
    pub at: Temperature,
    /// Ice meant for it, at 0 °C.
    pub ice: Mass,
}

/// What is to be chilled, and with what.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Kettle and wort.
    pub kettle: Kettle,
    /// Wort at the start.
    pub wort: Temperature,
    /// Where it is to be.
    pub target: Temperature,
    /// Conductance of the coil.
    pub coil: Conductance,
    /// Pass time, where known: `K` is then held to what the flow can carry.
    pub pass: Option<TimeSpan>,
    /// Baths in the order at hand.
    pub baths: Vec<BathAtHand>,
    /// All the ice there is; what the baths do not have yet may go in the last.
    pub ice_available: Option<Mass>,
    /// What a change costs.
    pub change: TimeSpan,
    /// What is to be least.
    pub aim: Aim,
}

/// One bath's turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedStage {
    /// Which of the baths, counted from nil.
    pub bath: usize,
    /// From the start of the chill.
    pub start: TimeSpan,
    /// From the start of the chill.
    pub end: TimeSpan,
    /// Wort when the coil goes in.
    pub wort_at_start: Temperature,
    /// Wort when it comes out.
    pub wort_at_end: Temperature,
    /// Bath when it comes out.
    pub bath_at_end: Temperature,
    /// Ice put in.
    pub ice: Mass,
    /// Ice left when it comes out.
    pub ice_left: Mass,
}

/// What a plan rests on beside the request.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Assumption {
    /// Wort and baths are well mixed, baths stirred.
    WellMixed,
    /// The kettle loses this to a room of this temperature.
    KettleLoss(Conductance, Temperature),
    /// Ice goes in at this temperature.
    IceAt(Temperature),
    /// The coil is out for this long at each change.
    Change(TimeSpan),
    /// `K` was lowered to this, the most that the flow can carry.
    HeldToPass(Conductance),
    /// No stay is longer than this.
    LongestStay(TimeSpan),
    /// The time to hold for a full pass, to be sure, comes on top.
    HoldComesOnTop(TimeSpan),
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The baths' turns, in order.
    pub stages: Vec<PlannedStage>,
    /// From the coil going in to the end.
    pub takes: TimeSpan,
    /// Wort at the end.
    pub end: Temperature,
    /// Whether that is the target; if not, the stages are the best there is.
    pub reaches_target: bool,
    /// Water in the baths used, without ice.
    pub water: Mass,
    /// Ice used.
    pub ice: Mass,
    /// The least ice, all in the last bath, that reaches the target over all the
    /// baths with no stay above [`LONGEST_STAY`]; it may be more than there is.
    /// `None` where no amount does, or there is no bath.
    pub least_ice: Option<Mass>,
    /// What it rests on.
    pub assumptions: Vec<Assumption>,
}

/// Plans the chill.
#[must_use]
pub fn plan(request: &Request) -> Plan {
    let most = request.pass.map(|pass| flow_heat_of_pass(request.kettle.wort, pass));
    let coil = most.map_or(request.coil, |most| request.coil.min(most));
    let spare = request.aim != Aim::Time;
    let hand = AtHand::new(request, coil);
    let as_it_is = hand.ice_as_meant();
    let least_ice = hand.least_ice();
    let (ice, chosen) = match (request.aim, least_ice) {
        (Aim::Ice, Some(least)) if least <= as_it_is.iter().copied().sum() => {
            let mut ice = vec![Mass::ZERO; as_it_is.len()];
            ice.last_mut().into_iter().for_each(|last| *last = least);
            (ice, (0..as_it_is.len()).collect())
        }
        (Aim::Water, _) => (as_it_is.clone(), hand.least_water(&as_it_is)),
        // More ice than there is would be wanted: all of it, then.
        _ => (as_it_is.clone(), (0..as_it_is.len()).collect::<Vec<usize>>()),
    };
    let row: Vec<Turn> = chosen.iter().map(|&i| hand.turn(i, ice[i])).collect();
    let job = if spare { hand.sparing } else { hand.hurried };
    let wort = request.wort.celsius();
    let by_baths = |way: &Way| hand.is_done_by_baths(wort, &chosen, &ice, way);
    let way = job.quickest(wort, &row).filter(by_baths).or_else(|| hand.sparing.quickest(wort, &row));
    let (legs, reaches_target) = match way {
        Some((legs, _)) => (legs, true),
        None => (hand.sparing.long_stays(wort, &row, 0).0, false),
    };
    let (stages, end) = describe(request.wort, &job, &legs, &row);
    let stages = stages.into_iter().map(|s| {
        let bath = chosen[s.bath];
        PlannedStage { bath, ice: ice[bath], ..s }
    });
    let stages: Vec<PlannedStage> = stages.collect();
    let mut assumptions = vec![
        Assumption::WellMixed,
        Assumption::KettleLoss(request.kettle.loss.conductance, request.kettle.loss.room),
        Assumption::Change(request.change),
    ];
    if stages.iter().any(|s| s.ice > Mass::ZERO) {
        assumptions.push(Assumption::IceAt(ICE_TEMPERATURE));
    }
    if coil < request.coil {
        assumptions.push(Assumption::HeldToPass(coil));
    }
    if spare || !reaches_target {
        assumptions.push(Assumption::LongestStay(LONGEST_STAY));
    }
    assumptions.extend(request.pass.map(Assumption::HoldComesOnTop));
    Plan {
        takes: stages.last().map_or(TimeSpan::ZERO, |s| s.end),
        end,
        reaches_target,
        water: stages.iter().map(|s| request.baths[s.bath].water).sum(),
        ice: stages.iter().map(|s| s.ice).sum(),
        stages,
        least_ice,
        assumptions,
    }
}

fn describe(from: Temperature, job: &Job, legs: &[Leg], row: &[Turn]) -> (Vec<PlannedStage>, Temperature) {
    let (celsius, seconds) = (Temperature::from_celsius, TimeSpan::from_seconds);
    let (mut wort, mut clock, mut stages) = (from.celsius(), 0.0, Vec::new());
    for leg in legs {
        if !stages.is_empty() {
            clock += job.change;
            wort = job.changed(wort);
        }
        let path = row[leg.bath].from(wort);
        let (bath_c, ice_left) = match path.cold(leg.lasts) {
            Cold::Bath { mass, heat } => bath_state(mass, heat),
            Cold::Held(level) => (level, 0.0),
        };
        let end = path.wort(leg.lasts);
        stages.push(PlannedStage {
            bath: leg.bath,
            start: seconds(clock),
            end: seconds(clock + leg.lasts),
            wort_at_start: celsius(wort),
            wort_at_end: celsius(end),
            bath_at_end: celsius(bath_c),
            ice: Mass::ZERO,
            ice_left: Mass::from_kilograms(ice_left),
        });
        clock += leg.lasts;
        wort = end;
    }
    (stages, celsius(wort))
}
