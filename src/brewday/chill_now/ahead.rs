//! From the last reading to now: through whatever was done since.
//!
//! The conductance and the wort are known at the last reading. Between then and
//! now the coil may have moved to another bath, ice may have gone in, or the
//! coil may have come out; the closed forms carry the wort through each.

use crate::brewday::chill::Chill;
use crate::science::chilling::Estimate;
use crate::science::chilling::constants::ICE_TEMPERATURE;
use crate::science::chilling::fit::ChillFit;
use crate::science::chilling::live::{Live, NotYet, Source};
use crate::science::chilling::series::{Act, Method, Series};
use crate::science::chilling::stage::{Coolant, Kettle, Moment, Stage};
use crate::science::units::{Conductance, Mass, TimeSpan};

/// How much one bath differs from another with the same coil, and one day from
/// the next (common practice, no source).
const ANOTHER_BATH: f64 = 0.08;
/// Readings a new way of cooling needs before anything is known of it.
const FEWEST: usize = 3;

/// What happens to the wort between the reading and now.
#[derive(Clone, Copy, Debug)]
enum Turn {
    CoilOut,
    CoilIn(usize),
    Ice(Mass),
}

/// The wort as last read, with no coil in it yet.
///
/// # Errors
/// Nothing was read, or nothing is known of the coil.
pub(super) fn from_reading(chill: &Chill, fit: &ChillFit, usual: Option<Estimate>) -> Result<Live, NotYet> {
    let last = chill.series.readings().last().ok_or(NotYet::NoReading)?;
    if !chill.series.stages().iter().any(|stage| stage.started > last.at) {
        return Err(NotYet::NoStage);
    }
    let coil = usual.ok_or(NotYet::TooFewReadings { wanted: FEWEST })?;
    Ok(Live {
        at: last.at,
        moment: Moment { wort: last.wort, coolant: Coolant::Room },
        wort_se: fit.noise,
        coil,
        source: Source::Usual,
        kettle: Kettle { loss: fit.loss, ..chill.kettle },
    })
}

/// The chill brought from its last reading to `now`; `bath` is what the coil is
/// known to do in a bath, for a wort that stood in the air or ran past the tap.
///
/// # Errors
/// The coil is out, or too little is known of the bath it is in now.
pub(super) fn brought_to(
    live: &Live,
    series: &Series,
    bath: Option<(Estimate, Source)>,
    now: TimeSpan,
) -> Result<Live, NotYet> {
    let mut at = live.at;
    let mut moment = live.moment;
    let (mut known, mut source) = (live.coil, live.source);
    let mut coil = Some(known.conductance);
    let mut here = stage_at(series, at);
    if here.is_none() {
        coil = None;
    }
    for (time, turn) in turns(series, live.at, now) {
        moment = after(moment, live.kettle, coil, time - at);
        at = time;
        match turn {
            Turn::CoilOut => {
                coil = None;
                moment.coolant = Coolant::Room;
            }
            Turn::CoilIn(index) => {
                let stage = &series.stages()[index];
                moment.coolant = stage.coolant().map_err(NotYet::Coolant)?;
                if here.is_some_and(|before: usize| way(series.stages()[before].method) != way(stage.method)) {
                    let in_bath = bath.filter(|_| way(stage.method) == way(Method::StillBath));
                    (known, source) = in_bath.ok_or(NotYet::TooFewReadings { wanted: FEWEST })?;
                }
                (coil, here) = (Some(known.conductance), Some(index));
            }
            Turn::Ice(mass) => {
                if let Coolant::Bath(bath) = moment.coolant {
                    moment.coolant = Coolant::Bath(bath.with_ice(mass, ICE_TEMPERATURE));
                }
            }
        }
    }
    if coil.is_none() {
        return Err(NotYet::NoStage);
    }
    let moment = after(moment, live.kettle, coil, now - at);
    let moved = here != stage_at(series, live.at);
    let (coil, source) = match source {
        _ if !moved => (live.coil, live.source),
        Source::Usual => (known.widened(ANOTHER_BATH), Source::Usual),
        Source::ThisStage | Source::EarlierStages => (known.widened(ANOTHER_BATH), Source::EarlierStages),
    };
    Ok(Live { at: live.at.max(now), moment, coil, source, ..*live })
}

/// What was done after `from` and up to `now`, in order.
fn turns(series: &Series, from: TimeSpan, now: TimeSpan) -> Vec<(TimeSpan, Turn)> {
    let stages = || series.stages().iter().enumerate();
    let out = stages().filter_map(|(index, _)| Some((series.end_of(index)?, Turn::CoilOut)));
    let into = stages().map(|(index, stage)| (stage.started, Turn::CoilIn(index)));
    let ice = series.events().iter().filter_map(|event| match event.act {
        Act::IceAdded(mass) => Some((event.at, Turn::Ice(mass))),
        Act::Stirred => None,
    });
    // Stable: at one time the coil comes out before it goes in, and ice goes in last.
    let mut turns: Vec<_> = out.chain(into).chain(ice).filter(|(at, _)| *at > from && *at <= now).collect();
    turns.sort_by(|one, other| one.0.seconds().total_cmp(&other.0.seconds()));
    turns
}

/// The wort after some time; with the coil out the kettle's own loss is all there is.
fn after(moment: Moment, kettle: Kettle, coil: Option<Conductance>, lasts: TimeSpan) -> Moment {
    if lasts <= TimeSpan::ZERO {
        return moment;
    }
    let out = Moment { coolant: Coolant::Room, ..moment };
    match coil {
        Some(coil) => Stage::begin(moment, kettle, coil).at(lasts),
        None => Stage::begin(out, kettle, kettle.loss.conductance).at(lasts),
    }
}

/// The stage a time falls in.
pub(super) fn stage_at(series: &Series, at: TimeSpan) -> Option<usize> {
    let index = series.stages().iter().rposition(|stage| stage.started <= at)?;
    series.end_of(index).is_none_or(|end| end >= at).then_some(index)
}

/// Ways of cooling whose conductance tells nothing of another.
fn way(method: Method) -> u8 {
    match method {
        Method::StillBath | Method::IceBath => 0,
        Method::RunningWater => 1,
        Method::Air => 2,
    }
}
