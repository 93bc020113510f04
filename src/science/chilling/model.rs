//! The fit's unknowns and what is believed of them.
//!
//! Unknown are the start of each chain of stages, one `ln K` per stage (or one
//! for all), and the kettle's loss where it is not known. [`fit`](super::fit)
//! says what they mean; here they are put in a row, and [`search`](super::search)
//! finds them.

use super::estimate::Estimate;
use super::fit::Start;
use super::least_squares::Problem;
use super::robust::Doubt;
use super::stage::Kettle;
use super::trajectory::Chain;

/// No kettle in the open holds wort hotter than this (water's boiling point and
/// 0.5 K for the extract); a first reading that asks for more is wrong.
const BOILING: f64 = 100.5;
const BOILING_SE: f64 = 0.5;
/// All the readings of a chain.
const ALL: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// Stages that are one coil in one bath after another, and what is believed of it.
#[derive(Clone, Debug, Default)]
pub(super) struct Alike {
    pub(super) coils: Vec<usize>,
    /// How far their `ln K` are believed to be from their middle, one deviation.
    pub(super) apart: f64,
    /// What their middle is believed to be.
    pub(super) middle: Option<Estimate>,
}

impl Alike {
    /// Distances from the belief, each in units of its deviation.
    fn residuals(&self, log: impl Fn(usize) -> f64, into: &mut Vec<f64>) {
        if self.coils.is_empty() {
            return;
        }
        let sum: f64 = self.coils.iter().map(|&c| log(c)).sum();
        let middle = sum / self.coils.len() as f64;
        into.extend(self.coils.iter().map(|&c| (log(c) - middle) / self.apart));
        let known = |m: Estimate| (middle - m.conductance.watts_per_kelvin().ln()) / m.relative_se();
        into.extend(self.middle.map(known));
    }
}

/// The unknowns of a fit and where they stand in the parameter vector.
pub(super) struct Model<'a> {
    pub(super) chains: &'a [Chain],
    /// Which stage's conductance each `ln K` is.
    pub(super) coils: &'a [usize],
    pub(super) alike: Alike,
    pub(super) kettle: Kettle,
    pub(super) start: Start,
    /// Per reading, in the order of the chains.
    pub(super) doubts: Vec<Doubt>,
    pub(super) sigma: f64,
}

impl Model<'_> {
    pub(super) fn slot(&self, coil: usize) -> usize {
        let place = self.coils.iter().position(|&c| c == coil).unwrap_or(0);
        self.chains.len() + place
    }

    pub(super) fn loss_slot(&self) -> Option<usize> {
        let free = self.kettle.loss.se.watts_per_kelvin() > 0.0;
        free.then_some(self.chains.len() + self.coils.len())
    }

    pub(super) fn loss(&self, at: &[f64]) -> f64 {
        let fixed = self.kettle.loss.conductance.watts_per_kelvin();
        self.loss_slot().map_or(fixed, |j| at[j].max(0.0))
    }

    pub(super) fn ways(&self, at: &[f64]) -> (f64, f64, f64) {
        (self.kettle.wort.joules_per_kelvin(), self.loss(at), self.kettle.loss.room.celsius())
    }

    /// `K` from `ln K`, kept where a coil can be.
    pub(super) fn coil(&self, at: &[f64], coil: usize) -> f64 {
        at[self.slot(coil)].clamp(-7.0, 12.0).exp()
    }
}

impl Problem for Model<'_> {
    fn residuals(&self, at: &[f64], into: &mut Vec<f64>) {
        into.clear();
        for (c, chain) in self.chains.iter().enumerate() {
            let coil = |k: usize| self.coil(at, k);
            chain.walk(at[c], coil, self.ways(at), ALL, |i, model| {
                into.push(model - chain.readings[i].2);
            });
        }
        self.alike.residuals(|coil| at[self.slot(coil)], into);
        let starts = at[..self.chains.len()].iter();
        into.extend(starts.map(|&wort| (wort - BOILING).max(0.0) / BOILING_SE));
    }

    fn cost_and_weight(&self, i: usize, residual: f64) -> (f64, f64) {
        match self.doubts.get(i) {
            Some(doubt) => doubt.cost_and_weight(residual, self.sigma),
            // What is believed beforehand comes in units of its own deviation.
            None => (0.5 * residual * residual, 1.0),
        }
    }

    fn information(&self, i: usize, residual: f64) -> f64 {
        self.doubts.get(i).map_or(1.0, |doubt| doubt.information(residual, self.sigma))
    }

    fn prior(&self, j: usize) -> Option<(f64, f64)> {
        if j == 0
            && let Start::Pinned(at, se) = self.start
        {
            return Some((at.celsius(), se.kelvins()));
        }
        if Some(j) == self.loss_slot() {
            let loss = self.kettle.loss;
            return Some((loss.conductance.watts_per_kelvin(), loss.se.watts_per_kelvin()));
        }
        None
    }
}
