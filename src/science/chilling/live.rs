//! Where the chill stands now, from the best that is known.
//!
//! The fit of [`fit`](super::fit) gives each stage what its own readings say. At
//! the kettle the best guess is wanted instead: the same readings, with a belief
//! that the coil does in this bath about what it did in the last (± 8 %) and on
//! other days (its record, ± 8 % more) [Gelman-2013, ch. 5]. With many readings
//! they lead; with one or two the belief does; with neither nothing is said.

use super::estimate::Estimate;
use super::fit::{FEWEST_READINGS, Setting, is_bath};
use super::learn::{DAY_TO_DAY, without_record};
use super::search::{Ask, solve};
use super::series::{Method, Series, Unknown};
use super::stage::{Kettle, Moment};
use crate::science::units::{TemperatureDifference, TimeSpan};

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

/// Puts the present together from the readings and the coil's usual conductance,
/// where there is one.
///
/// # Errors
/// What is missing, as [`NotYet`].
pub fn live(series: &Series, setting: &Setting, usual: Option<Estimate>) -> Result<Live, NotYet> {
    let at = series.readings().last().ok_or(NotYet::NoReading)?.at;
    let now = series.stages().iter().rposition(|s| s.started <= at).ok_or(NotYet::NoStage)?;
    if series.end_of(now).is_some_and(|end| end < at) {
        return Err(NotYet::NoStage);
    }
    let stages = series.stages();
    stages[now].coolant().map_err(NotYet::Coolant)?;
    let known = |&i: &usize| stages[i].coolant().is_ok();
    let same: Vec<usize> =
        (0..=now).filter(|&i| kind(stages[i].method) == kind(stages[now].method)).filter(known).collect();
    let count = |i: usize| series.readings_in(i).len();
    let have: usize = same.iter().map(|&i| count(i)).sum();
    let in_air = stages[now].method == Method::Air;
    let ask = match usual {
        // A kettle left in the room shows no coil, and its own loss is believed
        // to be something before it is read.
        _ if in_air => Ask::EachStage,
        Some(usual) if !in_air => Ask::Steadied { same: &same, usual: usual.widened(DAY_TO_DAY) },
        // Three readings with a dip among them can be far off: even what coils are
        // like in general steadies them.
        _ if have >= FEWEST_READINGS => Ask::Steadied { same: &same, usual: without_record(setting.kettle.wort) },
        _ => {
            return Err(NotYet::TooFewReadings { wanted: FEWEST_READINGS - have });
        }
    };
    let coil_of = |i: usize| {
        let fits = count(i) >= FEWEST_READINGS || (same.contains(&i) && !in_air);
        (i <= now && fits).then_some(i)
    };
    let solved = solve(series, setting, coil_of, ask).ok_or(NotYet::Undetermined)?;
    let source = match count(now) {
        n if n >= FEWEST_READINGS => Source::ThisStage,
        n if have > n => Source::EarlierStages,
        _ => Source::Usual,
    };
    Ok(Live {
        at,
        moment: solved.track.at(at).ok_or(NotYet::Undetermined)?,
        wort_se: TemperatureDifference::from_kelvins(solved.noise / (1.0 + count(now) as f64).sqrt()),
        coil: match in_air {
            true => Estimate { conductance: solved.loss.conductance, se: solved.loss.se },
            false => solved.coil(now).map_err(|_| NotYet::Undetermined)?,
        },
        source,
        kettle: Kettle { loss: solved.loss, ..setting.kettle },
    })
}

/// Ways of cooling in which the same coil has the same conductance.
fn kind(method: Method) -> Method {
    if is_bath(method) { Method::StillBath } else { method }
}
