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
use super::law::{Cold, Path};
use super::schedule::{Job, Leg};
use super::stage::{Bath, Coolant, Kettle, raw};
use crate::science::units::{Conductance, Mass, Temperature, TimeSpan};

/// Longest stay in one bath where ice or water is to be spared.
pub const LONGEST_STAY: TimeSpan = TimeSpan::from_seconds(1200.0);
/// Longest stay that the search for the least time looks at before a change.
const LONGEST_BEFORE_CHANGE: TimeSpan = TimeSpan::from_seconds(2400.0);
/// Longest stay in the last bath for the least time.
const LONGEST_LAST: TimeSpan = TimeSpan::from_seconds(4.0 * 3600.0);
/// More baths than this are planned in their order without leaving one out.
const MOST_TO_CHOOSE_FROM: usize = 12;
/// Ice is found to this.
const ICE_STEP: f64 = 0.005;

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
    let (_, ways) = raw(Coolant::Room, request.kettle, coil);
    let ways = super::law::Ways { loss: request.kettle.loss.conductance.watts_per_kelvin(), ..ways };
    let spare = request.aim != Aim::Time;
    let job = Job {
        ways,
        target: request.target.celsius(),
        change: request.change.seconds().max(0.0),
        longest: if spare { LONGEST_STAY } else { LONGEST_BEFORE_CHANGE }.seconds(),
        longest_last: if spare { LONGEST_STAY } else { LONGEST_LAST }.seconds(),
        in_first: false,
    };
    let wort = request.wort.celsius();
    let least_ice = least_ice(request, &job);
    let as_it_is = ice_per_bath(request);
    let (ice, baths) = match (request.aim, least_ice) {
        // Only as much as is there.
        (Aim::Ice, Some(least)) if least <= as_it_is.iter().copied().sum() => {
            let mut ice = vec![Mass::ZERO; as_it_is.len()];
            if let Some(last) = ice.last_mut() {
                *last = least;
            }
            let all = (0..ice.len()).collect();
            (ice, all)
        }
        (Aim::Water, _) => {
            let chosen = least_water(request, &job, &as_it_is);
            (as_it_is, chosen)
        }
        _ => {
            let all = (0..as_it_is.len()).collect();
            (as_it_is, all)
        }
    };
    let cold = |i: &usize| bath(&request.baths[*i], ice[*i]).raw();
    let colds: Vec<Cold> = baths.iter().map(cold).collect();
    let (legs, reaches_target) = match job.quickest(wort, &colds) {
        Some((legs, _)) => (legs, true),
        None => (best_effort(&job, wort, &colds), false),
    };
    let legs: Vec<Leg> = legs.iter().map(|l| Leg { bath: baths[l.bath], ..*l }).collect();
    let (stages, end) = describe(request, &job, &legs, &ice);
    let mut assumptions = vec![
        Assumption::WellMixed,
        Assumption::KettleLoss(request.kettle.loss.conductance, request.kettle.loss.room),
        Assumption::Change(request.change),
    ];
    if ice.iter().any(|&i| i > Mass::ZERO) {
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
        takes: stages.last().map_or(TimeSpan::ZERO, |s: &PlannedStage| s.end),
        end,
        reaches_target,
        water: stages.iter().map(|s| request.baths[s.bath].water).sum(),
        ice: stages.iter().map(|s| s.ice).sum(),
        stages,
        least_ice,
        assumptions,
    }
}

fn bath(at_hand: &BathAtHand, ice: Mass) -> Bath {
    Bath::of_water(at_hand.water, at_hand.at).with_ice(ice, ICE_TEMPERATURE)
}

/// Each bath's ice, what is left over going in the last.
fn ice_per_bath(request: &Request) -> Vec<Mass> {
    let mut ice: Vec<Mass> = request.baths.iter().map(|b| b.ice.max(Mass::ZERO)).collect();
    let meant: Mass = ice.iter().copied().sum();
    let over = request.ice_available.unwrap_or(Mass::ZERO) - meant;
    if let Some(last) = ice.last_mut() {
        *last = *last + over.max(Mass::ZERO);
    }
    ice
}

/// Wort after every bath in turn, each for the longest stay or until it is at
/// its coldest.
fn end_of_long_stays(job: &Job, wort: f64, baths: impl Iterator<Item = Cold>) -> f64 {
    let mut wort = wort;
    for (i, cold) in baths.enumerate() {
        let start = if i > 0 { job.changed(wort) } else { wort };
        let path = Path::new(start, cold, job.ways);
        let (_, when) = path.coldest();
        wort = path.wort(when.min(LONGEST_STAY.seconds()));
    }
    wort
}

