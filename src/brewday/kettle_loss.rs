//! What a kettle loses to the room by itself, as its earlier batches tell.
//!
//! A batch keeps what was known when it was started, as it keeps its equipment:
//! its figures then never move because a later batch measured the kettle anew.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::Reader;
use super::plausible::{BATCHES_TOLD, CONDUCTANCE};
use crate::science::chilling::stage::Loss;
use crate::science::units::{Conductance, Temperature};

/// How many batches back it looks.
const BATCHES: usize = 5;
/// How far a kettle's loss differs from day to day (lid, draught, steam), as a
/// share of itself (common practice, no source).
const DAY_TO_DAY: f64 = 0.10;

/// A kettle's own loss from the batches before.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct KettleLoss {
    /// The median, W/K.
    pub w_per_k: f64,
    /// Its standard error for another day, W/K.
    pub se_w_per_k: f64,
    /// From how many batches.
    pub batches: usize,
}

impl KettleLoss {
    /// From what earlier batches measured, newest first: value and standard
    /// error, W/K. `None` of none.
    #[must_use]
    pub fn of(newest_first: impl IntoIterator<Item = (f64, f64)>) -> Option<Self> {
        let sound = newest_first.into_iter().filter(|(loss, se)| *loss > 0.0 && se.is_finite());
        let (losses, errors): (Vec<f64>, Vec<f64>) = sound.take(BATCHES).unzip();
        let (w_per_k, error) = (median(losses.clone())?, median(errors)?);
        let batches = losses.len();
        let read = error / (batches as f64).sqrt();
        Some(Self { w_per_k, se_w_per_k: read.hypot(DAY_TO_DAY * w_per_k), batches })
    }

    /// Reads what was known from a batch carried from another book.
    pub(super) fn read(read: &mut Reader<'_>) -> Self {
        Self {
            w_per_k: read.number("w_per_k", CONDUCTANCE),
            se_w_per_k: read.number("se_w_per_k", CONDUCTANCE),
            // A count within its range has no fraction worth keeping.
            batches: read.number("batches", BATCHES_TOLD) as usize,
        }
    }

    /// The loss as the science of chilling takes it.
    #[must_use]
    pub fn loss(self, room: Temperature) -> Loss {
        Loss {
            conductance: Conductance::from_watts_per_kelvin(self.w_per_k),
            se: Conductance::from_watts_per_kelvin(self.se_w_per_k),
            room,
        }
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let upper = *values.get(half)?;
    Some(if values.len() % 2 == 1 { upper } else { f64::midpoint(values[half - 1], upper) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_of_the_last_five_is_as_sure_as_they_were_read_and_a_day_differs() {
        assert_eq!(KettleLoss::of([]), None);
        let one = KettleLoss::of([(9.0, 0.8)]).expect("one batch");
        assert!((one.se_w_per_k - 0.8_f64.hypot(0.9)).abs() < 1e-12 && one.batches == 1);
        let five = KettleLoss::of([(9.0, 0.8), (10.0, 0.8), (8.0, 0.8), (30.0, 0.8), (9.5, 0.8), (1.0, 0.8)]);
        let five = five.expect("five batches");
        assert_eq!((five.w_per_k, five.batches), (9.5, 5));
        assert!(five.se_w_per_k < 1.1);
    }
}
