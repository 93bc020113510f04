//! The search for a fit's unknowns, from first guesses to a noise and a minimum.

use super::estimate::Estimate;
use super::fit::{NoFit, Setting, is_bath};
use super::guess::{Guess, first_guess, guess_near};
use super::least_squares::{Minimum, covariance, minimise};
use super::model::{Alike, Model};
use super::robust;
use super::series::Series;
use super::stage::{Kettle, Loss};
use super::trajectory::{Track, chains};
use crate::science::units::{Conductance, TimeSpan};

/// A conductance less sure than this is not reported.
const LEAST_SURE: f64 = 0.5;
/// A search is over when a step gains less than this in log-likelihood; one that
/// is not the last may stop far sooner.
const FINELY: f64 = 1e-7;
const ROUGHLY: f64 = 1e-2;
/// How far from the others a stage's `ln K` is tried again.
const STRAGGLES: f64 = 0.2;
/// What the thermometer's stated noise weighs against the residuals, in readings.
const NOISE_WORTH: f64 = 10.0;

/// How far the same coil's `ln K` is believed to differ from bath to bath, standard
/// deviation (common practice, no source). Loose on purpose: it moves a stage with
/// good readings by a hundredth of its distance from the others, and keeps a stage
/// whose few telling readings were disturbed from running away.
const ALIKE: f64 = 0.2;
/// The same where the best guess is wanted, not what this stage alone says: how the
/// coil hangs and how the water moves makes about this much.
const BATH_TO_BATH: f64 = 0.08;

/// What is asked of the fit.
#[derive(Clone, Copy)]
pub(super) enum Ask<'a> {
    /// A conductance for each stage.
    EachStage,
    /// The same, and another for the rest of a stage from a time on.
    Split {
        /// From when, s.
        at: f64,
    },
    /// One for all of them.
    OneForAll {
        /// A fit of the same readings stage by stage, and its middle `ln K`.
        near: Option<(&'a Solved, f64)>,
    },
    /// One for each, steadied by what is known of the coil.
    Steadied {
        /// The stages that are the same coil cooled the same way.
        same: &'a [usize],
        /// What is believed of it.
        usual: Estimate,
    },
}

impl Ask<'_> {
    fn alike(self, coils: &[usize], is_bath: impl Fn(usize) -> bool) -> Alike {
        let among = |wanted: &dyn Fn(usize) -> bool| coils.iter().copied().filter(|&c| wanted(c)).collect();
        match self {
            Self::EachStage => Alike { coils: among(&is_bath), apart: ALIKE, middle: None },
            // Two parts of one stage are compared, not tied.
            Self::OneForAll { .. } | Self::Split { .. } => Alike::default(),
            Self::Steadied { same, usual } => {
                Alike { coils: among(&|c| same.contains(&c)), apart: BATH_TO_BATH, middle: Some(usual) }
            }
        }
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
    /// What the readings alone say of the loss, without what was believed beforehand.
    pub(super) loss_read: Option<Estimate>,
    pub(super) noise: f64,
}

impl Solved {
    pub(super) fn wort_at(&self, at: TimeSpan) -> Option<f64> {
        self.track.at(at).map(|moment| moment.wort.celsius())
    }

    /// The middle of these conductances' logarithms, each by its weight.
    pub(super) fn middle_log(&self, among: &[usize]) -> Option<f64> {
        let logs = self.coils.iter().zip(&self.logs).filter(|(c, _)| among.contains(c));
        let weighed = logs.map(|(_, l)| l).map(|&(log, variance)| (log / variance, 1.0 / variance));
        let (sum, weight) = weighed.fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
        (weight > 0.0).then(|| sum / weight)
    }

    /// The `ln K` of one of them.
    pub(super) fn log(&self, coil: usize) -> Option<f64> {
        let place = self.coils.iter().position(|&c| c == coil)?;
        self.logs.get(place).map(|log| log.0)
    }

