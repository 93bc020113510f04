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
//! readings at the end of one stage pin the start of the next. In a stage in air
//! the loss is all there is: two readings ten minutes apart measure it.
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

use super::constants::ICE_TEMPERATURE;
use super::estimate::Estimate;
use super::search::{Ask, Solved, solve};
use super::series::{Act, Method, Series, Unknown};
use super::stage::{Coolant, Kettle, Loss, Moment, Stage};
use super::trajectory::{Track, is_near};
use crate::science::units::{Conductance, Temperature, TemperatureDifference, TimeSpan};

/// Fewest readings in a stage that a conductance is fitted to.
pub const FEWEST_READINGS: usize = 3;

/// The same in air, where nothing but the loss is asked for.
pub const FEWEST_IN_AIR: usize = 2;
/// A loss less sure than this says little more than what is assumed of any
/// kettle (± 3.5 W/K), and is not said to be measured.
const LOSS_LEAST_SURE: Conductance = Conductance::from_watts_per_kelvin(2.0);

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
    /// Standard deviation of the room's temperature: it tells how far a kettle
    /// that cools by itself can be believed.
    pub room_se: TemperatureDifference,
}

impl Setting {
    /// A kitchen thermometer read by hand: 0.3 K, and a room known to 0.5 K
    /// (common practice, no source); start free.
    #[must_use]
    pub const fn new(kettle: Kettle, pass: Option<TimeSpan>) -> Self {
        Self {
            kettle,
            pass,
            noise: TemperatureDifference::from_kelvins(0.3),
            start: Start::Free,
            room_se: TemperatureDifference::from_kelvins(0.5),
        }
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
    /// Conductance of the coil in this stage; in air, of the kettle to the room,
    /// by the readings alone.
    pub coil: Estimate,
    /// The coldest the bath would have made the wort, however long, with all the
    /// ice it was given and without the room's help.
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
    /// The kettle's loss as measured by a stage in air, where there was one that
    /// tells: without what was believed of it, so that other days can learn from it.
    #[must_use]
    pub fn loss_from_air(&self, series: &Series, room: Temperature) -> Option<Loss> {
        let stages = series.stages().iter().zip(&self.stages);
        // Every stage in air tells the same loss, so the surest is all of them.
        let measured = stages.filter_map(|(stage, fit)| match (stage.method, fit) {
            (Method::Air, Ok(fit)) => Some(fit.coil),
            _ => None,
        });
        let best = measured.min_by(|one, other| one.relative_se().total_cmp(&other.relative_se()))?;
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
    let per_stage = solve(series, setting, |i| (counts[i] >= FEWEST_READINGS).then_some(i), Ask::EachStage);
    let stages = series.stages().iter().enumerate().map(|(i, stage)| {
        stage.coolant().map_err(NoFit::Coolant)?;
        let fewest = if stage.method == Method::Air { FEWEST_IN_AIR } else { FEWEST_READINGS };
        if counts[i] < fewest {
            return Err(NoFit::TooFewReadings { have: counts[i] });
        }
        let solved = per_stage.as_ref().ok_or(NoFit::Undetermined)?;
        stage_fit(solved, series, setting, i)
    });
    let stages = stages.collect();
    let (track, loss, noise) = match &per_stage {
        Some(solved) => (solved.track.clone(), solved.loss, solved.noise),
        None => (Track::default(), setting.kettle.loss, setting.noise.kelvins()),
    };
    ChillFit {
        stages,
        joint: one_for_all(series, setting, per_stage.as_ref()),
        track,
        loss,
        noise: TemperatureDifference::from_kelvins(noise),
    }
}

/// One conductance over all coil stages.
fn one_for_all(series: &Series, setting: &Setting, near: Option<&Solved>) -> Result<JointFit, NoFit> {
    // Tap water to begin with and a last short bath: the tap is what tells.
    let read_in_baths: usize = (0..series.stages().len())
        .filter(|&i| is_bath(series.stages()[i].method))
        .map(|i| series.readings_in(i).len())
        .sum();
    let running = series.stages().iter().any(|s| s.method == Method::RunningWater);
    let baths = read_in_baths >= FEWEST_READINGS || (!running && series.stages().iter().any(|s| is_bath(s.method)));
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
    if have < FEWEST_READINGS {
        return Err(NoFit::TooFewReadings { have });
    }
    let near = near.and_then(|near| Some((near, near.middle_log(&chosen)?)));
    let ask = Ask::OneForAll { near };
    // The other stages keep a conductance of their own: the wort goes on through them.
    let own = |i: usize| (series.readings_in(i).len() >= FEWEST_READINGS).then_some(i + 1);
    let solved = solve(series, setting, |i| if chosen.contains(&i) { Some(0) } else { own(i) }, ask);
    let solved = solved.ok_or(NoFit::Undetermined)?;
    Ok(JointFit { coil: solved.coil(0)?, track: solved.track })
}

/// The conductance before and after the last stir of a stage: where the second is
/// clearly larger, still water at the coil was what held the chill back.
///
/// `None` unless there was a stir with [`FEWEST_READINGS`] on both sides of it.
#[must_use]
pub fn stir_gain(series: &Series, setting: &Setting, index: usize) -> Option<(Estimate, Estimate)> {
    let within = series.readings_in(index);
    let stage = series.stages().get(index)?;
    let end = series.end_of(index);
    let stirs = series.events().iter().filter(|e| e.act == Act::Stirred).map(|e| e.at);
    let mut mine = stirs.filter(|&at| at > stage.started && end.is_none_or(|end| at < end));
    let at = mine.next_back()?;
    let before = within.iter().filter(|r| r.at < at).count();
    if before < FEWEST_READINGS || within.len() - before < FEWEST_READINGS {
        return None;
    }
    let enough = |i: usize| series.readings_in(i).len() >= FEWEST_READINGS;
    let ask = Ask::Split { at: at.seconds() };
    let solved = solve(series, setting, |i| enough(i).then_some(i), ask)?;
    Some((solved.coil(index).ok()?, solved.coil(series.stages().len()).ok()?))
}

pub(super) fn is_bath(method: Method) -> bool {
    matches!(method, Method::StillBath | Method::IceBath)
}

fn stage_fit(solved: &Solved, series: &Series, setting: &Setting, index: usize) -> Result<StageFit, NoFit> {
    let kettle = setting.kettle;
    let coil = match series.stages()[index].method {
        Method::Air => loss_in_air(solved, series, setting, index)?,
        _ => solved.coil(index)?,
    };
    let starts = series.stages()[index].started;
    let within = series.readings_in(index);
    let first = series.readings().partition_point(|r| r.at < starts);
    let mine = first..first + within.len();
    let moment = solved.track.at(starts).ok_or(NoFit::Undetermined)?;
    Ok(StageFit {
        coil,
        limit: limit(moment.wort, series, index, kettle, coil.conductance)?,
        wort_at_start: moment.wort,
        readings: within.len(),
        doubted: solved.doubted.iter().copied().filter(|i| mine.contains(i)).collect(),
    })
}

/// The kettle's loss by the readings of a stage in air: as unsure as the
/// thermometer, and as the room's temperature, which nearer to it matters more.
fn loss_in_air(solved: &Solved, series: &Series, setting: &Setting, index: usize) -> Result<Estimate, NoFit> {
    let room = setting.kettle.loss.room;
    let above = series.readings_in(index).iter().map(|reading| reading.wort.celsius());
    let above: Vec<f64> = above.filter(|&c| !is_near(room, c)).map(|c| (c - room.celsius()).abs()).collect();
    if above.len() < FEWEST_IN_AIR {
        return Err(NoFit::Undetermined);
    }
    let middle = above.iter().sum::<f64>() / above.len() as f64;
    let read = solved.loss_read.ok_or(NoFit::Undetermined)?.widened(setting.room_se.kelvins() / middle);
    if read.conductance > Conductance::ZERO && read.se < LOSS_LEAST_SURE { Ok(read) } else { Err(NoFit::Undetermined) }
}

/// Where the bath alone would have taken the wort.
fn limit(
    wort: Temperature,
    series: &Series,
    index: usize,
    kettle: Kettle,
    coil: Conductance,
) -> Result<Temperature, NoFit> {
    let stage = &series.stages()[index];
    let within = |at: TimeSpan| at >= stage.started && series.end_of(index).is_none_or(|end| at < end);
    let coolant = match stage.coolant().map_err(NoFit::Coolant)? {
        Coolant::Bath(bath) => Coolant::Bath(series.events().iter().fold(bath, |bath, event| match event.act {
            Act::IceAdded(mass) if within(event.at) => bath.with_ice(mass, ICE_TEMPERATURE),
            _ => bath,
        })),
        other => other,
    };
    Ok(Stage::begin(Moment { wort, coolant }, kettle.lagged(), coil).coldest())
}
