//! What comes next: when the wort is there, what to do, what ice it takes.

use super::ahead;
use super::baths::BathReady;
use crate::brewday::BrewDay;
use crate::brewday::chill::Chill;
use crate::brewday::day::Chilled;
use crate::science::chilling::Estimate;
use crate::science::chilling::advice::{self, Advice, Hand, Move, NoAdvice};
use crate::science::chilling::constants::ICE_TEMPERATURE;
use crate::science::chilling::exchange::{self, Limit};
use crate::science::chilling::fit::ChillFit;
use crate::science::chilling::forecast::Forecast;
use crate::science::chilling::live::{Live, NotYet, Source};
use crate::science::chilling::remedies::ice_that_just_does;
use crate::science::chilling::stage::{Bath, Coolant, Moment, Stage};
use crate::science::units::{Conductance, FlowRate, Temperature, TemperatureDifference, TimeSpan};

/// A change of baths takes this long where no plan says otherwise (common practice, no source).
const CHANGE: TimeSpan = TimeSpan::from_seconds(60.0);
/// How far the forecast is drawn where the bath never gets there.
const DRAWN: TimeSpan = TimeSpan::from_seconds(15.0 * 60.0);
const DRAWN_MOST: TimeSpan = TimeSpan::from_seconds(60.0 * 60.0);
const DRAWN_POINTS: u8 = 12;
/// Ice to get beyond what would just do in the end: nobody waits for the end
/// (common practice, no source).
pub(super) const ICE_TO_SPARE: f64 = 1.3;

/// What comes next.
#[derive(Clone, Debug)]
pub struct Outlook {
    /// When the wort is at its target in the bath it is in, from now.
    pub forecast: Forecast,
    /// Soonest and latest time to the target by the best that can be done, one
    /// standard deviation; none where it is not reached, or may well never be.
    pub range: Option<(TimeSpan, Option<TimeSpan>)>,
    /// What to do, or why that can't be told.
    pub advice: Result<Advice, NoAdvice>,
    /// The coil in the stage under way.
    pub coil: Estimate,
    /// Where that is known from.
    pub source: Source,
    /// Where the baths at hand fall short: what ice would mend it. The advice is
    /// then for a last bath that was given it.
    pub short: Option<Short>,
    /// What holds the chill back now.
    pub limited_by: Limit,
    /// Coldest the coolant alone can get the wort, however long it stands.
    pub limit_c: f64,
    /// The wort's path from now on in this bath, for the picture.
    pub path: Vec<PathPoint>,
}

impl Outlook {
    /// Time to the target by the best that can be done; where that can't be told,
    /// in this bath. None where it is not reached, nil where it is.
    #[must_use]
    pub fn to_go(&self) -> Option<TimeSpan> {
        match (&self.advice, self.forecast) {
            (Ok(advice), _) => takes(&advice.coil),
            (Err(_), Forecast::There) => Some(TimeSpan::ZERO),
            (Err(_), Forecast::Reaches { after, .. }) => Some(after),
            (Err(_), Forecast::CannotReach { .. }) => None,
        }
    }
}

/// Time to the target that way.
fn takes(coil: &Move) -> Option<TimeSpan> {
    match *coil {
        Move::Done => Some(TimeSpan::ZERO),
        Move::ChangeNow { after, .. } | Move::Stay { after, .. } => Some(after),
        Move::FallsShort { .. } => None,
    }
}

/// The range of the time to go: advised again with the coil off by its standard
/// error both ways. The kettle's loss is in that error already, and the
/// thermometer's own is a tenth of it.
fn range(live: &Live, hand: &Hand) -> Option<(TimeSpan, Option<TimeSpan>)> {
    let with = |conductance: Conductance| {
        let coil = Estimate { conductance: conductance.max(Conductance::ZERO), ..live.coil };
        // How unsure it is was judged before: here it is only moved.
        let moved = Live { coil: Estimate { se: Conductance::ZERO, ..coil }, ..*live };
        takes(&advice::advise(&Ok(moved), hand).ok()?.coil)
    };
    let Estimate { conductance, se } = live.coil;
    Some((with(conductance + se)?, with(conductance - se)))
}

/// Baths that fall short of the target as they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    /// The coldest they get the wort.
    pub coldest_c: f64,
    /// Ice to be put in the last of them.
    pub ice_kg: f64,
    /// That bath's place among the day's baths, from 1.
    pub bath: usize,
}

/// A point of the path to come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathPoint {
    /// Minutes since the count began.
    pub minutes: f64,
    /// One standard deviation low.
    pub low_c: f64,
    /// The best that is known.
    pub likely_c: f64,
    /// One standard deviation high.
    pub high_c: f64,
}

pub(super) fn live_now(chilled: &Chilled, usual: Option<Estimate>, now: TimeSpan) -> Result<Live, NotYet> {
    let (chill, fit) = (&chilled.chill, chilled.fit());
    let at_reading = match chilled.at_reading(usual) {
        // Read before the coil went in: what the coil does on other days carries it on.
        Err(NotYet::NoStage) => ahead::from_reading(chill, fit, usual)?,
        other => stirred(other?, chill),
    };
    let bath = fit.joint.as_ref().ok().map(|joint| (joint.coil, Source::EarlierStages));
    let bath = bath.or(usual.map(|usual| (usual, Source::Usual)));
    ahead::brought_to(&at_reading, &chill.series, bath, now)
}

