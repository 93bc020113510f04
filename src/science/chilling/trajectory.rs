//! The wort's path through several stages: continuous from one to the next.
//!
//! The end of one stage is the start of the next, so a reading in any stage says
//! something about every other: the fit walks whole chains of stages at once.

use super::constants::ICE_TEMPERATURE;
use super::law::{Cold, Ways};
use super::path::Path;
use super::series::{Act, Method, Series};
use super::stage::{Bath, Coolant, Kettle, Moment, Stage};
use crate::science::units::{Conductance, Energy, Mass, Temperature, TimeSpan};

/// What a leg of the chain begins with.
#[derive(Clone, Copy, Debug)]
enum Enters {
    /// Another coolant.
    Fresh(Coolant),
    /// The same bath with more ice in it.
    MoreIce(Mass),
}

/// A stretch of one stage in which nothing is done to the bath.
#[derive(Clone, Debug)]
struct Leg {
    starts: f64,
    ends: f64,
    enters: Enters,
    /// Which of the conductances acts; `None` for a coil that is out.
    coil: Option<usize>,
}

/// Stages without a hole between them, and the readings taken in them.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    legs: Vec<Leg>,
    /// Index in the series, time, temperature.
    pub(super) readings: Vec<(usize, f64, f64)>,
}

/// An air stage's readings this near the room tell of the room, not of the kettle.
const NEAR_ROOM_K: f64 = 10.0;

/// Chains of the stages that `coil_of` gives a conductance to, and of those in air.
///
/// A stage it refuses (its bath is unknown, its readings too few) breaks the
/// chain: what the wort did in there is not known, so the next one starts afresh.
/// In air no coil acts: the kettle cools by its own loss, which joins what came
/// before to what comes after.
pub(super) fn chains(series: &Series, room: Temperature, coil_of: impl Fn(usize) -> Option<usize>) -> Vec<Chain> {
    let mut chains: Vec<Chain> = Vec::new();
    let mut open = false;
    for (index, stage) in series.stages().iter().enumerate() {
        let (coil, coolant) = match (stage.method, coil_of(index), stage.coolant()) {
            (Method::Air, ..) => (None, Coolant::Room),
            (_, coil @ Some(_), Ok(coolant)) => (coil, coolant),
            _ => {
                open = false;
                continue;
            }
        };
        let starts = stage.started.seconds();
        let ends = series.end_of(index).map_or(f64::INFINITY, TimeSpan::seconds);
        if !open {
            chains.push(Chain { legs: Vec::new(), readings: Vec::new() });
            open = true;
        }
        let Some(chain) = chains.last_mut() else {
            continue;
        };
        // The coil was out between the end of the last stage and this start.
        let rest = chain.legs.last().map(|l| l.ends).filter(|&end| end < starts);
        if let Some(out) = rest {
            let enters = Enters::Fresh(Coolant::Room);
            chain.legs.push(Leg { starts: out, ends: starts, enters, coil: None });
        }
        chain.legs.push(Leg { starts, ends, enters: Enters::Fresh(coolant), coil });
        for event in series.events() {
            let at = event.at.seconds();
            let Act::IceAdded(mass) = event.act else {
                continue;
            };
            if at < starts || at >= ends || !matches!(coolant, Coolant::Bath(_)) {
                continue;
            }
            if let Some(before) = chain.legs.last_mut() {
                before.ends = at;
            }
            let enters = Enters::MoreIce(mass);
            chain.legs.push(Leg { starts: at, ends, enters, coil });
        }
    }
    for chain in &mut chains {
        let (first, last) = chain.span();
        let readings = series.readings().iter().enumerate();
        chain.readings = readings
            .map(|(i, r)| (i, r.at.seconds(), r.wort.celsius()))
            .filter(|&(_, at, _)| at >= first && at <= last)
            .filter(|&(_, at, wort)| !(chain.is_out(at) && is_near(room, wort)))
            .collect();
    }
    chains.retain(|c| !c.readings.is_empty());
    chains
}

/// Whether a wort is so near the room that its cooling tells nothing of the kettle.
pub(super) fn is_near(room: Temperature, wort_c: f64) -> bool {
    (wort_c - room.celsius()).abs() < NEAR_ROOM_K
}

impl Chain {
    /// Whether no coil acts at a time.
    fn is_out(&self, at: f64) -> bool {
        self.legs.iter().rev().find(|leg| leg.starts <= at).is_some_and(|leg| leg.coil.is_none())
    }

    /// From `at` to the end of the stage under way then, lets another conductance act.
    pub(super) fn split(&mut self, at: f64, coil: usize) {
        let Some(first) = self.legs.iter().position(|l| l.starts < at && at < l.ends) else {
            return;
        };
        let before = self.legs[first].clone();
        self.legs[first].ends = at;
        // The bath goes on as it is: no ice is added.
        let enters = Enters::MoreIce(Mass::ZERO);
        self.legs.insert(first + 1, Leg { starts: at, enters, ..before });
        for leg in &mut self.legs[first + 1..] {
            if leg.coil != before.coil {
                break;
            }
            leg.coil = Some(coil);
        }
    }

    fn span(&self) -> (f64, f64) {
        let first = self.legs.first().map_or(f64::INFINITY, |l| l.starts);
        (first, self.legs.last().map_or(f64::NEG_INFINITY, |l| l.ends))
    }

