//! The coil's conductance from the day's readings, with its standard error.
//!
//! # What for
//! One number per stage says how good the coil was today; every forecast and
//! every plan hangs on it.
//!
//! # How
//! All stages are fitted at once to the closed forms of [`stage`](super::stage):
//! unknown are the wort's temperature at the start, one `ln K` per stage, and,
//! where it is not measured, the kettle's loss `G`, held by what is believed of
//! it beforehand (a *nuisance parameter* [Gelman-2013, ch. 3]): its uncertainty
//! so ends in `K`'s standard error. The wort is continuous from stage to stage, so
//! readings at the end of one stage pin the start of the next.
//!
//! The search is Levenberg's and Marquardt's [Marquardt-1963] on a loss that
//! doubts a reading the further it is off, and the sooner after a bath change or
//! a stir ([`robust`](super)); standard errors are the inverse of the information at the
//! minimum [GUM-2008, 4.2], times a noise that is the thermometer's, sharpened
//! by the residuals.
//!
//! # Refusals
//! No figure from fewer than three readings, none for a bath whose record has
//! holes, none where the readings leave `K` open by half or more: [`NoFit`] says which.

use super::least_squares::{Minimum, Problem, minimise};
use super::robust;
use super::series::{Method, Series, Unknown};
use super::stage::{Kettle, Loss, Moment};
use super::trajectory::{Chain, Track, chains};
use crate::science::units::{Conductance, Temperature, TemperatureDifference, TimeSpan};

/// Fewest readings in a stage that a conductance is fitted to.
pub const FEWEST_READINGS: usize = 3;
/// A conductance less sure than this is not reported.
const LEAST_SURE: f64 = 0.5;
/// What the thermometer's stated noise weighs against the residuals, in readings.
const NOISE_WORTH: f64 = 10.0;

/// A conductance and its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The best value.
    pub conductance: Conductance,
    /// One standard deviation.
    pub se: Conductance,
}

impl Estimate {
    /// `value ± se` in W/K.
    #[must_use]
    pub const fn from_watts_per_kelvin(value: f64, se: f64) -> Self {
        Self {
            conductance: Conductance::from_watts_per_kelvin(value),
            se: Conductance::from_watts_per_kelvin(se.abs()),
        }
    }

    /// The standard error as a share of the value.
    #[must_use]
    pub fn relative_se(self) -> f64 {
        self.se / self.conductance
    }

    /// The same value, less sure by a relative `spread` that has nothing to do
    /// with its own error.
    #[must_use]
    pub fn widened(self, spread: f64) -> Self {
        let extra = self.conductance.watts_per_kelvin() * spread;
        let se = self.se.watts_per_kelvin().hypot(extra);
        Self::from_watts_per_kelvin(self.conductance.watts_per_kelvin(), se)
    }

    /// Two independent estimates of one conductance, weighed by their errors.
    #[must_use]
    pub fn combined(self, other: Self) -> Self {
        let (a, b) = (self.se.watts_per_kelvin().powi(-2), other.se.watts_per_kelvin().powi(-2));
        if !a.is_finite() {
            return self;
        }
        if !b.is_finite() {
            return other;
        }
        let (x, y) = (self.conductance.watts_per_kelvin(), other.conductance.watts_per_kelvin());
        Self::from_watts_per_kelvin((a * x + b * y) / (a + b), (a + b).sqrt().recip())
    }
}

/// What is known of the wort's temperature where the first stage begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    /// Only the readings say.
    Free,
    /// Read or known beforehand, with its standard error (more than nil).
    Pinned(Temperature, TemperatureDifference),
}

/// What the fit is told beside the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Kettle, wort and loss.
    pub kettle: Kettle,
    /// Time in which the whole volume passes the coil once.
    pub pass: Option<TimeSpan>,
    /// Standard deviation of one reading.
    pub noise: TemperatureDifference,
    /// What is known of the start.
    pub start: Start,
}

impl Setting {
    /// A kitchen thermometer read by hand: 0.3 K (common practice, no source);
    /// start free.
    #[must_use]
    pub const fn new(kettle: Kettle, pass: Option<TimeSpan>) -> Self {
        Self { kettle, pass, noise: TemperatureDifference::from_kelvins(0.3), start: Start::Free }
    }
}