    pub(super) fn coil(&self, coil: usize) -> Result<Estimate, NoFit> {
        let place = self.coils.iter().position(|&c| c == coil).ok_or(NoFit::Undetermined)?;
        let (log, variance) = self.logs[place];
        let sure = variance.is_finite() && variance.sqrt() < LEAST_SURE;
        let value = log.exp();
        if sure {
            Ok(Estimate::from_watts_per_kelvin(value, value * variance.sqrt()))
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
    ask: Ask<'_>,
) -> Option<Solved> {
    let mut chains = chains(series, setting.kettle.loss.room, coil_of);
    if let Ask::Split { at } = ask {
        chains.iter_mut().for_each(|chain| chain.split(at, series.stages().len()));
    }
    let mut coils: Vec<usize> = chains.iter().flat_map(|c| c.coils()).map(|(coil, _)| coil).collect();
    coils.sort_unstable();
    coils.dedup();
    if chains.is_empty() {
        return None;
    }
    let bath = |c: usize| series.stages().get(c).is_some_and(|s| is_bath(s.method));
    let told = setting.noise.kelvins().max(0.01);
    let all = robust::doubts(series, setting.pass.map(TimeSpan::seconds), told);
    let indices: Vec<usize> = chains.iter().flat_map(|c| c.readings.iter().map(|r| r.0)).collect();
    let mut model = Model {
        chains: &chains,
        coils: &coils,
        alike: ask.alike(&coils, bath),
        kettle: setting.kettle,
        start: setting.start,
        doubts: indices.iter().map(|&i| all[i]).collect(),
        sigma: told * 4.0,
    };
    // A broad loss first, which sees no small valleys, then ever sharper ones;
    // from several guesses, for a disturbed reading can make a large valley.
    model.sigma = told * 4.0;
    let mut rough: Vec<Minimum> = Vec::new();
    let near = match ask {
        Ask::OneForAll { near: Some((near, log)) } => guess_near(&model, near, log),
        _ => None,
    };
    let all = [Guess::All, Guess::NotFirst, Guess::NotUnsettled];
    let mut guesses = match near {
        Some(guess) => vec![guess],
        None => all.map(|guess| first_guess(&model, guess)).into(),
    };
    // From one place there is one way down.
    guesses.dedup();
    for guess in guesses {
        let found = minimise(&model, guess, ROUGHLY);
        let apart = |other: &Minimum| {
            let pairs = other.at.iter().zip(&found.at);
            pairs.into_iter().any(|(a, b)| (a - b).abs() > 0.02)
        };
        if rough.iter().all(apart) {
            rough.push(found);
        }
    }
    let told = match ask {
        Ask::EachStage | Ask::Split { .. } | Ask::Steadied { .. } => told,
        // One conductance for stages that differ leaves more than noise behind;
        // what is usual for this fit must not be doubted as an outlier.
        Ask::OneForAll { .. } => {
            let left = rough.iter().map(|m| usual_distance(&m.residuals[..model.doubts.len()]));
            left.fold(f64::INFINITY, f64::min).max(told)
        }
    };
    let mut sharpen = |found: Minimum| {
        model.sigma = told * 2.0;
        let at = minimise(&model, found.at, ROUGHLY).at;
        model.sigma = told;
        minimise(&model, at, ROUGHLY)
    };
    let sharp: Vec<Minimum> = rough.into_iter().map(&mut sharpen).collect();
    let mut best = sharp.into_iter().min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    best = stragglers_tried_again(&model, best);
    doubt_neighbours(&mut model, &best);
    for _ in 0..2 {
        model.sigma = noise_of(&model, &best, told);
        best = minimise(&model, best.at, FINELY);
    }
    Some(solved(&model, best, &indices))
}

/// A stage whose conductance came out far from the others' may have followed a
/// misread value: tried again from where the others are.
fn stragglers_tried_again(model: &Model<'_>, mut best: Minimum) -> Minimum {
    for &coil in &model.alike.coils {
        let slot = model.slot(coil);
        let others = model.alike.coils.iter().filter(|&&c| c != coil);
        let logs: Vec<f64> = others.map(|&c| best.at[model.slot(c)]).collect();
        let middle = logs.iter().sum::<f64>() / logs.len() as f64;
        if !logs.is_empty() && (best.at[slot] - middle).abs() > STRAGGLES {
            let mut at = best.at.clone();
            at[slot] = middle;
            let again = minimise(model, at, ROUGHLY);
            if again.cost < best.cost {
                best = again;
            }
        }
    }
    best
}

/// 1.4826 × the median distance from nil, one standard deviation of a normal
/// sample whatever a minority of it does [Hampel-1974].
fn usual_distance(residuals: &[f64]) -> f64 {
    let mut distances: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    distances.sort_by(f64::total_cmp);
    distances.get(distances.len() / 2).map_or(0.0, |d| 1.4826 * d)
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
        .map(|(i, &r)| r > 0.0 && model.doubts[i].unsettled() && model.doubts[i].trust(r, model.sigma) < 0.5)
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
    let loss_read = without(loss, model.kettle.loss);
    let kettle = Kettle { loss, ..model.kettle };
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
        loss_read,
        noise: model.sigma,
    }
}

/// A loss with what was believed of it beforehand taken out again: two normal
/// estimates combine by their inverse variances, and so come apart.
fn without(found: Loss, believed: Loss) -> Option<Estimate> {
    let weight = |loss: Loss| loss.se.watts_per_kelvin().powi(-2);
    let (all, before) = (weight(found), weight(believed));
    let read = all - before;
    let value = |loss: Loss| loss.conductance.watts_per_kelvin();
    (read > 0.0 && before.is_finite()).then(|| {
        Estimate::from_watts_per_kelvin((all * value(found) - before * value(believed)) / read, read.sqrt().recip())
    })
}
