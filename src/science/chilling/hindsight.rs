//! What would have helped most: the chill run again with one thing changed.
//!
//! # What for
//! After the day a list of figures does not say what to do better. This does: the
//! chill is computed once as it went, from its own fitted conductances, and again
//! with one thing changed; the minutes between the two are what that thing is worth.
//!
//! # How
//! Every stage is the closed form of [`stage`](super::stage) with the conductance
//! fitted to it. Tried are
//!
//! - the same baths, each left at its best time,
//! - one bucket of water more (the first bath again), beyond what the best times bring,
//! - more ice in the last bath, the changes as they were,
//! - twice the flow through the same coil, and twice the coil at the same flow
//!   ([`exchange`]), the changes as they were,
//! - a bath stirred from the start, where a stir has shown that `K` rises by it.
//!
//! # Refusals
//! No flow and no coil where the flow is not known or `K` is above what it can carry;
//! nothing at all where a stage on the way has no known coolant, or a conductance
//! less sure than a quarter.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::Estimate;
//! use gylebook::science::chilling::hindsight::{Bathed, Help, Went, gains};
//! use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss};
//! use gylebook::science::units::*;
//!
//! // One bucket, left in for half an hour: a second one is what was missing.
//! let bath = Bath::of_water(Mass::from_kilograms(60.0), Temperature::from_celsius(12.0));
//! let went = Went {
//!     kettle: Kettle { wort: HeatCapacity::from_joules_per_kelvin(82456.3), loss: Loss::none() },
//!     from: Temperature::from_celsius(95.0),
//!     target: Temperature::from_celsius(35.0),
//!     stages: vec![Bathed {
//!         coolant: Coolant::Bath(bath),
//!         coil: Estimate::from_watts_per_kelvin(130.0, 3.0),
//!         stirred: None,
//!         flow: None,
//!         started: TimeSpan::from_minutes(2.0),
//!         ended: TimeSpan::from_minutes(32.0),
//!         ice: Vec::new(),
//!     }],
//! };
//! let (took, gains) = gains(&went).unwrap();
//! assert!(took.minutes() > 20.0);
//! assert_eq!(gains[0].help, Help::Bucket);
//! ```

use super::advice::LEAST_SURE;
use super::constants::ICE_TEMPERATURE;
use super::estimate::Estimate;
use super::exchange::{self, stir_helped};
use super::law::Ways;
use super::schedule::{Job, Turn};
use super::stage::{Bath, Coolant, Kettle, Moment, Stage, raw};
use crate::science::units::{Conductance, Mass, Temperature, TimeSpan};

/// Ice that is tried on top: a bag (common practice, no source).
pub const MORE_ICE: Mass = Mass::from_kilograms(2.0);
/// Longest stay looked at, s.
const LONGEST: f64 = 4.0 * 3600.0;

/// One stage as it went.
#[derive(Clone, Debug, PartialEq)]
pub struct Bathed {
    /// What the coil stood in when it went in.
    pub coolant: Coolant,
    /// What it passed there.
    pub coil: Estimate,
    /// What it passed before and after a stir, where the readings give both.
    pub stirred: Option<(Estimate, Estimate)>,
    /// Heat that flows through the coil for each kelvin, where that is known: the
    /// wort's, or that of running water.
    pub flow: Option<Conductance>,
    /// Since flame-out.
    pub started: TimeSpan,
    /// Since flame-out.
    pub ended: TimeSpan,
    /// Ice that went in later, and when.
    pub ice: Vec<(TimeSpan, Mass)>,
}

/// A chill as it went, coil stages only, in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Went {
    /// Kettle, wort and loss.
    pub kettle: Kettle,
    /// Wort when the first stage began.
    pub from: Temperature,
    /// Where it was to be. Where it did not get there, its end counts instead.
    pub target: Temperature,
    /// The stages.
    pub stages: Vec<Bathed>,
}

/// One thing that could have been otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Help {
    /// The same baths, each left at its best time.
    BestTimes,
    /// One bucket of water more.
    Bucket,
    /// [`MORE_ICE`] in the last bath.
    Ice,
    /// Twice the flow through the coil.
    Flow,
    /// A coil twice as long.
    Coil,
    /// The bath stirred from the start.
    Stir,
}

/// What it would have saved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    /// What.
    pub help: Help,
    /// Minutes of this chill.
    pub saves: TimeSpan,
}

/// Flame-out to the target as the fit has it, and what each change would have
/// saved, the most first; `None` where the record does not carry it.
#[must_use]
pub fn gains(went: &Went) -> Option<(TimeSpan, Vec<Gain>)> {
    let sure = |stage: &Bathed| stage.coil.relative_se() <= LEAST_SURE;
    if went.stages.is_empty() || !went.stages.iter().all(sure) {
        return None;
    }
    let goal = went.target.max(went.end());
    let took = went.time_to(goal)?;
    let first = went.stages.first()?.started;
    let at_best =
        |row: &[Turn]| Some(first + TimeSpan::from_seconds(went.job(goal).quickest(went.from.celsius(), row)?.1));
    let best = at_best(&went.row()).map_or(took, |best| best.min(took));
    let mut gains = vec![Gain { help: Help::BestTimes, saves: took - best }];
    let mut add = |help, time: Option<TimeSpan>, against: TimeSpan| {
        gains.extend(time.map(|time| Gain { help, saves: (against - time).max(TimeSpan::ZERO) }));
    };
    add(Help::Bucket, went.row_with_bucket().and_then(|row| at_best(&row)), best);
    add(Help::Ice, went.with_ice().and_then(|other| other.time_to(goal)), took);
    let passes = |flow: f64, coil: f64| went.with_exchange(flow, coil).and_then(|other| other.time_to(goal));
    add(Help::Flow, passes(2.0, 1.0), took);
    add(Help::Coil, passes(1.0, 2.0), took);
    add(Help::Stir, went.with_stirring().and_then(|other| other.time_to(goal)), took);
    gains.sort_by(|one, other| other.saves.seconds().total_cmp(&one.saves.seconds()));
    Some((took, gains))
}

