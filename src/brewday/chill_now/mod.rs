//! The chill at this moment: everything the page beside the kettle says, in
//! figures and reasons. The words are the page's.
//!
//! Four questions, in the order they are asked with wet hands: is this reading
//! true yet ([`HoldNow`]), when am I there, what should I do now, and is it
//! enough ice ([`Outlook`]). Where one of them has no answer, [`NotKnown`] says
//! what is missing; nothing is guessed to fill the gap.
//!
//! [`ahead`] brings the last reading up to now: the coil may have moved since.

mod ahead;
mod baths;
#[cfg(test)]
mod tests;

use time::{Duration, OffsetDateTime};

use super::BrewDay;
use super::chill::Chill;
use super::choices::Cooling;
use super::day::CoolingStage;
use crate::science::chilling::Estimate;
use crate::science::chilling::advice::{self, Advice, Hand, Move, NoAdvice};
use crate::science::chilling::constants::ICE_TEMPERATURE;
use crate::science::chilling::exchange::{self, Limit};
use crate::science::chilling::fit::{ChillFit, Setting};
use crate::science::chilling::forecast::Forecast;
use crate::science::chilling::hold::{Hold, PassingDip, Verdict};
use crate::science::chilling::learn;
use crate::science::chilling::live::{self, Live, NotYet, Source};
use crate::science::chilling::remedies::ice_that_just_does;
use crate::science::chilling::series::Series;
use crate::science::chilling::stage::{Bath, Coolant, Moment, Stage};
use crate::science::units::{Conductance, FlowRate, Temperature, TemperatureDifference, TimeSpan};

pub use baths::{BathReady, BathsFrom};

/// A reading older than this says nothing of what comes next (common practice, no source).
const STALE: Duration = Duration::minutes(30);
/// A change of baths takes this long where no plan says otherwise (common practice, no source).
const CHANGE: TimeSpan = TimeSpan::from_seconds(60.0);
/// How far back the fall per minute is taken from.
const FALL_OVER_S: f64 = 180.0;
/// How far the forecast is drawn where the bath never gets there.
const DRAWN: TimeSpan = TimeSpan::from_seconds(15.0 * 60.0);
const DRAWN_MOST: TimeSpan = TimeSpan::from_seconds(60.0 * 60.0);
const DRAWN_POINTS: u8 = 12;
/// Ice to get beyond what would just do in the end: nobody waits for the end
/// (common practice, no source).
const ICE_TO_SPARE: f64 = 1.3;

/// The chill at a moment.
#[derive(Clone, Debug)]
pub struct ChillNow {
    /// The day's chill it is read from.
    pub chill: Chill,
    /// The stages and the whole, fitted.
    pub fit: ChillFit,
    /// The latest wort reading.
    pub reading: Option<ReadingNow>,
    /// How far the reading can be believed.
    pub hold: HoldNow,
    /// When the chill was over: the yeast went in, or the brewer said so.
    pub over: Option<OffsetDateTime>,
    /// What comes next, or why that can't be told.
    pub outlook: Result<Outlook, NotKnown>,
    /// Baths not used yet, in the order they are to be used.
    pub ready: Vec<BathReady>,
    /// Where those are known from.
    pub ready_from: BathsFrom,
}

/// The latest wort reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingNow {
    /// What the thermometer showed.
    pub wort_c: f64,
    /// When.
    pub at: OffsetDateTime,
    /// How long ago that is.
    pub age: Duration,
    /// How fast it falls; negative where it climbs, none of one reading.
    pub fall_c_per_min: Option<f64>,
    /// Time from the last bath change or stir to this reading.
    pub since_change: Option<TimeSpan>,
}

/// How far the hold has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldNow {
    /// The verdict at the latest reading.
    pub verdict: Verdict,
    /// A dip that passed within one pass of that reading.
    pub dip: Option<PassingDip>,
    /// One pass, where it is known.
    pub pass: Option<TimeSpan>,
    /// While holding: read again by then, or the hold starts again.
    pub read_by: Option<OffsetDateTime>,
    /// While holding: when a full pass will have gone by.
    pub full_at: Option<OffsetDateTime>,
    /// Whether a settled wort is in the yeast's range; none while it is not settled.
    pub in_range: Option<InRange>,
}

