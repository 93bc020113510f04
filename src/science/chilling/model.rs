//! The fit's unknowns, what is believed of them, and the search.
//!
//! Unknown are the start of each chain of stages, one `ln K` per stage (or one
//! for all), and the kettle's loss where it is not known. [`fit`](super::fit)
//! says what they mean; here they are put in a row and found.

use super::estimate::Estimate;
use super::fit::{NoFit, Setting, Start, is_bath};
use super::guess::{Guess, first_guess, guess_near};
use super::least_squares::{Minimum, Problem, covariance, minimise};
use super::robust::{self, Doubt};
use super::series::Series;
use super::stage::{Kettle, Loss};
use super::trajectory::{Chain, Track, chains};
use crate::science::units::{Conductance, TimeSpan};

/// A conductance less sure than this is not reported.
const LEAST_SURE: f64 = 0.5;
/// How far the same coil's `ln K` is believed to differ from bath to bath, standard
/// deviation (common practice, no source). Loose on purpose: it moves a stage with
/// good readings by a hundredth of its distance from the others, and keeps a stage
/// whose few telling readings were disturbed from running away.
const ALIKE: f64 = 0.25;
/// No kettle in the open holds wort hotter than this (water's boiling point and
/// 0.5 K for the extract); a first reading that asks for more is wrong.
const BOILING: f64 = 100.5;
const BOILING_SE: f64 = 0.5;
/// A search is over when a step gains less than this in log-likelihood; one that
/// is not the last may stop far sooner.
const FINELY: f64 = 1e-7;
const ROUGHLY: f64 = 1e-2;
/// What the thermometer's stated noise weighs against the residuals, in readings.
const NOISE_WORTH: f64 = 10.0;

/// The unknowns of a fit and where they stand in the parameter vector.
pub(super) struct Model<'a> {
    pub(super) chains: &'a [Chain],
    /// Which stage's conductance each `ln K` is.
    pub(super) coils: &'a [usize],
    /// Those of them that are one coil in one bath after another.
    pub(super) alike: &'a [usize],
    pub(super) kettle: Kettle,
    pub(super) start: Start,
    pub(super) usual: Option<Estimate>,
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
        (
            self.kettle.wort.joules_per_kelvin(),
            self.loss(at),
            self.kettle.loss.room.celsius(),
        )
    }

    /// How far one stage's `ln K` is from the middle of those that are alike.
    pub(super) fn log_from_middle(&self, at: &[f64], coil: usize) -> f64 {
        let logs = self.alike.iter().map(|&c| at[self.slot(c)]);
        at[self.slot(coil)] - logs.sum::<f64>() / self.alike.len() as f64
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
            chain.walk(at[c], coil, self.ways(at), f64::INFINITY, |i, model| {
                into.push(model - chain.readings[i].2);
            });
        }
        into.extend(
            self.alike
                .iter()
                .map(|&c| self.log_from_middle(at, c) / ALIKE),
        );
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
        self.doubts
            .get(i)
            .map_or(1.0, |doubt| doubt.information(residual, self.sigma))
    }

    fn prior(&self, j: usize) -> Option<(f64, f64)> {
        if j == 0
            && let Start::Pinned(at, se) = self.start
        {
            return Some((at.celsius(), se.kelvins()));
        }
        if Some(j) == self.loss_slot() {
            let loss = self.kettle.loss;
            return Some((
                loss.conductance.watts_per_kelvin(),
                loss.se.watts_per_kelvin(),
            ));
        }
        let usual = self.usual.filter(|_| j >= self.chains.len())?;
        Some((
            usual.conductance.watts_per_kelvin().ln(),
            usual.relative_se(),
        ))
    }
}

/// A fit that came to rest.
pub(super) struct Solved {
    pub(super) coils: Vec<usize>,
    /// Value and variance of each `ln K`.
    pub(super) logs: Vec<(f64, f64)>,
    pub(super) doubted: Vec<usize>,
    pub(super) track: Track,
    pub(super) loss: Loss,
    pub(super) noise: f64,
}

impl Solved {
    pub(super) fn wort_at(&self, at: TimeSpan) -> Option<f64> {
        self.track.at(at).map(|moment| moment.wort.celsius())
    }

    /// The middle of these conductances' logarithms, each by its weight.
    pub(super) fn middle_log(&self, among: &[usize]) -> Option<f64> {
        let logs = self
            .coils
            .iter()
            .zip(&self.logs)
            .filter(|(c, _)| among.contains(c));
        let weighed = logs
            .map(|(_, l)| l)
            .map(|&(log, variance)| (log / variance, 1.0 / variance));
        let (sum, weight) = weighed.fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
        (weight > 0.0).then(|| sum / weight)
    }

    pub(super) fn coil(&self, coil: usize) -> Result<Estimate, NoFit> {
        let place = self
            .coils
            .iter()
            .position(|&c| c == coil)
            .ok_or(NoFit::Undetermined)?;
        let (log, variance) = self.logs[place];
        let sure = variance.is_finite() && variance.sqrt() < LEAST_SURE;
        let value = log.exp();
        if sure {
            Ok(Estimate::from_watts_per_kelvin(
                value,
                value * variance.sqrt(),
            ))
        } else {
            Err(NoFit::Undetermined)
        }
    }
}