impl Went {
    /// Wort at the end of the last stage, by the fit.
    fn end(&self) -> Temperature {
        self.run(None).1
    }

    /// Since flame-out, the last stage going on for as long as it takes.
    fn time_to(&self, goal: Temperature) -> Option<TimeSpan> {
        self.run(Some(goal)).0
    }

    fn run(&self, goal: Option<Temperature>) -> (Option<TimeSpan>, Temperature) {
        let mut wort = self.from;
        let mut clock = self.stages.first().map_or(TimeSpan::ZERO, |stage| stage.started);
        for (index, stage) in self.stages.iter().enumerate() {
            if stage.started > clock {
                let out = Moment { wort, coolant: Coolant::Room };
                wort = Stage::begin(out, self.kettle, self.kettle.loss.conductance).at(stage.started - clock).wort;
                clock = stage.started;
            }
            let is_last = index + 1 == self.stages.len();
            let open = goal.is_some() && is_last;
            let mut moment = Moment { wort, coolant: stage.coolant };
            let began = clock;
            let later = stage.ice.iter().map(|&(at, mass)| (at.max(began), mass));
            let ends = if open { began + TimeSpan::from_seconds(LONGEST) } else { stage.ended.max(began) };
            for (until, mass) in later.chain([(ends, Mass::ZERO)]) {
                let part = Stage::begin(moment, self.kettle, stage.coil.conductance);
                let until = until.min(ends);
                if let Some(after) = goal.and_then(|goal| part.reaches(goal)).filter(|after| *after <= until - clock) {
                    return (Some(clock + after), goal.unwrap_or(wort));
                }
                moment = part.at(until - clock);
                clock = until;
                if let Coolant::Bath(bath) = moment.coolant {
                    moment.coolant = Coolant::Bath(bath.with_ice(mass, ICE_TEMPERATURE));
                }
            }
            wort = moment.wort;
        }
        (None, wort)
    }

    /// The search for the best times, a change costing what it cost on the day.
    fn job(&self, goal: Temperature) -> Job {
        let gap = |pair: &[Bathed]| (pair[1].started - pair[0].ended).seconds().max(0.0);
        let gaps: Vec<f64> = self.stages.windows(2).map(gap).collect();
        let change = gaps.iter().sum::<f64>() / gaps.len().max(1) as f64;
        let (_, ways) = raw(Coolant::Room, self.kettle, Conductance::ZERO);
        let loss = self.kettle.loss.conductance.watts_per_kelvin();
        Job::new(goal.celsius(), change, &Ways { loss, ..ways }, LONGEST, LONGEST)
    }

    fn turn(&self, coolant: Coolant, coil: Conductance) -> Turn {
        let (cold, ways) = raw(coolant, self.kettle, coil);
        Turn { cold, ways }
    }

    fn row(&self) -> Vec<Turn> {
        self.stages.iter().map(|stage| self.turn(stage.with_all_ice(), stage.coil.conductance)).collect()
    }

    /// The first bath of plain water once more, before a last bath with ice.
    fn row_with_bucket(&self) -> Option<Vec<Turn>> {
        let is_plain =
            |stage: &&Bathed| matches!(stage.with_all_ice(), Coolant::Bath(bath) if bath.ice() <= Mass::ZERO);
        let bucket = self.stages.iter().find(is_plain)?;
        let last = self.stages.last()?;
        let mut row = self.row();
        let before_ice = usize::from(!is_plain(&last));
        row.insert(row.len() - before_ice, self.turn(bucket.coolant, bucket.coil.conductance));
        Some(row)
    }

    fn with_ice(&self) -> Option<Self> {
        let mut other = self.clone();
        let last = other.stages.last_mut()?;
        let Coolant::Bath(bath) = last.coolant else { return None };
        last.coolant = Coolant::Bath(bath.with_ice(MORE_ICE, ICE_TEMPERATURE));
        Some(other)
    }

    fn with_exchange(&self, flow_times: f64, coil_times: f64) -> Option<Self> {
        let mut other = self.clone();
        for stage in &mut other.stages {
            let flow = stage.flow.filter(|flow| *flow > Conductance::ZERO)?;
            let ua = exchange::ua(stage.coil.conductance, flow)?;
            stage.coil.conductance = exchange::conductance(ua * coil_times, flow * flow_times);
        }
        Some(other)
    }

    fn with_stirring(&self) -> Option<Self> {
        let mut other = self.clone();
        let mut any = false;
        for stage in &mut other.stages {
            if let Some((before, after)) = stage.stirred.filter(|(before, after)| stir_helped(*before, *after)) {
                any |= before.conductance < after.conductance;
                stage.coil = after;
            }
        }
        any.then_some(other)
    }
}

impl Bathed {
    fn with_all_ice(&self) -> Coolant {
        let ice = self.ice.iter().map(|(_, mass)| *mass).sum();
        match self.coolant {
            Coolant::Bath(bath) => Coolant::Bath(Bath::with_ice(bath, ice, ICE_TEMPERATURE)),
            other => other,
        }
    }
}