/// Where a settled wort stands to the yeast's range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InRange {
    /// Warmer than the warmest pitch.
    Above,
    /// In it.
    Within,
    /// Colder than the coldest pitch.
    Below,
}

/// What comes next.
#[derive(Clone, Debug)]
pub struct Outlook {
    /// When the wort is at its target in the bath it is in, from now.
    pub forecast: Forecast,
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

/// Why nothing can be said of what comes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotKnown {
    /// The chill is over.
    Over,
    /// The last reading is too old.
    Stale,
    /// Something is not logged yet.
    NotYet(NotYet),
}

/// What a coil usually does, from the conductances of its batches, newest first.
#[must_use]
pub fn usual(newest_first: impl IntoIterator<Item = f64>) -> Option<Estimate> {
    let mut last: Vec<Conductance> =
        newest_first.into_iter().take(learn::BATCHES).map(Conductance::from_watts_per_kelvin).collect();
    last.reverse();
    learn::usual(&last)
}

impl ChillNow {
    /// The chill of a day as it stands now; `usual` is what its coil does on
    /// other days. `None` before flame-out and the first cooling stage.
    #[must_use]
    pub fn of(day: &BrewDay, usual: Option<Estimate>, now: OffsetDateTime) -> Option<Self> {
        let chill = Chill::of(day)?;
        let fit = chill.fit();
        let over = over(day);
        let reading = reading(&chill, now);
        let hold = hold(&chill, chill.hold(), day);
        let (ready, ready_from) = baths::ready(day, &chill);
        let now_since = TimeSpan::from_seconds((now - chill.zero).as_seconds_f64());
        let outlook = if over.is_some() {
            Err(NotKnown::Over)
        } else if reading.is_some_and(|reading| reading.age > STALE) {
            Err(NotKnown::Stale)
        } else {
            live_now(&chill, &fit, usual, now_since)
                .map(|live| outlook(day, &chill, &fit, &live, usual, &ready))
                .map_err(NotKnown::NotYet)
        };
        Some(Self { chill, fit, reading, hold, over, outlook, ready, ready_from })
    }

    /// The stage under way, and its number from 1 among the baths if it is one.
    #[must_use]
    pub fn stage(&self) -> Option<(&CoolingStage, usize)> {
        let stage = self.chill.stages.last().filter(|stage| stage.ended.is_none())?;
        Some((stage, baths::used(&self.chill)))
    }

    /// Ice that went into the bath under way, kg.
    #[must_use]
    pub fn ice_put_in(&self) -> f64 {
        self.stage().map_or(0.0, |(stage, _)| stage.ice_kg())
    }
}

fn over(day: &BrewDay) -> Option<OffsetDateTime> {
    use super::choices::Stage as DayStage;
    let finished = day.standing.iter().rev().find_map(|entry| match entry.body {
        super::Body::StageFinished { stage: DayStage::Chill } => Some(Some(entry.at)),
        super::Body::StageStarted { stage: DayStage::Chill } => Some(None),
        _ => None,
    });
    day.pitched().map(|(at, _)| at).or(finished.flatten())
}

fn live_now(chill: &Chill, fit: &ChillFit, usual: Option<Estimate>, now: TimeSpan) -> Result<Live, NotYet> {
    let setting = Setting::new(chill.kettle, chill.pass);
    let at_reading = match live::live(&chill.series, &setting, usual) {
        // Read before the coil went in: what the coil does on other days carries it on.
        Err(NotYet::NoStage) => ahead::from_reading(chill, fit, usual)?,
        other => other?,
    };
    ahead::brought_to(&at_reading, &chill.series, now)
}