/// Why there is no conductance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFit {
    /// Fewer than [`FEWEST_READINGS`] in the stage.
    TooFewReadings {
        /// How many there are.
        have: usize,
    },
    /// The coolant is not known.
    Coolant(Unknown),
    /// The readings do not tell a good coil from a bad one: wort and bath were
    /// as warm as each other, say.
    Undetermined,
    /// There is no stage of this kind.
    NoStage,
}

/// A stage's conductance, and what goes with it.
#[derive(Clone, Debug, PartialEq)]
pub struct StageFit {
    /// Conductance of the coil in this stage.
    pub coil: Estimate,
    /// The coldest the wort would have become in this stage, however long.
    pub limit: Temperature,
    /// Wort where the stage began, from the fit.
    pub wort_at_start: Temperature,
    /// Readings that lie in the stage.
    pub readings: usize,
    /// Those of them (indices in the series) the fit holds more likely disturbed
    /// than clean.
    pub doubted: Vec<usize>,
}

/// One conductance over all coil stages.
#[derive(Clone, Debug)]
pub struct JointFit {
    /// The one conductance.
    pub coil: Estimate,
    /// The wort's path with it.
    pub track: Track,
}

/// A whole chill, fitted.
#[derive(Clone, Debug)]
pub struct ChillFit {
    /// Per stage, in the order of the series.
    pub stages: Vec<Result<StageFit, NoFit>>,
    /// One conductance over all coil stages together.
    pub joint: Result<JointFit, NoFit>,
    /// The wort's path with a conductance per stage, where there is one.
    pub track: Track,
    /// The loss as the readings leave it.
    pub loss: Loss,
    /// Standard deviation of a clean reading about the path.
    pub noise: TemperatureDifference,
}

impl ChillFit {
    /// The kettle's loss as measured by a stage in air, where there was one: use
    /// it in the setting of a second fit.
    #[must_use]
    pub fn loss_from_air(&self, series: &Series, room: Temperature) -> Option<Loss> {
        let stages = series.stages().iter().zip(&self.stages);
        let measured = stages.filter_map(|(s, fit)| match (s.method, fit) {
            (Method::Air, Ok(fit)) => Some(fit.coil),
            _ => None,
        });
        let best = measured.reduce(Estimate::combined)?;
        Some(Loss { conductance: best.conductance, se: best.se, room })
    }
}

/// Fits one conductance per stage, and one over all coil stages.
///
/// The joint one is over still and ice baths; where there is none, over running
/// water; a stage in air is never in it.
#[must_use]
pub fn fit(series: &Series, setting: &Setting) -> ChillFit {
    let counts: Vec<usize> = (0..series.stages().len()).map(|i| series.readings_in(i).len()).collect();
    let per_stage = solve(series, setting, |i| (counts[i] >= FEWEST_READINGS).then_some(i), None);
    let stages = series.stages().iter().enumerate().map(|(i, stage)| {
        stage.coolant().map_err(NoFit::Coolant)?;
        if counts[i] < FEWEST_READINGS {
            return Err(NoFit::TooFewReadings { have: counts[i] });
        }
        let solved = per_stage.as_ref().ok_or(NoFit::Undetermined)?;
        solved.stage_fit(series, i)
    });
    let stages = stages.collect();
    let (track, loss, noise) = match &per_stage {
        Some(solved) => (solved.track.clone(), solved.loss, solved.noise),
        None => (Track::default(), setting.kettle.loss, setting.noise.kelvins()),
    };
    ChillFit {
        stages,
        joint: fit_joint(series, setting, None),
        track,
        loss,
        noise: TemperatureDifference::from_kelvins(noise),
    }
}