/// The least ice in the last bath that reaches the target with long stays.
fn least_ice(request: &Request, job: &Job) -> Option<Mass> {
    let last = request.baths.last()?;
    let before = request.baths.split_last()?.1;
    let plain: Vec<Cold> = before.iter().map(|b| bath(b, Mass::ZERO).raw()).collect();
    let reaches = |ice: f64| {
        let cold = bath(last, Mass::from_kilograms(ice)).raw();
        let row = plain.iter().copied().chain(std::iter::once(cold));
        end_of_long_stays(job, request.wort.celsius(), row) <= job.target
    };
    if reaches(0.0) {
        return Some(Mass::ZERO);
    }
    // More ice than this would stay ice: all the wort's heat goes into it, and the bath's.
    let heat = request.kettle.wort.joules_per_kelvin() * request.wort.celsius();
    let bath_heat = bath(last, Mass::ZERO).heat().joules();
    let (mut low, mut high) = (0.0, 1.0 + (heat + bath_heat) / super::constants::ICE_LATENT);
    if !reaches(high) {
        return None;
    }
    while high - low > ICE_STEP {
        let middle = 0.5 * (low + high);
        if reaches(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(Mass::from_kilograms(high))
}

/// The baths with the least water that together reach the target with long stays.
fn least_water(request: &Request, job: &Job, ice: &[Mass]) -> Vec<usize> {
    let n = request.baths.len();
    if n > MOST_TO_CHOOSE_FROM {
        return (0..n).collect();
    }
    let members = |set: u32| (0..n).filter(move |i| set >> i & 1 == 1);
    let water = |set: u32| members(set).map(|i| request.baths[i].water.kilograms()).sum::<f64>();
    let cold: Vec<Cold> = (0..n).map(|i| bath(&request.baths[i], ice[i]).raw()).collect();
    let mut sets: Vec<u32> = (1..1_u32 << n).collect();
    sets.sort_by(|&a, &b| water(a).total_cmp(&water(b)).then(a.count_ones().cmp(&b.count_ones())));
    let reaches =
        |&set: &u32| end_of_long_stays(job, request.wort.celsius(), members(set).map(|i| cold[i])) <= job.target;
    let found = sets.into_iter().find(reaches);
    found.map_or_else(|| (0..n).collect(), |set| members(set).collect())
}

/// Long stays in every bath that still cools the wort.
fn best_effort(job: &Job, wort: f64, baths: &[Cold]) -> Vec<Leg> {
    let (mut wort, mut legs) = (wort, Vec::new());
    for (bath, &cold) in baths.iter().enumerate() {
        let start = if legs.is_empty() { wort } else { job.changed(wort) };
        let path = Path::new(start, cold, job.ways);
        let (coldest, when) = path.coldest();
        if coldest < wort {
            let lasts = when.min(LONGEST_STAY.seconds());
            wort = path.wort(lasts);
            legs.push(Leg { bath, lasts });
        }
    }
    legs
}

fn describe(request: &Request, job: &Job, legs: &[Leg], ice: &[Mass]) -> (Vec<PlannedStage>, Temperature) {
    let celsius = Temperature::from_celsius;
    let (mut wort, mut clock, mut stages) = (request.wort.celsius(), 0.0, Vec::new());
    for leg in legs {
        if !stages.is_empty() {
            clock += job.change;
            wort = job.changed(wort);
        }
        let path = Path::new(wort, bath(&request.baths[leg.bath], ice[leg.bath]).raw(), job.ways);
        let (start, start_wort) = (clock, wort);
        clock += leg.lasts;
        wort = path.wort(leg.lasts);
        let (mass, heat) = match path.cold(leg.lasts) {
            Cold::Bath { mass, heat } => (mass, heat),
            Cold::Held(_) => (0.0, 0.0),
        };
        let (bath_c, ice_kg) = super::law::bath_state(mass, heat);
        stages.push(PlannedStage {
            bath: leg.bath,
            start: TimeSpan::from_seconds(start),
            end: TimeSpan::from_seconds(clock),
            wort_at_start: celsius(start_wort),
            wort_at_end: celsius(wort),
            bath_at_end: celsius(bath_c),
            ice: ice[leg.bath],
            ice_left: Mass::from_kilograms(ice_kg),
        });
    }
    (stages, celsius(wort))
}
