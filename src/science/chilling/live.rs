//! Where the chill stands now, from the best that is known.
//!
//! While a stage has its three readings, its own conductance leads, steadied by
//! the earlier stages of the day and by what the coil has shown before; until
//! then those two stand in for it, and where there is neither, nothing is said.

use super::estimate::Estimate;
use super::fit::{ChillFit, JointFit, NoFit, Setting, fit_joint};
use super::learn::DAY_TO_DAY;
use super::series::{Method, Series, Unknown};
use super::stage::{Kettle, Moment};
use crate::science::units::{TemperatureDifference, TimeSpan};

/// How much one bath's conductance differs from another's with the same coil on
/// the same day: how it hangs, how the water moves (common practice, no source).
const BATH_TO_BATH: f64 = 0.08;

/// Where the conductance comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The readings of the stage under way.
    ThisStage,
    /// The stages of the day so far.
    EarlierStages,
    /// The coil's earlier batches, or a stated default.
    Usual,
}

/// The chill at its latest reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Live {
    /// Time since flame-out.
    pub at: TimeSpan,
    /// Wort and coolant.
    pub moment: Moment,
    /// Standard error of the wort's temperature.
    pub wort_se: TemperatureDifference,
    /// Conductance of the coil in the stage under way.
    pub coil: Estimate,
    /// Where that comes from.
    pub source: Source,
    /// Kettle, with the loss as the readings leave it.
    pub kettle: Kettle,
}

/// Why nothing can be said of the chill as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotYet {
    /// No wort temperature has been read.
    NoReading,
    /// No cooling stage is under way.
    NoStage,
    /// The bath's record has a hole.
    Coolant(Unknown),
    /// Fewer readings than a conductance takes, and nothing known beforehand.
    TooFewReadings {
        /// How many more would do.
        wanted: usize,
    },
    /// The readings leave the conductance too open.
    Undetermined,
}

/// Puts the present together: the day's fit, and the coil's usual conductance
/// where there is one.
///
/// # Errors
/// What is missing, as [`NotYet`].
pub fn live(series: &Series, setting: &Setting, fit: &ChillFit, usual: Option<Estimate>) -> Result<Live, NotYet> {
    let at = series.readings().last().ok_or(NotYet::NoReading)?.at;
    let now = series.stages().iter().rposition(|s| s.started <= at).ok_or(NotYet::NoStage)?;
    if series.end_of(now).is_some_and(|end| end < at) {
        return Err(NotYet::NoStage);
    }
    series.stages()[now].coolant().map_err(NotYet::Coolant)?;
    let kettle = Kettle { loss: fit.loss, ..setting.kettle };
    let wort_se = fit.noise / (1.0 + series.readings_in(now).len() as f64).sqrt();
    let earlier = earlier_stages(series, fit, now);
    let believed = match (earlier, usual) {
        (Some(day), Some(usual)) => Some(day.combined(usual.widened(DAY_TO_DAY))),
        (day, usual) => day.or(usual.map(|u| u.widened(DAY_TO_DAY))),
    };
    if let Ok(own) = &fit.stages[now]
        && let Some(moment) = fit.track.at(at)
    {
        let believed = believed.filter(|_| series.stages()[now].method != Method::Air);
        let coil = believed.map_or(own.coil, |b| own.coil.combined(b));
        return Ok(Live { at, moment, wort_se, coil, source: Source::ThisStage, kettle });
    }
    let source = if earlier.is_some() { Source::EarlierStages } else { Source::Usual };
    let joint: JointFit = fit_joint(series, setting, believed).map_err(|why| match why {
        NoFit::Coolant(unknown) => NotYet::Coolant(unknown),
        NoFit::TooFewReadings { have } => NotYet::TooFewReadings { wanted: 3_usize.saturating_sub(have) },
        NoFit::Undetermined => NotYet::Undetermined,
        NoFit::NoStage => NotYet::NoStage,
    })?;
    let moment = joint.track.at(at).ok_or(NotYet::Undetermined)?;
    Ok(Live { at, moment, wort_se, coil: joint.coil.widened(BATH_TO_BATH), source, kettle })
}

/// What the earlier stages of the same kind say of the coil.
fn earlier_stages(series: &Series, fit: &ChillFit, now: usize) -> Option<Estimate> {
    let kind = |m: Method| match m {
        Method::StillBath | Method::IceBath => 0,
        Method::RunningWater => 1,
        Method::Air => 2,
    };
    let mine = kind(series.stages()[now].method);
    let same = series.stages()[..now].iter().zip(&fit.stages).filter(|(s, _)| kind(s.method) == mine);
    let fitted = same.filter_map(|(_, f)| f.as_ref().ok()).map(|f| f.coil.widened(BATH_TO_BATH));
    fitted.reduce(Estimate::combined)
}