/// After a stir that helped, the coil is what it has been since.
fn stirred(live: Live, chill: &Chill) -> Live {
    let here = ahead::stage_at(&chill.series, live.at).filter(|&index| chill.is_stirred(index));
    match here.and_then(|index| chill.stir_gain(index)) {
        Some((_, since)) => Live { coil: since, source: Source::ThisStage, ..live },
        None => live,
    }
}

/// What a stir brought in an earlier bath, where the coil stands in one that was
/// not stirred yet.
fn stirred_before(chill: &Chill) -> Option<(Estimate, Estimate)> {
    let now = chill.stages.len().checked_sub(1).filter(|&now| !chill.is_stirred(now))?;
    (0..now).rev().filter(|&index| chill.is_stirred(index)).find_map(|index| chill.stir_gain(index))
}

pub(super) fn outlook(
    day: &BrewDay,
    chill: &Chill,
    fit: &ChillFit,
    live: &Live,
    usual: Option<Estimate>,
    ready: &[BathReady],
) -> Outlook {
    let target = Temperature::from_celsius(day.batch.recipe.target_pitch_c);
    let flow = chill.stages.last().and_then(|stage| stage.cooling.flow_l_min);
    let hand = Hand {
        target,
        baths: ready.iter().map(BathReady::at_hand).collect(),
        change: day.batch.chill_plan.as_ref().map_or(CHANGE, |kept| TimeSpan::from_minutes(kept.request.change_min)),
        usual,
        own: fit.stages.last().and_then(|stage| stage.as_ref().ok()).map(|stage| stage.coil),
        stirred: stirred_before(chill),
        flow: flow.map(FlowRate::from_litres_per_minute),
    };
    let (hand, advice, short) = with_ice(live, hand, ready);
    let range = advice.as_ref().ok().and_then(|advice| takes(&advice.coil)).and_then(|_| range(live, &hand));
    let forecast = live.forecast(target);
    let coil = live.coil.conductance;
    let lasts = match forecast {
        Forecast::Reaches { after, .. } => after.max(TimeSpan::from_minutes(1.0)),
        Forecast::There | Forecast::CannotReach { .. } => chill.pass.unwrap_or(DRAWN),
    };
    Outlook {
        range,
        advice,
        short,
        limited_by: match live.moment.coolant {
            Coolant::Room => Limit::Unknown,
            // A bath that needs a stir is held back by that, and no longer once it got one.
            _ => exchange::limit(live.moment, live.kettle, coil, chill.flow_heat(), lasts, hand.stirred),
        },
        limit_c: Stage::begin(live.moment, live.kettle.lagged(), coil).coldest().celsius(),
        path: path(live, forecast),
        coil: live.coil,
        source: live.source,
        forecast,
    }
}

/// Advice for the baths at hand; where they fall short, for a last bath with the
/// ice that mends it.
fn with_ice(live: &Live, mut hand: Hand, ready: &[BathReady]) -> (Hand, Result<Advice, NoAdvice>, Option<Short>) {
    let plain = advice::advise(&Ok(*live), &hand);
    let Ok(Advice { coil: Move::FallsShort { coldest, .. }, .. }) = plain else { return (hand, plain, None) };
    let (Some(last), Some(bath)) = (hand.baths.last().copied(), ready.last()) else { return (hand, plain, None) };
    let kettle = live.kettle.lagged();
    let coil = live.coil.conductance;
    let earlier = hand.baths.iter().rev().skip(1).rev();
    let before = earlier.fold(Stage::begin(live.moment, kettle, coil).coldest(), |wort, bath| {
        let coolant = Coolant::Bath(Bath::of_water(bath.water, bath.at).with_ice(bath.ice, ICE_TEMPERATURE));
        Stage::begin(Moment { wort, coolant }, kettle, coil).coldest().min(wort)
    });
    let coolant = Coolant::Bath(Bath::of_water(last.water, last.at).with_ice(last.ice, ICE_TEMPERATURE));
    let Some(ice) = ice_that_just_does(Moment { wort: before, coolant }, kettle, coil, hand.target) else {
        return (hand, plain, None);
    };
    let ice = ice * ICE_TO_SPARE;
    if let Some(last) = hand.baths.last_mut() {
        last.ice = last.ice + ice;
    }
    let short = Short { coldest_c: coldest.celsius(), ice_kg: ice.kilograms(), bath: bath.number };
    let advice = advice::advise(&Ok(*live), &hand);
    (hand, advice, Some(short))
}

/// The path in this bath with conductance and wort each off by their error.
fn path(live: &Live, forecast: Forecast) -> Vec<PathPoint> {
    let until = match forecast {
        Forecast::Reaches { after, latest, .. } => latest.unwrap_or(after) * 1.1,
        Forecast::There | Forecast::CannotReach { .. } => DRAWN,
    };
    let until = until.max(TimeSpan::from_minutes(4.0)).min(DRAWN_MOST);
    let off_by = |wort: TemperatureDifference, coil: Conductance| {
        let from = Moment { wort: live.moment.wort + wort, ..live.moment };
        Stage::begin(from, live.kettle, coil.max(Conductance::ZERO))
    };
    let Estimate { conductance, se } = live.coil;
    let likely = off_by(TemperatureDifference::ZERO, conductance);
    let low = off_by(-live.wort_se, conductance + se);
    let high = off_by(live.wort_se, conductance - se);
    (0..=DRAWN_POINTS)
        .map(|step| {
            let after = until * (f64::from(step) / f64::from(DRAWN_POINTS));
            let at = |stage: &Stage| stage.at(after).wort.celsius();
            PathPoint {
                minutes: (live.at + after).minutes(),
                low_c: at(&low),
                likely_c: at(&likely),
                high_c: at(&high),
            }
        })
        .collect()
}