    /// When its first stage begins.
    pub(super) fn starts(&self) -> TimeSpan {
        TimeSpan::from_seconds(self.span().0)
    }

    /// Conductance indices in the order in which they act, each with the time it ends.
    pub(super) fn coils(&self) -> Vec<(usize, f64)> {
        let mut coils: Vec<(usize, f64)> = Vec::new();
        for leg in &self.legs {
            match (leg.coil, coils.last_mut()) {
                (Some(coil), Some(last)) if last.0 == coil => last.1 = leg.ends,
                (Some(coil), _) => coils.push((coil, leg.ends)),
                (None, _) => {}
            }
        }
        coils
    }

    /// Walks the legs and hands the model temperature of each reading from `from` on
    /// to `see`, as far as `until`.
    pub(super) fn walk(
        &self,
        start: f64,
        coil: impl Fn(usize) -> f64,
        kettle: (f64, f64, f64),
        (from, until): (f64, f64),
        mut see: impl FnMut(usize, f64),
    ) {
        let (wort_capacity, loss, room) = kettle;
        let (mut wort, mut cold) = (start, Cold::Held(room));
        let mut next = 0;
        for leg in &self.legs {
            let mut ways = Ways { wort: wort_capacity, coil: 0.0, loss, room };
            ways.coil = leg.coil.map_or(0.0, &coil);
            cold = match leg.enters {
                Enters::Fresh(Coolant::Bath(bath)) => bath.raw(),
                Enters::Fresh(Coolant::Stream(inlet)) => Cold::Held(inlet.celsius()),
                Enters::Fresh(Coolant::Room) => Cold::Held(room),
                Enters::MoreIce(mass) => more_ice(cold, mass),
            };
            let path = Path::new(wort, cold, ways);
            while let Some(&(_, at, _)) = self.readings.get(next)
                && at <= leg.ends
            {
                if at >= from {
                    see(next, path.wort(at - leg.starts));
                }
                next += 1;
            }
            if next == self.readings.len() || leg.ends > until {
                return;
            }
            wort = path.wort(leg.ends - leg.starts);
            cold = path.cold(leg.ends - leg.starts);
        }
    }
}

fn more_ice(cold: Cold, mass: Mass) -> Cold {
    match cold {
        Cold::Bath { .. } => bath_of(cold).with_ice(mass, ICE_TEMPERATURE).raw(),
        held @ Cold::Held(_) => held,
    }
}

fn bath_of(cold: Cold) -> Bath {
    let (mass, heat) = match cold {
        Cold::Bath { mass, heat } => (mass, heat),
        Cold::Held(_) => (0.0, 0.0),
    };
    Bath::from_raw(Mass::from_kilograms(mass), Energy::from_joules(heat))
}

/// The wort's fitted path: where wort and bath were at any time of the chill.
#[derive(Clone, Debug, Default)]
pub struct Track {
    pieces: Vec<(TimeSpan, TimeSpan, Stage)>,
}

impl Track {
    /// Wort and coolant at a time since flame-out; `None` outside the stages it
    /// was fitted to.
    #[must_use]
    pub fn at(&self, at: TimeSpan) -> Option<Moment> {
        let within = |p: &&(TimeSpan, TimeSpan, Stage)| p.0 <= at && at <= p.1;
        let (starts, _, stage) = self.pieces.iter().rev().find(within)?;
        Some(stage.at(at - *starts))
    }

    /// Heat that passed the coil between two times, on the stretches that are known.
    #[must_use]
    pub fn heat_through_coil(&self, from: TimeSpan, to: TimeSpan) -> Energy {
        let part = |&(starts, ends, ref stage): &(TimeSpan, TimeSpan, Stage)| {
            let (first, last) = (starts.max(from), ends.min(to));
            if first >= last {
                return Energy::ZERO;
            }
            stage.heat_through_coil(last - starts) - stage.heat_through_coil(first - starts)
        };
        self.pieces.iter().map(part).sum()
    }

    pub(super) fn push_chain(&mut self, chain: &Chain, start: f64, coil: impl Fn(usize) -> f64, kettle: Kettle) {
        let celsius = Temperature::from_celsius;
        let mut moment = Moment { wort: celsius(start), coolant: Coolant::Room };
        for leg in &chain.legs {
            moment.coolant = match (leg.enters, moment.coolant) {
                (Enters::Fresh(coolant), _) => coolant,
                (Enters::MoreIce(mass), Coolant::Bath(bath)) => Coolant::Bath(bath.with_ice(mass, ICE_TEMPERATURE)),
                (Enters::MoreIce(_), same) => same,
            };
            let conductance = Conductance::from_watts_per_kelvin(leg.coil.map_or(0.0, &coil));
            // A coil that is out leaves the kettle its own loss only.
            let resting = matches!(moment.coolant, Coolant::Room) && leg.coil.is_none();
            let conductance = if resting { kettle.loss.conductance } else { conductance };
            let stage = Stage::begin(moment, kettle, conductance);
            let (starts, ends) = (TimeSpan::from_seconds(leg.starts), TimeSpan::from_seconds(leg.ends));
            self.pieces.push((starts, ends, stage));
            if leg.ends.is_finite() {
                moment = stage.at(ends - starts);
            }
        }
    }
}