fn outlook(
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
        flow: flow.map(FlowRate::from_litres_per_minute),
    };
    let (advice, short) = with_ice(live, hand, ready);
    let forecast = live.forecast(target);
    let coil = live.coil.conductance;
    let lasts = match forecast {
        Forecast::Reaches { after, .. } => after.max(TimeSpan::from_minutes(1.0)),
        Forecast::There | Forecast::CannotReach { .. } => chill.pass.unwrap_or(DRAWN),
    };
    Outlook {
        advice,
        short,
        limited_by: match live.moment.coolant {
            Coolant::Room => Limit::Unknown,
            _ => exchange::limit(live.moment, live.kettle, coil, chill.flow_heat(), lasts, None),
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
fn with_ice(live: &Live, mut hand: Hand, ready: &[BathReady]) -> (Result<Advice, NoAdvice>, Option<Short>) {
    let plain = advice::advise(&Ok(*live), &hand);
    let Ok(Advice { coil: Move::FallsShort { coldest, .. }, .. }) = plain else { return (plain, None) };
    let (Some(last), Some(bath)) = (hand.baths.last().copied(), ready.last()) else { return (plain, None) };
    let kettle = live.kettle.lagged();
    let coil = live.coil.conductance;
    let earlier = hand.baths.iter().rev().skip(1).rev();
    let before = earlier.fold(Stage::begin(live.moment, kettle, coil).coldest(), |wort, bath| {
        let coolant = Coolant::Bath(Bath::of_water(bath.water, bath.at).with_ice(bath.ice, ICE_TEMPERATURE));
        Stage::begin(Moment { wort, coolant }, kettle, coil).coldest().min(wort)
    });
    let coolant = Coolant::Bath(Bath::of_water(last.water, last.at).with_ice(last.ice, ICE_TEMPERATURE));
    let Some(ice) = ice_that_just_does(Moment { wort: before, coolant }, kettle, coil, hand.target) else {
        return (plain, None);
    };
    let ice = ice * ICE_TO_SPARE;
    if let Some(last) = hand.baths.last_mut() {
        last.ice = last.ice + ice;
    }
    let short = Short { coldest_c: coldest.celsius(), ice_kg: ice.kilograms(), bath: bath.number };
    (advice::advise(&Ok(*live), &hand), Some(short))
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

fn reading(chill: &Chill, now: OffsetDateTime) -> Option<ReadingNow> {
    let readings = chill.series.readings();
    let last = readings.last()?;
    let at = chill.zero + Duration::seconds_f64(last.at.seconds());
    let disturbed = chill.series.last_disturbed(last.at);
    Some(ReadingNow {
        wort_c: last.wort.celsius(),
        at,
        age: (now - at).max(Duration::ZERO),
        fall_c_per_min: fall(&chill.series),
        since_change: disturbed.map(|since| last.at - since),
    })
}

/// The fall from the earliest of the readings of the last three minutes, or
/// from the one before the last, to the last.
fn fall(series: &Series) -> Option<f64> {
    let (last, earlier) = series.readings().split_last()?;
    let recent = earlier.partition_point(|reading| (last.at - reading.at).seconds() > FALL_OVER_S);
    let from = earlier.get(recent).or(earlier.last())?;
    let minutes = (last.at - from.at).minutes();
    (minutes > 0.0).then(|| (from.wort - last.wort).kelvins() / minutes)
}

fn hold(chill: &Chill, hold: Hold, day: &BrewDay) -> HoldNow {
    let last = chill.series.readings().last().map(|reading| reading.at);
    let at = |since: TimeSpan| chill.zero + Duration::seconds_f64(since.seconds());
    let holding = match hold.verdict {
        Verdict::Holding { held, pass: Some(pass) } => last.map(|last| (last, held, pass)),
        _ => None,
    };
    let recipe = &day.batch.recipe;
    let fresh = |dip: &PassingDip| last.zip(chill.pass).is_none_or(|(last, pass)| last - dip.climbed_at <= pass);
    HoldNow {
        verdict: hold.verdict,
        dip: hold.dip.filter(fresh),
        pass: chill.pass,
        read_by: holding.map(|(last, _, pass)| at(last + pass / 2.0)),
        full_at: holding.map(|(last, held, pass)| at(last - held + pass)),
        in_range: match hold.verdict {
            Verdict::Settled { wort, .. } if wort.celsius() > recipe.pitch_high_c => Some(InRange::Above),
            Verdict::Settled { wort, .. } if wort.celsius() < recipe.pitch_low_c => Some(InRange::Below),
            Verdict::Settled { .. } => Some(InRange::Within),
            _ => None,
        },
    }
}

fn is_bath(stage: &CoolingStage) -> bool {
    matches!(stage.cooling.method, Cooling::StillBath | Cooling::IceBath)
}
