//! Stay, or change the bath now?
//!
//! # What for
//! The person at the kettle sees a bath that grows warm and a row of fresh ones.
//! Changing too early wastes a bath's capacity and a minute with the coil out;
//! changing too late wastes minutes in water that no longer takes heat.
//!
//! # How
//! From the wort and the bath as they are now, the quickest way to the target is
//! sought twice: with the coil moved at once, and with the best time to move it
//! left open. The difference is what the advice is worth. It is only given for a
//! conductance that the day's readings, or the coil's record, support: otherwise
//! [`NoAdvice`] says what is missing.
//!
//! Advice is figures and a reason, no sentences; the page words it.

use super::constants::ICE_TEMPERATURE;
use super::estimate::Estimate;
use super::forecast::WITH_THE_ROOM;
use super::law::Ways;
use super::live::{Live, NotYet};
use super::plan::BathAtHand;
use super::remedies::{IceNow, StirNow, WaterCost, ice_now, ice_that_just_does, stir_now, water_cost};
use super::schedule::{Job, Turn};
use super::stage::{Bath, Coolant, raw};
use crate::science::units::{FlowRate, Mass, Temperature, TimeSpan};

/// A conductance less sure than this, as a share of itself, carries no advice.
pub const LEAST_SURE: f64 = 0.25;
/// Sooner than this is now: nobody changes a bath to the second.
const NOW: TimeSpan = TimeSpan::from_seconds(20.0);
const LONGEST_STAY: f64 = 2400.0;
const LONGEST_LAST: f64 = 4.0 * 3600.0;

/// What to do with the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Move {
    /// The wort is at its target.
    Done,
    /// Move the coil to another bath.
    ChangeNow {
        /// Which of the baths that are ready, counted from nil.
        to: usize,
        /// Time to the target that way, change included.
        after: TimeSpan,
        /// What it saves against staying to the end in this bath; `None` where
        /// this bath cannot get there at all.
        saves: Option<TimeSpan>,
    },
    /// Stay for now.
    Stay {
        /// The change to come; `None`: stay to the end.
        change: Option<NextChange>,
        /// Time to the target that way.
        after: TimeSpan,
        /// What it saves against changing now; `None` where there is no other bath
        /// that would do.
        saves: Option<TimeSpan>,
    },
    /// Neither this bath nor the ones at hand reach the target.
    FallsShort {
        /// The coldest that can be had by long stays in all of them.
        coldest: Temperature,
        /// Ice that would do, in this bath, if any amount does.
        ice_needed: Option<Mass>,
    },
}

/// A change that is best made later.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NextChange {
    /// From now.
    pub after: TimeSpan,
    /// Which of the baths that are ready, counted from nil.
    pub to: usize,
}

/// Everything that can be said of the bath now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Advice {
    /// What to do with the coil.
    pub coil: Move,
    /// Ice, where the coil stands in a bath.
    pub ice: Option<IceNow>,
    /// A stir, where it would help.
    pub stir: Option<StirNow>,
    /// Cost of running water, where it runs and its flow is known.
    pub water: Option<WaterCost>,
}

/// Why there is no advice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoAdvice {
    /// The chill as it stands is not known.
    NotYet(NotYet),
    /// The conductance is known, but too badly to say when to change.
    TooUnsure(Estimate),
}

/// What the brewer has and wants.
#[derive(Clone, Debug, PartialEq)]
pub struct Hand {
    /// Where the wort is to be.
    pub target: Temperature,
    /// Baths that are ready, in order.
    pub baths: Vec<BathAtHand>,
    /// What a change costs.
    pub change: TimeSpan,
    /// What the coil usually does in a bath: its record, or the day's other stages.
    pub usual: Option<Estimate>,
    /// What this stage's own readings say of it, from the fit.
    pub own: Option<Estimate>,
    /// What a stir did to `K` earlier on the day, before and after, where it
    /// [helped](super::exchange::stir_helped) and the bath under way was not stirred yet.
    pub stirred: Option<(Estimate, Estimate)>,
    /// Flow of the running water.
    pub flow: Option<FlowRate>,
}

