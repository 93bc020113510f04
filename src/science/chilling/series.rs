//! What was recorded of a chill: readings, cooling stages, stirs, ice.
//!
//! A [`Series`] is put in order once, here, so that nothing further on depends on
//! the order in which a phone sent its entries, or on how it broke a tie between
//! two entries of the same second. What was not recorded stays unknown: a stage
//! whose bath lacks its water or its temperature says [`Unknown`] when asked for
//! its coolant, and nobody downstream guesses.

use super::constants::ICE_TEMPERATURE;
use super::stage::{Bath, Coolant};
use crate::science::units::{FlowRate, Mass, Temperature, TimeSpan};

/// A wort temperature, read at a time counted from flame-out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Time since flame-out.
    pub at: TimeSpan,
    /// What the thermometer in the wort showed.
    pub wort: Temperature,
}

/// The four ways of cooling.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Coil in a bucket of water.
    StillBath,
    /// Coil in a bucket of water and ice.
    IceBath,
    /// Tap water through a coil or a plate chiller.
    RunningWater,
    /// Left in the room, pump off.
    Air,
}

/// A cooling stage as it was recorded; what was not written down is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoolingStage {
    /// Time since flame-out.
    pub started: TimeSpan,
    /// When the coil was taken out, where that is known; else the stage lasts
    /// until the next one starts.
    pub ended: Option<TimeSpan>,
    /// Way of cooling.
    pub method: Method,
    /// Water in the bath, without its ice.
    pub water: Option<Mass>,
    /// Temperature of the water before any ice went in, or of the running water.
    pub water_at: Option<Temperature>,
    /// Ice put in at the start.
    pub ice: Option<Mass>,
    /// Flow of the running water.
    pub flow: Option<FlowRate>,
}

/// What a stage's record lacks to know its coolant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// How much water is in the bath.
    WaterMass,
    /// How warm the water was.
    WaterTemperature,
    /// How much ice went in.
    IceMass,
}

impl CoolingStage {
    /// The coolant as it was at the start of the stage.
    ///
    /// # Errors
    /// What the record lacks. An ice bath may have no water in it (ice alone),
    /// but its ice must be known.
    pub fn coolant(&self) -> Result<Coolant, Unknown> {
        let ice = self.ice.unwrap_or(Mass::ZERO);
        match self.method {
            Method::Air => Ok(Coolant::Room),
            Method::RunningWater => self.water_at.map(Coolant::Stream).ok_or(Unknown::WaterTemperature),
            Method::StillBath | Method::IceBath => {
                let water = self.water.ok_or(Unknown::WaterMass)?;
                if self.method == Method::IceBath && self.ice.is_none() {
                    return Err(Unknown::IceMass);
                }
                let at = match self.water_at {
                    Some(at) => at,
                    None if water == Mass::ZERO => Temperature::ICE_POINT,
                    None => return Err(Unknown::WaterTemperature),
                };
                if water + ice == Mass::ZERO {
                    return Err(Unknown::WaterMass);
                }
                Ok(Coolant::Bath(Bath::of_water(water, at).with_ice(ice, ICE_TEMPERATURE)))
            }
        }
    }
}

/// Something done to the bath or the wort during a stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// The bath was stirred.
    Stirred,
    /// Ice was added to the bath.
    IceAdded(Mass),
}

/// An act and when it was done, counted from flame-out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// Time since flame-out.
    pub at: TimeSpan,
    /// What was done.
    pub act: Act,
}

/// A chill as recorded, in order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    readings: Vec<Reading>,
    stages: Vec<CoolingStage>,
    events: Vec<Event>,
}

