//! What the coil could do, and what holds it back.
//!
//! # Equations
//! Wort that passes a coil of `UA` in a bath of one temperature leaves it with
//! `ε = 1 − e^(−NTU)` of the difference gone, `NTU = UA / (ṁ·c)`
//! [Kern-1950, ch. 18; Incropera-2007, ch. 11]. Seen from the kettle the coil is
//!
//! ```text
//! K = ε · ṁ·c                                                      [W/K]
//! ```
//!
//! so `K` can never exceed the flow's own heat `ṁ·c`, and the time constant
//! `C_w / K` never falls below the pass time.
//!
//! # Validity
//! `0 ≤ ε < 1`. A fitted `ε` above one says that the flow, the pass time or the
//! volume on record is wrong; it is given as it is, not clipped.
//!
//! # Example
//! A coil of 250 W/K with 2.5 kg/min of wort at 3.94 kJ/(kg·K):
//! ```
//! use gylebook::science::chilling::exchange::{conductance, effectiveness};
//! use gylebook::science::units::Conductance;
//!
//! let flow = Conductance::from_watts_per_kelvin(2.5 / 60.0 * 3940.0);
//! let coil = conductance(Conductance::from_watts_per_kelvin(250.0), flow);
//! assert!((coil.watts_per_kelvin() - 128.363).abs() < 0.001);
//! assert!((effectiveness(coil, flow) - 0.78191).abs() < 0.00001);
//! ```

use super::estimate::Estimate;
use super::stage::{Bath, Coolant, Kettle, Moment, Stage};
use crate::science::units::{Conductance, Density, FlowRate, HeatCapacity, SpecificHeat, TimeSpan};

/// Heat that a flow carries for each kelvin: `ṁ·c`, in W/K.
#[must_use]
pub fn flow_heat(flow: FlowRate, density: Density, specific_heat: SpecificHeat) -> Conductance {
    let per_minute = flow * TimeSpan::from_minutes(1.0) * density * specific_heat;
    Conductance::from_watts_per_kelvin(per_minute.joules_per_kelvin() / 60.0)
}

/// The flow's heat from the pass time, `C_w / pass`: the most that `K` can be.
#[must_use]
pub fn flow_heat_of_pass(wort: HeatCapacity, pass: TimeSpan) -> Conductance {
    Conductance::from_watts_per_kelvin(wort.joules_per_kelvin() / pass.seconds())
}

/// `K` of a coil of `ua` through which `flow` (its heat, `ṁ·c`) goes.
#[must_use]
pub fn conductance(ua: Conductance, flow: Conductance) -> Conductance {
    if flow <= Conductance::ZERO { Conductance::ZERO } else { flow * -(-(ua / flow)).exp_m1() }
}

/// `ε = K / (ṁ·c)`.
#[must_use]
pub fn effectiveness(coil: Conductance, flow: Conductance) -> f64 {
    coil / flow
}

/// `UA` of the coil behind a `K`; `None` where `K` is not below the flow's heat.
#[must_use]
pub fn ua(coil: Conductance, flow: Conductance) -> Option<Conductance> {
    let e = effectiveness(coil, flow);
    (0.0..1.0).contains(&e).then(|| flow * -(-e).ln_1p())
}

/// What would help most, and so what limits the chill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The pump: twice the flow would help most.
    Flow,
    /// The coil: twice the coil would help most.
    Coil,
    /// The bath: it is nearly as warm as it will get; fresh water would help most.
    Bath,
    /// The water at the coil stands still: `K` rises when it is stirred.
    Stirring,
    /// Flow and pass time are not known, or there is no conductance.
    Unknown,
}

/// A rise of `K` after a stir by this share, and sure by two standard errors,
/// says that stirring is what is missing.
const STIR_GAIN: f64 = 0.15;

/// Whether a stir helped: `K` rose by enough to matter, and by more than both
/// estimates leave open.
#[must_use]
pub fn stir_helped(before: Estimate, after: Estimate) -> bool {
    let gain = (after.conductance - before.conductance).watts_per_kelvin();
    let se = after.se.watts_per_kelvin().hypot(before.se.watts_per_kelvin());
    gain > STIR_GAIN * before.conductance.watts_per_kelvin() && gain > 2.0 * se
}

/// What limits a stage that lasted (or is to last) `lasts` from `start`.
///
/// Each remedy is tried on the closed form: twice the flow through the same
/// coil, twice the coil at the same flow, twice the bath. The one that leaves
/// the wort coldest at the end names the limit. `after_stir` is `K` after a stir
/// beside `K` before it, where the readings give both.
#[must_use]
pub fn limit(
    start: Moment,
    kettle: Kettle,
    coil: Conductance,
    flow: Option<Conductance>,
    lasts: TimeSpan,
    after_stir: Option<(Estimate, Estimate)>,
) -> Limit {
    if after_stir.is_some_and(|(before, after)| stir_helped(before, after)) {
        return Limit::Stirring;
    }
    let end = |moment: Moment, coil: Conductance| Stage::begin(moment, kettle, coil).at(lasts).wort.celsius();
    let with_bath = match start.coolant {
        Coolant::Bath(bath) => {
            let twice = Bath::from_raw(bath.mass() * 2.0, bath.heat() * 2.0);
            end(Moment { coolant: Coolant::Bath(twice), ..start }, coil)
        }
        // Running water and the room do not warm up.
        Coolant::Stream(_) | Coolant::Room => f64::INFINITY,
    };
    let Some(flow) = flow.filter(|&f| f > Conductance::ZERO) else {
        // Without the flow a better coil and a better pump look the same.
        let with_either = end(start, coil * 2.0);
        return if with_bath < with_either { Limit::Bath } else { Limit::Unknown };
    };
    let Some(ua) = ua(coil, flow) else {
        return Limit::Flow;
    };
    let with_flow = end(start, conductance(ua, flow * 2.0));
    let with_coil = end(start, conductance(ua * 2.0, flow));
    if with_bath < with_flow.min(with_coil) {
        Limit::Bath
    } else if with_flow < with_coil {
        Limit::Flow
    } else {
        Limit::Coil
    }
}