/// One conductance over all coil stages, `usual` being what is believed of it.
///
/// # Errors
/// Without a belief, as a stage has them; with one, a single reading will do.
pub fn fit_joint(series: &Series, setting: &Setting, usual: Option<Estimate>) -> Result<JointFit, NoFit> {
    let is_bath = |m: Method| matches!(m, Method::StillBath | Method::IceBath);
    let baths = series.stages().iter().any(|s| is_bath(s.method));
    let wanted = |m: Method| {
        if baths { is_bath(m) } else { m == Method::RunningWater }
    };
    let known = |i: &usize| {
        let stage = &series.stages()[*i];
        wanted(stage.method) && stage.coolant().is_ok()
    };
    let chosen: Vec<usize> = (0..series.stages().len()).filter(known).collect();
    let have: usize = chosen.iter().map(|&i| series.readings_in(i).len()).sum();
    if chosen.is_empty() {
        let unknown = series.stages().iter().filter(|s| wanted(s.method));
        let why = unknown.filter_map(|s| s.coolant().err()).map(NoFit::Coolant).next();
        return Err(why.unwrap_or(NoFit::NoStage));
    }
    if have < if usual.is_some() { 1 } else { FEWEST_READINGS } {
        return Err(NoFit::TooFewReadings { have });
    }
    let solved = solve(series, setting, |i| chosen.contains(&i).then_some(0), usual);
    let solved = solved.ok_or(NoFit::Undetermined)?;
    Ok(JointFit { coil: solved.coil(0)?, track: solved.track })
}

/// The unknowns of a fit and where they stand in the parameter vector.
struct Model<'a> {
    chains: &'a [Chain],
    /// Which stage's conductance each `ln K` is.
    coils: &'a [usize],
    kettle: Kettle,
    start: Start,
    usual: Option<Estimate>,
    /// Per reading, in the order of the chains.
    doubts: Vec<f64>,
    sigma: f64,
}

impl Model<'_> {
    fn slot(&self, coil: usize) -> usize {
        let place = self.coils.iter().position(|&c| c == coil).unwrap_or(0);
        self.chains.len() + place
    }

    fn loss_slot(&self) -> Option<usize> {
        let free = self.kettle.loss.se.watts_per_kelvin() > 0.0;
        free.then_some(self.chains.len() + self.coils.len())
    }

    fn loss(&self, at: &[f64]) -> f64 {
        let fixed = self.kettle.loss.conductance.watts_per_kelvin();
        self.loss_slot().map_or(fixed, |j| at[j].max(0.0))
    }

    fn ways(&self, at: &[f64]) -> (f64, f64, f64) {
        (self.kettle.wort.joules_per_kelvin(), self.loss(at), self.kettle.loss.room.celsius())
    }

    /// `K` from `ln K`, kept where a coil can be.
    fn coil(&self, at: &[f64], coil: usize) -> f64 {
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
    }

    fn cost_and_weight(&self, i: usize, residual: f64) -> (f64, f64) {
        robust::cost_and_weight(residual, self.sigma, self.doubts[i])
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
        let usual = self.usual.filter(|_| j >= self.chains.len())?;
        Some((usual.conductance.watts_per_kelvin().ln(), usual.relative_se()))
    }
}

/// A fit that came to rest.
struct Solved {
    coils: Vec<usize>,
    /// Value and variance of each `ln K`.
    logs: Vec<(f64, f64)>,
    doubted: Vec<usize>,
    track: Track,
    loss: Loss,
    noise: f64,
}

