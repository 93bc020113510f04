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
mod outlook;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use time::{Duration, OffsetDateTime};

use super::BrewDay;
use super::chill::{Chill, LossFrom};
use super::choices::Cooling;
use super::day::CoolingStage;
use crate::science::chilling::Estimate;
use crate::science::chilling::fit::ChillFit;
use crate::science::chilling::hold::{Hold, PassingDip, Verdict};
use crate::science::chilling::learn;
use crate::science::chilling::live::NotYet;
use crate::science::chilling::series::Series;
use crate::science::units::{Conductance, TimeSpan};

pub use baths::{BathReady, BathsFrom};
pub use outlook::{Outlook, PathPoint, Short};

/// A reading older than this says nothing of what comes next (common practice, no source).
const STALE: Duration = Duration::minutes(30);
/// How far back the fall per minute is taken from.
const FALL_OVER_S: f64 = 180.0;
/// A wort so far above the room tells its kettle's loss in ten minutes.
const HOT_ENOUGH_K: f64 = 30.0;

/// The chill at a moment.
#[derive(Clone, Debug)]
pub struct ChillNow {
    /// The day's chill it is read from.
    pub chill: Arc<Chill>,
    /// The stages and the whole, fitted.
    pub fit: Arc<ChillFit>,
    /// Where the kettle's own loss is known from.
    pub loss_from: LossFrom,
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
    /// What the thermometer showed, corrected.
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
        let chilled = day.chilled()?;
        let (chill, fit) = (Arc::clone(&chilled.chill), Arc::clone(chilled.fit()));
        let loss_from = chill.loss_from(&fit);
        let over = over(day);
        let reading = reading(&chill, now);
        let hold = hold(&chill, chill.hold(), day);
        let (ready, ready_from) = baths::ready(day, &chill);
        // To the second: the wort moves by less than a twentieth of a degree in one.
        let now_since = TimeSpan::from_seconds((now - chill.zero).as_seconds_f64().floor());
        let outlook = if over.is_some() {
            Err(NotKnown::Over)
        } else if reading.is_some_and(|reading| reading.age > STALE) {
            Err(NotKnown::Stale)
        } else {
            let tell = || {
                let live = outlook::live_now(chilled, usual, now_since)?;
                Ok(outlook::outlook(day, &chill, &fit, &live, usual, &ready))
            };
            chilled.outlook_at(usual, now_since, tell).map_err(NotKnown::NotYet)
        };
        Some(Self { chill, fit, loss_from, reading, hold, over, outlook, ready, ready_from })
    }

    /// The stage under way, and its number from 1 among the baths if it is one.
    #[must_use]
    pub fn stage(&self) -> Option<(&CoolingStage, usize)> {
        let stage = self.chill.stages.last().filter(|stage| stage.ended.is_none())?;
        Some((stage, baths::used(&self.chill)))
    }

    /// While the kettle stands with the pump off to be measured, hot and in the
    /// air: when that began, and how many readings there are of it. None once
    /// they tell what it loses.
    #[must_use]
    pub fn standing(&self) -> Option<(OffsetDateTime, usize)> {
        let (stage, _) = self.stage().filter(|(stage, _)| stage.cooling.method == Cooling::Air)?;
        let index = self.chill.stages.len().checked_sub(1)?;
        let is_told = self.fit.stages.get(index).is_some_and(Result::is_ok);
        let room = self.chill.kettle.loss.room.celsius();
        let is_hot = self.reading.is_none_or(|reading| reading.wort_c > room + HOT_ENOUGH_K);
        let readings = self.chill.series.readings_in(index).len();
        (is_hot && !is_told).then_some((stage.started, readings))
    }

    /// Ice that went into the bath under way, kg.
    #[must_use]
    pub fn ice_put_in(&self) -> f64 {
        self.stage().map_or(0.0, |(stage, _)| stage.ice_kg())
    }
}

fn over(day: &BrewDay) -> Option<OffsetDateTime> {
    use super::choices::Stage as DayStage;
    let finished = day.events().rev().find_map(|entry| match entry.body {
        super::Body::StageFinished { stage: DayStage::Chill } => Some(Some(entry.at)),
        super::Body::StageStarted { stage: DayStage::Chill } => Some(None),
        _ => None,
    });
    day.pitched().map(|(at, _)| at).or(finished.flatten())
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