/// Advice for the chill as it stands.
///
/// # Errors
/// [`NoAdvice`], never a guess.
pub fn advise(live: &Result<Live, NotYet>, hand: &Hand) -> Result<Advice, NoAdvice> {
    let live = live.as_ref().map_err(|why| NoAdvice::NotYet(*why))?;
    if live.coil.relative_se().is_nan() || live.coil.relative_se() > LEAST_SURE {
        return Err(NoAdvice::TooUnsure(live.coil));
    }
    let coil = best_move(live, hand);
    let bath = match live.moment.coolant {
        Coolant::Bath(bath) => Some(bath),
        Coolant::Stream(_) | Coolant::Room => None,
    };
    Ok(Advice {
        coil,
        ice: bath.map(|bath| ice_now(live, bath, hand.target)),
        stir: bath.and_then(|_| stir_now(live, hand)),
        water: hand.flow.and_then(|flow| water_cost(live, hand.target, flow)),
    })
}

fn best_move(live: &Live, hand: &Hand) -> Move {
    let wort = live.moment.wort.celsius();
    let target = hand.target.celsius();
    if wort <= target {
        return Move::Done;
    }
    let row = row(live, hand);
    // What the baths can do, and not the room given hours.
    let lagged = Live { kettle: live.kettle.lagged(), ..*live };
    let coldest = coldest(wort, &self::row(&lagged, hand));
    let in_time = |time: &f64| coldest <= target || *time <= WITH_THE_ROOM.seconds();
    // With the coil out the kettle loses heat whatever takes it in this stage.
    let loss = live.kettle.loss.conductance.watts_per_kelvin();
    let out = Ways { loss, ..row[0].ways };
    let change = hand.change.seconds().max(0.0);
    let job = Job::new(target, change, &out, LONGEST_STAY, LONGEST_LAST);
    let here_only = row[0].from(wort).reaches(target).filter(|&t| t <= LONGEST_LAST);
    let (open, moved) = job.stay_or_change(wort, &row);
    let (open, moved) = (open.filter(|(_, time)| in_time(time)), moved.filter(|(_, time)| in_time(time)));
    let seconds = TimeSpan::from_seconds;
    let moved = moved.map(|(legs, time)| (legs[0].bath - 1, time));
    let stay = open.map(|(legs, time)| {
        // The first leg is the bath the coil is in.
        let change = legs.get(1).map(|next| NextChange { after: seconds(legs[0].lasts), to: next.bath - 1 });
        (change, time)
    });
    match (stay, moved) {
        (Some((change, time)), Some((to, moved))) => {
            let soon = change.is_some_and(|c| c.after <= NOW);
            if soon || moved <= time {
                let saves = here_only.map(|t| seconds(t - moved));
                Move::ChangeNow { to, after: seconds(moved), saves }
            } else {
                Move::Stay { change, after: seconds(time), saves: Some(seconds(moved - time)) }
            }
        }
        (Some((change, time)), None) => Move::Stay { change, after: seconds(time), saves: None },
        (None, Some((to, moved))) => Move::ChangeNow { to, after: seconds(moved), saves: None },
        (None, None) => Move::FallsShort {
            coldest: Temperature::from_celsius(coldest),
            ice_needed: ice_that_just_does(live.moment, lagged.kettle, live.coil.conductance, hand.target),
        },
    }
}

/// The coolant under way, and the baths that are ready.
fn row(live: &Live, hand: &Hand) -> Vec<Turn> {
    let (cold, ways) = raw(live.moment.coolant, live.kettle, live.coil.conductance);
    let mut row = vec![Turn { cold, ways }];
    // A kettle in the room, or a coil with water running through it, does not
    // tell what the coil will do in a bath: only its record does.
    let coil = match live.moment.coolant {
        Coolant::Bath(_) => Some(live.coil),
        Coolant::Stream(_) | Coolant::Room => hand.usual,
    };
    let Some(coil) = coil else { return row };
    row.extend(hand.baths.iter().map(|b| {
        let bath = Bath::of_water(b.water, b.at).with_ice(b.ice, ICE_TEMPERATURE);
        let (cold, ways) = raw(Coolant::Bath(bath), live.kettle, coil.conductance);
        Turn { cold, ways }
    }));
    row
}

/// Wort after long stays in the whole row.
fn coldest(wort: f64, row: &[Turn]) -> f64 {
    row.iter().fold(wort, |wort, turn| {
        let (coldest, _) = turn.from(wort).coldest();
        coldest.min(wort)
    })
}