impl Solved {
    fn coil(&self, coil: usize) -> Result<Estimate, NoFit> {
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

    fn stage_fit(&self, series: &Series, index: usize) -> Result<StageFit, NoFit> {
        let coil = self.coil(index)?;
        let starts = series.stages()[index].started;
        let within = series.readings_in(index);
        let first = series.readings().partition_point(|r| r.at < starts);
        let mine = first..first + within.len();
        let moment: Moment = self.track.at(starts).ok_or(NoFit::Undetermined)?;
        Ok(StageFit {
            coil,
            limit: self.track.limit_at(starts).ok_or(NoFit::Undetermined)?,
            wort_at_start: moment.wort,
            readings: within.len(),
            doubted: self.doubted.iter().copied().filter(|i| mine.contains(i)).collect(),
        })
    }
}

fn solve(
    series: &Series,
    setting: &Setting,
    coil_of: impl Fn(usize) -> Option<usize>,
    usual: Option<Estimate>,
) -> Option<Solved> {
    let chains = chains(series, coil_of);
    let mut coils: Vec<usize> = chains.iter().flat_map(|c| c.coils()).map(|(coil, _)| coil).collect();
    coils.sort_unstable();
    coils.dedup();
    if coils.is_empty() {
        return None;
    }
    let told = setting.noise.kelvins().max(0.01);
    let all = robust::doubts(series, setting.pass.map(TimeSpan::seconds), told);
    let indices: Vec<usize> = chains.iter().flat_map(|c| c.readings.iter().map(|r| r.0)).collect();
    let mut model = Model {
        chains: &chains,
        coils: &coils,
        kettle: setting.kettle,
        start: setting.start,
        usual,
        doubts: indices.iter().map(|&i| all[i]).collect(),
        sigma: told * 4.0,
    };
    // From several first guesses with a broad loss; then the best with the sharp one.
    let rough = (0..3).map(|nth| minimise(&model, first_guess(&model, nth)));
    let rough = rough.min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    model.sigma = told;
    let mut best = minimise(&model, rough.at);
    model.sigma = noise_of(&model, &best, told);
    best = minimise(&model, best.at);
    model.sigma = noise_of(&model, &best, told);
    Some(solved(&model, best, &indices))
}

/// The noise: what the thermometer is said to have, sharpened by the residuals
/// of the readings that are trusted.
fn noise_of(model: &Model<'_>, best: &Minimum, told: f64) -> f64 {
    let (mut squares, mut count) = (NOISE_WORTH * told * told, NOISE_WORTH);
    for (i, &r) in best.residuals.iter().enumerate() {
        let trust = robust::trust(r, model.sigma, model.doubts[i]);
        squares += trust * r * r;
        count += trust;
    }
    let free = (count - best.at.len() as f64).max(NOISE_WORTH);
    (squares / free).sqrt()
}

/// Start temperatures from one of the first readings, conductances one stage
/// after the other from a coarse search.
fn first_guess(model: &Model<'_>, nth: usize) -> Vec<f64> {
    let loss = model.kettle.loss;
    let size = model.chains.len() + model.coils.len() + usize::from(model.loss_slot().is_some());
    let mut at = vec![4.6; size];
    if let Some(j) = model.loss_slot() {
        at[j] = loss.conductance.watts_per_kelvin();
    }
    let mut offset = 0;
    for (c, chain) in model.chains.iter().enumerate() {
        let reading = |i: usize| chain.readings[i.min(chain.readings.len() - 1)].2;
        at[c] = match (nth, model.start) {
            (_, Start::Pinned(known, _)) if c == 0 => known.celsius(),
            (0, _) => reading(0),
            (1, _) => reading(1),
            _ => reading(0).max(reading(1)).max(reading(2)),
        };
        let mut residuals = Vec::new();
        for (coil, until) in chain.coils() {
            let slot = model.slot(coil);
            let mut best = (f64::INFINITY, at[slot]);
            for step in 0..20 {
                at[slot] = 1.4 + 0.3 * f64::from(step);
                residuals.clear();
                let of = |k: usize| model.coil(&at, k);
                chain.walk(at[c], of, model.ways(&at), until, |i, wort| {
                    residuals.push((i, wort - chain.readings[i].2));
                });
                let within = residuals.iter().filter(|(i, _)| chain.readings[*i].1 <= until);
                let cost: f64 = within.map(|&(i, r)| model.cost_and_weight(offset + i, r).0).sum();
                if cost < best.0 {
                    best = (cost, at[slot]);
                }
            }
            at[slot] = best.1;
        }
        offset += chain.readings.len();
    }
    at
}

fn solved(model: &Model<'_>, best: Minimum, indices: &[usize]) -> Solved {
    let variance = |j: usize| best.covariance.as_ref().map_or(f64::INFINITY, |v| v[j][j]);
    let logs = model.coils.iter().map(|&c| {
        let j = model.slot(c);
        (best.at[j].clamp(-7.0, 12.0), variance(j))
    });
    let mut loss = model.kettle.loss;
    if let Some(j) = model.loss_slot() {
        loss.conductance = Conductance::from_watts_per_kelvin(model.loss(&best.at));
        loss.se = Conductance::from_watts_per_kelvin(variance(j).sqrt());
    }
    let kettle = Kettle { loss, ..model.kettle };
    let mut track = Track::default();
    for (c, chain) in model.chains.iter().enumerate() {
        track.push_chain(chain, best.at[c], |k| model.coil(&best.at, k), kettle);
    }
    let doubted =
        best.residuals.iter().enumerate().filter(|&(i, &r)| robust::trust(r, model.sigma, model.doubts[i]) < 0.5);
    Solved {
        coils: model.coils.to_vec(),
        logs: logs.collect(),
        doubted: doubted.map(|(i, _)| indices[i]).collect(),
        track,
        loss,
        noise: model.sigma,
    }
}
