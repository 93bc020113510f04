//! What can be read off a day: temperatures, volumes and gravities that stand,
//! and when things happened. Temperatures come with the thermometer's offset
//! taken off, once, here.

use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::{BrewDay, Standing};
use crate::brewday::Body;
use crate::brewday::choices::{EquipmentKind, GravityPoint, Instrument, Outcome, Place, VolumePoint};
use crate::brewday::entry::Pitched;

/// A tick on a check list, or a reason not to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Check<'a> {
    /// The entry it comes from.
    pub id: Uuid,
    /// When it was ticked or skipped.
    pub at: OffsetDateTime,
    /// Which of the two.
    pub outcome: Outcome,
    /// Why it was skipped.
    pub why: Option<&'a str>,
}

/// A thermometer reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The entry it comes from.
    pub id: Uuid,
    /// When it was read.
    pub at: OffsetDateTime,
    /// How warm it was: what the thermometer showed, corrected.
    pub temperature_c: f64,
    /// What the thermometer showed.
    pub shown_c: f64,
}

/// A volume reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeReading {
    /// The entry it comes from.
    pub id: Uuid,
    /// What was read.
    pub volume_l: f64,
    /// How hot the liquid was, corrected.
    pub temperature_c: f64,
}

/// A gravity reading that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GravityReading {
    /// The entry it comes from.
    pub id: Uuid,
    /// When it was read.
    pub at: OffsetDateTime,
    /// What it was read with.
    pub instrument: Instrument,
    /// SG or °Bx.
    pub reading: f64,
    /// How warm the sample was, corrected.
    pub temperature_c: f64,
}

/// A hot flush of the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flush {
    /// When hot wort began to run through.
    pub started: Option<OffsetDateTime>,
    /// When it stopped; `None` while it runs.
    pub finished: Option<OffsetDateTime>,
    /// The lowest temperature noted for it, corrected.
    pub temperature_c: Option<f64>,
}

impl Flush {
    /// How long it ran, where both ends are known.
    #[must_use]
    pub fn length(&self) -> Option<Duration> {
        Some(self.finished? - self.started?)
    }
}

impl BrewDay {
    /// How warm it is where the day's thermometer shows this: less its offset,
    /// where that is known.
    #[must_use]
    pub fn true_c(&self, shown_c: f64) -> f64 {
        shown_c - self.batch.offset(EquipmentKind::Thermometer)
    }

    /// Every standing reading at a place, in order of time.
    pub fn temperatures(&self, wanted: Place) -> impl DoubleEndedIterator<Item = Reading> + '_ {
        self.standing.iter().filter_map(move |entry| match entry.body {
            Body::Temperature { place, temperature_c } if place == wanted => {
                let shown_c = temperature_c;
                Some(Reading { id: entry.id, at: entry.at, temperature_c: self.true_c(shown_c), shown_c })
            }
            _ => None,
        })
    }

    /// The latest volume read at a point.
    #[must_use]
    pub fn volume(&self, wanted: VolumePoint) -> Option<VolumeReading> {
        self.latest(|entry| match entry.body {
            Body::Volume { point, volume_l, temperature_c } if point == wanted => {
                Some(VolumeReading { id: entry.id, volume_l, temperature_c: self.true_c(temperature_c) })
            }
            _ => None,
        })
    }

    /// The latest gravity read at a point. A refractometer reading of a wort
    /// that turns out to have been pitched before it is passed over.
    #[must_use]
    pub fn gravity(&self, wanted: GravityPoint) -> Option<GravityReading> {
        let pitched_at = self.pitched().map(|(at, _)| at);
        self.latest(|entry| match entry.body {
            Body::Gravity { point, instrument, reading, temperature_c } if point == wanted => {
                let fermenting = pitched_at.is_some_and(|pitched| entry.at >= pitched);
                let bent = instrument == Instrument::Refractometer && fermenting;
                let temperature_c = self.true_c(temperature_c);
                (!bent).then_some(GravityReading { id: entry.id, at: entry.at, instrument, reading, temperature_c })
            }
            _ => None,
        })
    }

    /// When the boil began.
    #[must_use]
    pub fn boil_started(&self) -> Option<OffsetDateTime> {
        self.latest(|entry| (entry.body == Body::BoilStarted).then_some(entry.at))
    }

    /// When the flame went out.
    #[must_use]
    pub fn flame_out(&self) -> Option<OffsetDateTime> {
        self.latest(|entry| (entry.body == Body::FlameOut).then_some(entry.at))
    }

    /// When the yeast went in, and what was noted of it: temperatures as shown.
    #[must_use]
    pub fn pitched(&self) -> Option<(OffsetDateTime, &Pitched)> {
        self.latest(|entry| match &entry.body {
            Body::Pitched(pitched) => Some((entry.at, pitched)),
            _ => None,
        })
    }

    /// Litres of wort pushed out of the coil, all drainings together.
    #[must_use]
    pub fn recovered_l(&self) -> Option<f64> {
        self.events().fold(None, |sum, entry| match entry.body {
            Body::CoilDrained { recovered_l } => Some(sum.unwrap_or(0.0) + recovered_l),
            _ => sum,
        })
    }

    /// The last hot flush of the coil.
    #[must_use]
    pub fn flush(&self) -> Option<Flush> {
        let mut flush = None;
        let corrected = |shown_c: Option<f64>| shown_c.map(|shown_c| self.true_c(shown_c));
        for entry in self.events() {
            flush = match (entry.body.clone(), flush) {
                (Body::FlushStarted { temperature_c }, _) => {
                    Some(Flush { started: Some(entry.at), finished: None, temperature_c: corrected(temperature_c) })
                }
                (Body::FlushFinished { temperature_c }, before) => {
                    let before = before.filter(|flush: &Flush| flush.finished.is_none());
                    Some(Flush {
                        started: before.and_then(|flush| flush.started),
                        finished: Some(entry.at),
                        temperature_c: coldest(before.and_then(|flush| flush.temperature_c), corrected(temperature_c)),
                    })
                }
                (_, flush) => flush,
            };
        }
        flush
    }

    /// What became of a check-list item, by the latest entry about it.
    #[must_use]
    pub fn check(&self, key: &str) -> Option<Check<'_>> {
        self.latest(|entry| match &entry.body {
            Body::Check { item, outcome, why } if item == key => {
                Some(Check { id: entry.id, at: entry.at, outcome: *outcome, why: why.as_deref() })
            }
            _ => None,
        })
    }

    /// The latest event for which `pick` has an answer.
    pub(super) fn latest<'a, T>(&'a self, pick: impl FnMut(&'a Standing) -> Option<T>) -> Option<T> {
        self.events().rev().find_map(pick)
    }
}

fn coldest(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}
