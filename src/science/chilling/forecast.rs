//! When the wort will be at its target, if nothing is changed.
//!
//! The closed form of the stage is asked for the time, and asked again with the
//! conductance, the wort's temperature and the kettle's loss each off by its
//! standard error; the effects are added as squares [GUM-2008, 5.1]. The range
//! holds the truth two times in three.
//!
//! # Example
//! ```
//! use gylebook::science::chilling::Estimate;
//! use gylebook::science::chilling::forecast::{Forecast, forecast};
//! use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment};
//! use gylebook::science::units::*;
//!
//! let celsius = Temperature::from_celsius;
//! let bath = Bath::of_water(Mass::from_kilograms(18.0), celsius(15.0));
//! let now = Moment { wort: celsius(98.0), coolant: Coolant::Bath(bath) };
//! let kettle = Kettle { wort: HeatCapacity::from_joules_per_kelvin(82456.3), loss: Loss::none() };
//! let coil = Estimate::from_watts_per_kelvin(154.0, 5.0);
//! // 18 kg at 15 °C can never take 20 L below 58.4 °C.
//! let told = forecast(now, kettle, coil, TemperatureDifference::ZERO, celsius(50.0));
//! let Forecast::CannotReach { limit } = told else { panic!() };
//! assert!((limit.celsius() - 58.369).abs() < 0.001);
//! ```

use super::estimate::Estimate;
use super::live::Live;
use super::stage::{Coolant, Kettle, Loss, Moment, Stage};
use crate::science::units::{Conductance, Temperature, TemperatureDifference, TimeSpan};

/// Longer than this is no forecast: an ordinary night.
const LONGEST: TimeSpan = TimeSpan::from_seconds(12.0 * 3600.0);

/// Where the bath falls short and only the room would bring the wort the rest of
/// the way, longer than this is not that bath's doing.
pub(super) const WITH_THE_ROOM: TimeSpan = TimeSpan::from_seconds(1800.0);

/// What becomes of the wort in the bath it is in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Forecast {
    /// It is at or below the target already.
    There,
    /// It will reach the target.
    Reaches {
        /// From now.
        after: TimeSpan,
        /// Early end of the range, one standard deviation.
        soonest: TimeSpan,
        /// Late end; `None` where it may well never get there.
        latest: Option<TimeSpan>,
    },
    /// This coolant cannot get it there.
    CannotReach {
        /// The coldest it can, without the room's help.
        limit: Temperature,
    },
}

/// Forecast from a wort temperature known to `wort_se`.
#[must_use]
pub fn forecast(
    now: Moment,
    kettle: Kettle,
    coil: Estimate,
    wort_se: TemperatureDifference,
    target: Temperature,
) -> Forecast {
    if now.wort <= target {
        return Forecast::There;
    }
    let limit = Stage::begin(now, kettle.lagged(), coil.conductance).coldest();
    let longest = if limit <= target || now.coolant == Coolant::Room { LONGEST } else { WITH_THE_ROOM };
    let time = |wort: TemperatureDifference, coil: Conductance, loss: Conductance| {
        let moment = Moment { wort: now.wort + wort, ..now };
        let loss = Loss { conductance: loss.max(Conductance::ZERO), ..kettle.loss };
        let stage = Stage::begin(moment, Kettle { loss, ..kettle }, coil.max(Conductance::ZERO));
        stage.reaches(target).filter(|&t| t <= longest)
    };
    let (k, g, exact) = (coil.conductance, kettle.loss.conductance, TemperatureDifference::ZERO);
    let Some(after) = time(exact, k, g) else {
        return Forecast::CannotReach { limit };
    };
    let slower = [time(exact, k - coil.se, g), time(wort_se, k, g), time(exact, k, g - kettle.loss.se)];
    let faster = [time(exact, k + coil.se, g), time(-wort_se, k, g), time(exact, k, g + kettle.loss.se)];
    let apart = |t: TimeSpan| (t - after).seconds().powi(2);
    let late = slower.into_iter().map(|t| t.map(apart)).sum::<Option<f64>>();
    let early = faster.into_iter().flatten().map(apart).sum::<f64>();
    Forecast::Reaches {
        after,
        soonest: (after - TimeSpan::from_seconds(early.sqrt())).max(TimeSpan::ZERO),
        latest: late.map(|squares| after + TimeSpan::from_seconds(squares.sqrt())),
    }
}

impl Live {
    /// Forecast for the bath the wort is in.
    #[must_use]
    pub fn forecast(&self, target: Temperature) -> Forecast {
        forecast(self.moment, self.kettle, self.coil, self.wort_se, target)
    }
}