impl Series {
    /// Orders what was recorded; readings that are not numbers are left out.
    ///
    /// ```
    /// use gylebook::science::chilling::series::{Reading, Series};
    /// use gylebook::science::units::{Temperature, TimeSpan};
    ///
    /// let at = |min: f64, c: f64| Reading {
    ///     at: TimeSpan::from_minutes(min),
    ///     wort: Temperature::from_celsius(c),
    /// };
    /// let late = Series::new(vec![at(4.0, 70.0), at(2.0, 80.0)], vec![], vec![]);
    /// assert_eq!(late.readings()[0].wort.celsius(), 80.0);
    /// ```
    #[must_use]
    pub fn new(readings: Vec<Reading>, stages: Vec<CoolingStage>, events: Vec<Event>) -> Self {
        let mut series = Self { readings, stages, events };
        series.readings.retain(|r| r.at.seconds().is_finite() && r.wort.celsius().is_finite());
        series.readings.sort_by(|a, b| {
            let by_time = a.at.seconds().total_cmp(&b.at.seconds());
            by_time.then(a.wort.celsius().total_cmp(&b.wort.celsius()))
        });
        series.stages.sort_by(|a, b| {
            let by_time = a.started.seconds().total_cmp(&b.started.seconds());
            by_time.then_with(|| rank(a).total_cmp(&rank(b)))
        });
        series.events.sort_by(|a, b| {
            let by_time = a.at.seconds().total_cmp(&b.at.seconds());
            by_time.then(a.act.ice().kilograms().total_cmp(&b.act.ice().kilograms()))
        });
        series
    }

    /// The same chill where the coil was out for `change` before each stage that
    /// followed on another without the end of that being recorded.
    ///
    /// Whoever writes down only when the coil went into the next bath leaves the
    /// minute before it to the old one: a fit then finds a coil that got worse at
    /// the end of each bath.
    #[must_use]
    pub fn with_changes_of(mut self, change: TimeSpan) -> Self {
        for i in 1..self.stages.len() {
            let next = self.stages[i].started;
            let before = &mut self.stages[i - 1];
            before.ended = before.ended.or(Some((next - change).max(before.started)));
        }
        self
    }

    /// Readings in order of time.
    #[must_use]
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// Stages in order of time.
    #[must_use]
    pub fn stages(&self) -> &[CoolingStage] {
        &self.stages
    }

    /// Stirs and ice in order of time.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// When stage `index` ended: its own end, else the next one's start.
    #[must_use]
    pub fn end_of(&self, index: usize) -> Option<TimeSpan> {
        let next = self.stages.get(index + 1).map(|s| s.started);
        match (self.stages.get(index).and_then(|s| s.ended), next) {
            (Some(own), Some(next)) => Some(own.min(next)),
            (own, next) => own.or(next),
        }
    }

    /// The readings that fall in stage `index`, its start included, its end not.
    #[must_use]
    pub fn readings_in(&self, index: usize) -> &[Reading] {
        let Some(stage) = self.stages.get(index) else {
            return &[];
        };
        let first = self.readings.partition_point(|r| r.at < stage.started);
        // The last reading of a chill may stand on the end of its stage.
        let last = match (self.end_of(index), index + 1 == self.stages.len()) {
            (None, _) => self.readings.len(),
            (Some(end), true) => self.readings.partition_point(|r| r.at <= end),
            (Some(end), false) => self.readings.partition_point(|r| r.at < end),
        };
        &self.readings[first..last.max(first)]
    }

    /// The last bath change or stir at or before `at`: for one pass after it the
    /// thermometer may show wort that is colder than the rest.
    #[must_use]
    pub fn last_disturbed(&self, at: TimeSpan) -> Option<TimeSpan> {
        let started = self.stages.iter().map(|s| s.started);
        let stirred = self.events.iter().filter(|e| e.act == Act::Stirred).map(|e| e.at);
        started.chain(stirred).filter(|&t| t <= at).reduce(TimeSpan::max)
    }
}

impl Act {
    fn ice(self) -> Mass {
        match self {
            Self::Stirred => Mass::ZERO,
            Self::IceAdded(mass) => mass,
        }
    }
}

/// Breaks a tie between two stages of the same second, always the same way.
fn rank(stage: &CoolingStage) -> f64 {
    let kind = f64::from(stage.method as u8) * 1e9;
    let water = stage.water.map_or(0.0, |m| m.kilograms()) * 1e3;
    kind + water + stage.water_at.map_or(0.0, |t| t.celsius()) + stage.ice.map_or(0.0, |m| m.kilograms())
}