/// Fits the stages that `coil_of` gives a conductance to; `None` where there is none.
pub(super) fn solve(
    series: &Series,
    setting: &Setting,
    coil_of: impl Fn(usize) -> Option<usize>,
    usual: Option<Estimate>,
    near: Option<(&Solved, f64)>,
) -> Option<Solved> {
    let chains = chains(series, coil_of);
    let mut coils: Vec<usize> = chains
        .iter()
        .flat_map(|c| c.coils())
        .map(|(coil, _)| coil)
        .collect();
    coils.sort_unstable();
    coils.dedup();
    if coils.is_empty() {
        return None;
    }
    let bath = |c: &usize| series.stages().get(*c).is_some_and(|s| is_bath(s.method));
    let alike: Vec<usize> = coils
        .iter()
        .copied()
        .filter(|c| bath(c) && usual.is_none())
        .collect();
    let told = setting.noise.kelvins().max(0.01);
    let all = robust::doubts(series, setting.pass.map(TimeSpan::seconds), told);
    let indices: Vec<usize> = chains
        .iter()
        .flat_map(|c| c.readings.iter().map(|r| r.0))
        .collect();
    let mut model = Model {
        chains: &chains,
        coils: &coils,
        alike: &alike,
        kettle: setting.kettle,
        start: setting.start,
        usual,
        doubts: indices.iter().map(|&i| all[i]).collect(),
        sigma: told * 4.0,
    };
    // A broad loss first, which sees no small valleys, then ever sharper ones;
    // from several guesses, for a disturbed reading can make a large valley.
    model.sigma = told * 4.0;
    let mut rough: Vec<Vec<f64>> = Vec::new();
    let guesses = match near.and_then(|(near, log)| guess_near(&model, near, log)) {
        Some(guess) => vec![guess],
        None => {
            let all = [Guess::All, Guess::NotFirst, Guess::NotUnsettled];
            all.map(|guess| first_guess(&model, guess)).into()
        }
    };
    for guess in guesses {
        let found = minimise(&model, guess, ROUGHLY).at;
        let apart = |other: &Vec<f64>| other.iter().zip(&found).any(|(a, b)| (a - b).abs() > 0.02);
        if rough.iter().all(apart) {
            rough.push(found);
        }
    }
    let mut sharpen = |at: Vec<f64>| {
        model.sigma = told * 2.0;
        let at = minimise(&model, at, ROUGHLY).at;
        model.sigma = told;
        minimise(&model, at, ROUGHLY)
    };
    let sharp: Vec<Minimum> = rough.into_iter().map(&mut sharpen).collect();
    let mut best = sharp.into_iter().min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    doubt_neighbours(&mut model, &best);
    for _ in 0..2 {
        model.sigma = noise_of(&model, &best, told);
        best = minimise(&model, best.at, FINELY);
    }
    Some(solved(&model, best, &indices))
}

/// The noise: what the thermometer is said to have, sharpened by the residuals
/// of the readings that are trusted.
fn noise_of(model: &Model<'_>, best: &Minimum, told: f64) -> f64 {
    let (mut squares, mut count) = (NOISE_WORTH * told * told, NOISE_WORTH);
    for (i, &r) in best.residuals.iter().take(model.doubts.len()).enumerate() {
        let trust = model.doubts[i].trust(r, model.sigma);
        squares += trust * r * r;
        count += trust;
    }
    let free = (count - best.at.len() as f64).max(NOISE_WORTH);
    (squares / free).sqrt()
}

/// A dip lasts for minutes: readings next to one that is low are doubted more.
fn doubt_neighbours(model: &mut Model<'_>, best: &Minimum) {
    let low: Vec<bool> = best
        .residuals
        .iter()
        .take(model.doubts.len())
        .enumerate()
        .map(|(i, &r)| {
            r > 0.0 && model.doubts[i].unsettled() && model.doubts[i].trust(r, model.sigma) < 0.5
        })
        .collect();
    for i in 0..low.len() {
        let beside = i > 0 && low[i - 1] || low.get(i + 1) == Some(&true);
        if beside && model.doubts[i].unsettled() {
            model.doubts[i] = model.doubts[i].beside_a_low_one();
        }
    }
}

fn solved(model: &Model<'_>, best: Minimum, indices: &[usize]) -> Solved {
    let covariance = covariance(model, &best);
    let variance = |j: usize| covariance.as_ref().map_or(f64::INFINITY, |v| v[j][j]);
    let logs = model.coils.iter().map(|&c| {
        let j = model.slot(c);
        (best.at[j].clamp(-7.0, 12.0), variance(j))
    });
    let mut loss = model.kettle.loss;
    if let Some(j) = model.loss_slot() {
        loss.conductance = Conductance::from_watts_per_kelvin(model.loss(&best.at));
        loss.se = Conductance::from_watts_per_kelvin(variance(j).sqrt());
    }
    let kettle = Kettle {
        loss,
        ..model.kettle
    };
    let mut track = Track::default();
    for (c, chain) in model.chains.iter().enumerate() {
        track.push_chain(chain, best.at[c], |k| model.coil(&best.at, k), kettle);
    }
    let doubted = best
        .residuals
        .iter()
        .take(model.doubts.len())
        .enumerate()
        .filter(|&(i, &r)| model.doubts[i].trust(r, model.sigma) < 0.5);
    Solved {
        coils: model.coils.to_vec(),
        logs: logs.collect(),
        doubted: doubted.map(|(i, _)| indices[i]).collect(),
        track,
        loss,
        noise: model.sigma,
    }
}
