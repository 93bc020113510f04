//! Ice, a stir, less water: what else would help the bath that is under way.
//!
//! All three ask the stage's closed form again with something changed, and say
//! what it would bring; [`advice`](super::advice) decides when to ask.

use super::advice::Hand;
use super::constants::{ICE_LATENT, ICE_TEMPERATURE, WATER_SPECIFIC};
use super::estimate::Estimate;
use super::exchange;
use super::live::Live;
use super::stage::{Bath, Coolant, Kettle, Moment, Stage};
use crate::science::units::{Conductance, FlowRate, Mass, Temperature, TimeSpan, Volume};

/// Slower than the coil's usual by this share, and sure by two standard errors,
/// calls for a stir.
const SLOW: f64 = 0.15;

/// Ice in the bath under way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IceNow {
    /// Ice left by the balance of heat.
    pub left: Mass,
    /// When the last of it melts, from now; `None`: it lasts.
    pub gone_in: Option<TimeSpan>,
    /// The least that must be added for this bath to reach the target, however
    /// long it takes; nil where it does already, `None` where no amount would do.
    pub would_just_do: Option<Mass>,
}

/// A bath that takes heat more slowly than this coil can give it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StirNow {
    /// `K` in the stage under way.
    pub now: Estimate,
    /// `K` as it is when the water moves.
    pub usual: Estimate,
    /// Where that is known from.
    pub known: StirKnown,
    /// Time to the target a good stir would save, where both reach it.
    pub saves: Option<TimeSpan>,
}

/// Where it is known from that a stir would help.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StirKnown {
    /// The coil does more on other days.
    OtherDays,
    /// A stir earlier on the day took `K` from the first to the second.
    EarlierStir(Estimate, Estimate),
}

/// What running water costs from here to the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterCost {
    /// Time at the flow as it is.
    pub after: TimeSpan,
    /// Water at the flow as it is.
    pub water: Volume,
    /// Time and water at half the flow.
    pub at_half_flow: Option<(TimeSpan, Volume)>,
}

/// Ice in `bath`, where the coil stands.
pub(super) fn ice_now(live: &Live, bath: Bath, target: Temperature) -> IceNow {
    let coil = live.coil.conductance;
    let stage = Stage::begin(live.moment, live.kettle, coil);
    let melts = bath.ice() > Mass::ZERO;
    IceNow {
        left: bath.ice(),
        gone_in: melts.then(|| stage.ice_gone()).flatten(),
        would_just_do: ice_that_just_does(live.moment, live.kettle.lagged(), coil, target),
    }
}

/// The least ice, added now, with which this bath reaches the target, however
/// long it takes; nil where it does without, `None` where no amount would do.
///
/// ```
/// use gylebook::science::chilling::remedies::ice_that_just_does;
/// use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment};
/// use gylebook::science::units::*;
///
/// let celsius = Temperature::from_celsius;
/// let bath = Bath::of_water(Mass::from_kilograms(12.0), celsius(15.0));
/// let now = Moment { wort: celsius(40.0), coolant: Coolant::Bath(bath) };
/// let kettle = Kettle { wort: HeatCapacity::from_joules_per_kelvin(82456.3), loss: Loss::none() };
/// let coil = Conductance::from_watts_per_kelvin(154.0);
/// let ice = ice_that_just_does(now, kettle, coil, celsius(20.0)).unwrap();
/// assert!((ice.kilograms() - 3.351).abs() < 0.01);
/// ```
#[must_use]
pub fn ice_that_just_does(now: Moment, kettle: Kettle, coil: Conductance, target: Temperature) -> Option<Mass> {
    let Coolant::Bath(bath) = now.coolant else {
        return None;
    };
    let does = |ice: f64| {
        let coolant = Coolant::Bath(bath.with_ice(Mass::from_kilograms(ice), ICE_TEMPERATURE));
        Stage::begin(Moment { coolant, ..now }, kettle, coil).coldest() <= target
    };
    if does(0.0) {
        return Some(Mass::ZERO);
    }
    let latent = ICE_LATENT;
    let wort_heat = kettle.wort.joules_per_kelvin() * now.wort.celsius().max(0.0);
    let (mut low, mut high) = (0.0, 1.0 + (wort_heat + bath.heat().joules().max(0.0)) / latent);
    if !does(high) {
        return None;
    }
    while high - low > 0.001 {
        let middle = 0.5 * (low + high);
        if does(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(Mass::from_kilograms(high))
}

/// A stir, where an earlier one showed what it brings, or where this stage's own
/// readings show the coil far below its usual.
pub(super) fn stir_now(live: &Live, hand: &Hand) -> Option<StirNow> {
    as_before(live, hand).or_else(|| as_usual(live, hand))
}

/// The gain of an earlier stir, in a bath that was not stirred yet.
fn as_before(live: &Live, hand: &Hand) -> Option<StirNow> {
    let (before, after) = hand.stirred?;
    let gain = after.conductance / before.conductance;
    let se = (live.coil.relative_se().powi(2) + before.relative_se().powi(2) + after.relative_se().powi(2)).sqrt();
    let stirred = live.coil.conductance.watts_per_kelvin() * gain;
    let usual = Estimate::from_watts_per_kelvin(stirred, stirred * se);
    let known = StirKnown::EarlierStir(before, after);
    Some(StirNow { now: live.coil, usual, known, saves: saved_by(live, hand, live.coil, usual) })
}

/// Time to the target that the better conductance saves, where both get there.
fn saved_by(live: &Live, hand: &Hand, now: Estimate, stirred: Estimate) -> Option<TimeSpan> {
    let after = |coil: Conductance| Stage::begin(live.moment, live.kettle, coil).reaches(hand.target);
    after(now.conductance).zip(after(stirred.conductance)).map(|(now, stirred)| now - stirred)
}

fn as_usual(live: &Live, hand: &Hand) -> Option<StirNow> {
    let (now, usual) = (hand.own?, hand.usual?);
    let short = usual.conductance - now.conductance;
    let se = usual.se.watts_per_kelvin().hypot(now.se.watts_per_kelvin());
    let slow = short.watts_per_kelvin() > SLOW * usual.conductance.watts_per_kelvin();
    if !slow || short.watts_per_kelvin() < 2.0 * se {
        return None;
    }
    Some(StirNow { now, usual, known: StirKnown::OtherDays, saves: saved_by(live, hand, now, usual) })
}

/// Cost of running water from here; the coil is taken to be the same at half flow.
pub(super) fn water_cost(live: &Live, target: Temperature, flow: FlowRate) -> Option<WaterCost> {
    let Coolant::Stream(_) = live.moment.coolant else {
        return None;
    };
    let k = live.coil.conductance;
    let after = |coil: Conductance| Stage::begin(live.moment, live.kettle, coil).reaches(target);
    let stream = Conductance::from_watts_per_kelvin(flow.litres_per_minute() / 60.0 * WATER_SPECIFIC);
    let at_half_flow = exchange::ua(k, stream).and_then(|ua| {
        let time = after(exchange::conductance(ua, stream / 2.0))?;
        Some((time, flow / 2.0 * time))
    });
    let time = after(k)?;
    Some(WaterCost { after: time, water: flow * time, at_half_flow })
}
