//! The day's chill as the science of chilling takes it: one reading of the log
//! that the summary, the live page and the comparison all work from.

use std::sync::OnceLock;

use time::OffsetDateTime;

use super::choices::{Cooling, EquipmentKind, GravityPoint, Place, VolumePoint};
use super::day::{ChillEvent, CoolingStage, Reading};
use super::summary::readings::{corrected_gravity, original_gravity, plato_of, volume_at_20};
use super::{Batch, BrewDay};
use crate::science::chilling::curve::Curve;
use crate::science::chilling::hold::{self, Hold, Rule};
use crate::science::chilling::series::{self, Act, Event, Method, Series};
use crate::science::chilling::stage::{Kettle, Loss};
use crate::science::chilling::{Estimate, exchange, fit};
use crate::science::units::{
    Conductance, FlowRate, Length, Mass, Plato, Temperature, TemperatureDifference, TimeSpan, Volume,
};
use crate::science::wort::{self, Wort};
use crate::science::{boiling_point, water};

/// A room where none was read (common practice, no source).
const ROOM_C: f64 = 20.0;
/// How far a room may be off where it was read, and where it was not (common
/// practice, no source), K.
const ROOM_READ_SE_K: f64 = 0.5;
const ROOM_TAKEN_SE_K: f64 = 3.0;
/// A wort whose gravity is not known yet.
const USUAL_PLATO: f64 = 12.0;
/// The most readings of a stage that the conductance is fitted to one by one.
const GROUPS: usize = 40;
/// Parts of a pass within which the hold takes one reading.
const PASS_SLOTS: f64 = 100.0;
/// The same where the pass is not known.
const SLOT_S: f64 = 5.0;
/// A first reading later than this after flame-out leaves the start to the boiling point.
const AT_ONCE_S: f64 = 30.0;

/// The chill of a day, counted from flame-out.
#[derive(Clone, Debug)]
pub struct Chill {
    /// Where the count begins: flame-out, else the first cooling stage.
    pub zero: OffsetDateTime,
    /// Whether flame-out itself was logged.
    pub from_flame_out: bool,
    /// The wort that is cooled.
    pub wort: Wort,
    /// Kettle, wort and loss.
    pub kettle: Kettle,
    /// The time for the whole wort to come round once, where it is known.
    pub pass: Option<TimeSpan>,
    /// Readings, cooling stages and what was done to the baths.
    pub series: Series,
    /// The stages as the log has them, in the same order.
    pub stages: Vec<CoolingStage>,
    /// Whether somebody read the room's temperature.
    pub is_room_read: bool,
    /// How many earlier batches on this kettle its loss was learned from.
    pub loss_batches: Option<usize>,
    worked_out: WorkedOut,
}

/// What takes long and is asked for more than once: by the figures, the live page
/// and the picture. Each is worked out when it is first asked for.
#[derive(Clone, Debug, Default)]
struct WorkedOut {
    for_the_fit: OnceLock<Series>,
    holds: OnceLock<Holds>,
    /// By stage.
    stir_gains: OnceLock<Vec<Option<(Estimate, Estimate)>>>,
}

/// The readings the hold is judged by, and the verdict at each.
#[derive(Clone, Debug)]
struct Holds {
    readings: Vec<series::Reading>,
    verdicts: Vec<Hold>,
}

/// Where the kettle's own loss is known from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LossFrom {
    /// It stood with the pump off today: this is what it lost, by that alone.
    Today(Estimate),
    /// Earlier batches on this kettle, so many.
    Earlier(usize),
    /// It is what kettles lose.
    Assumed,
}

impl Chill {
    /// The day's chill; `None` where neither flame-out nor a cooling stage is logged.
    #[must_use]
    pub fn of(day: &BrewDay) -> Option<Self> {
        let stages = day.cooling_stages();
        let flame_out = day.flame_out();
        let zero = flame_out.or_else(|| stages.first().map(|stage| stage.started))?;
        let wort = wort_chilled(day);
        let hot = Temperature::from_celsius(98.0);
        let room_read = day.temperatures(Place::Room).next_back();
        let room = Temperature::from_celsius(room_read.map_or(ROOM_C, |reading| reading.temperature_c));
        let learned = day.batch.kettle_loss;
        let kettle = Kettle {
            wort: wort.mean_heat_capacity(hot, Temperature::REFERENCE),
            loss: learned.map_or(Loss::assumed(room), |learned| learned.loss(room)),
        };
        let since = |at: OffsetDateTime| TimeSpan::from_seconds((at - zero).as_seconds_f64());
        let readings = readings(day, zero).map(|reading| series::Reading {
            at: since(reading.at),
            wort: Temperature::from_celsius(reading.temperature_c),
        });
        let events = stages.iter().flat_map(|stage| &stage.events).filter_map(|(at, event)| {
            let act = match event {
                ChillEvent::Ice(ice_kg) => Act::IceAdded(Mass::from_kilograms(*ice_kg)),
                ChillEvent::Stirred => Act::Stirred,
                ChillEvent::BathRead(_) => return None,
            };
            Some(Event { at: since(*at), act })
        });
        let recorded = stages.iter().map(|stage| recorded(day, stage, since)).collect();
        Some(Self {
            zero,
            from_flame_out: flame_out.is_some(),
            series: Series::new(readings.collect(), recorded, events.collect()),
            pass: pass(&day.batch, wort.volume),
            kettle,
            wort,
            stages,
            is_room_read: room_read.is_some(),
            loss_batches: learned.map(|learned| learned.batches),
            worked_out: WorkedOut::default(),
        })
    }

    /// Minutes since the count began.
    #[must_use]
    pub fn minutes(&self, at: OffsetDateTime) -> f64 {
        (at - self.zero).as_seconds_f64() / 60.0
    }

    /// What the full-pass hold is judged by.
    #[must_use]
    pub fn rule(&self) -> Rule {
        self.pass.map_or(Rule::without_pass(), Rule::with_pass)
    }

    /// Whether the latest reading counts yet.
    #[must_use]
    pub fn hold(&self) -> Hold {
        self.verdicts().last().copied().unwrap_or(Hold::NOT_STARTED)
    }

    /// The verdict at each reading the hold is judged by, in turn.
    #[must_use]
    pub fn verdicts(&self) -> &[Hold] {
        &self.holds().verdicts
    }

    /// When the wort was first settled at or below a temperature.
    #[must_use]
    pub fn first_settled(&self, target: Temperature) -> Option<TimeSpan> {
        let Holds { readings, verdicts } = self.holds();
        hold::first_settled_by(readings, verdicts, &self.rule(), target)
    }

    /// A conductance for each stage, and one over all.
    #[must_use]
    pub fn fit(&self) -> fit::ChillFit {
        fit::fit(self.for_the_fit(), &self.setting())
    }

    /// What the fit is told beside the readings.
    #[must_use]
    pub fn setting(&self) -> fit::Setting {
        let room_se = if self.is_room_read { ROOM_READ_SE_K } else { ROOM_TAKEN_SE_K };
        let room_se = TemperatureDifference::from_kelvins(room_se);
        fit::Setting { room_se, ..fit::Setting::new(self.kettle, self.pass) }
    }

    /// Where the kettle's own loss is known from.
    #[must_use]
    pub fn loss_from(&self, fit: &fit::ChillFit) -> LossFrom {
        match (fit.loss_from_air(&self.series, self.kettle.loss.room), self.loss_batches) {
            (Some(loss), _) => LossFrom::Today(Estimate { conductance: loss.conductance, se: loss.se }),
            (None, Some(batches)) => LossFrom::Earlier(batches),
            (None, None) => LossFrom::Assumed,
        }
    }

    /// The coil before and after the last stir of a stage, where that stir helped.
    #[must_use]
    pub fn stir_gain(&self, stage: usize) -> Option<(Estimate, Estimate)> {
        let gain_in = |stage| fit::stir_gain(self.for_the_fit(), &self.setting(), stage);
        let gains = || (0..self.stages.len()).map(gain_in).collect();
        let gain = self.worked_out.stir_gains.get_or_init(gains).get(stage).copied().flatten();
        gain.filter(|(before, after)| exchange::stir_helped(*before, *after))
    }

    /// Whether a stage's bath was stirred.
    #[must_use]
    pub fn is_stirred(&self, stage: usize) -> bool {
        self.stages.get(stage).is_some_and(|one| one.events.iter().any(|(_, event)| *event == ChillEvent::Stirred))
    }

    fn holds(&self) -> &Holds {
        self.worked_out.holds.get_or_init(|| {
            let readings = self.for_the_hold();
            Holds { verdicts: hold::verdicts(&readings, &self.rule()), readings }
        })
    }

    /// The readings the hold is judged by: of a probe that sends many, the last
    /// of each hundredth of a pass. Readings taken by hand are all among them.
    fn for_the_hold(&self) -> Vec<series::Reading> {
        let slot = self.pass.map_or(SLOT_S, |pass| pass.seconds() / PASS_SLOTS);
        let in_slot = |reading: &series::Reading| (reading.at.seconds() / slot).floor();
        let same = |one: &series::Reading, next: &series::Reading| in_slot(one).total_cmp(&in_slot(next)).is_eq();
        self.series.readings().chunk_by(same).filter_map(|readings| readings.last().copied()).collect()
    }

    /// The series the conductance is fitted to: a stage that a probe read hundreds
    /// of times is drawn together into groups, each one reading at its mean time
    /// with its middle temperature. The fit costs by the reading, and a group's
    /// mean is as sure as its readings.
    fn for_the_fit(&self) -> &Series {
        self.worked_out.for_the_fit.get_or_init(|| self.drawn_together())
    }

    fn drawn_together(&self) -> Series {
        let stages = self.series.stages();
        if (0..stages.len()).all(|index| self.series.readings_in(index).len() <= GROUPS) {
            return self.series.clone();
        }
        let first_stage = stages.first().map(|stage| stage.started);
        let before =
            self.series.readings().iter().filter(|reading| first_stage.is_some_and(|first| reading.at < first));
        let drawn = (0..stages.len()).flat_map(|index| {
            let readings = self.series.readings_in(index);
            readings.chunks(readings.len().div_ceil(GROUPS).max(1)).map(middle)
        });
        let readings = before.copied().chain(drawn).collect();
        Series::new(readings, stages.to_vec(), self.series.events().to_vec())
    }

    /// The heat the wort carries past in one pass, W/K: what no coil can exceed.
    #[must_use]
    pub fn flow_heat(&self) -> Option<Conductance> {
        self.pass.map(|pass| exchange::flow_heat_of_pass(self.kettle.wort, pass))
    }

    /// The wort's curve from flame-out, at the boiling point until the first
    /// reading where that came late. Empty with fewer than two readings.
    #[must_use]
    pub fn points(&self, day: &BrewDay) -> Vec<(TimeSpan, Temperature)> {
        let readings = self.series.readings();
        let Some(first) = readings.first().filter(|_| readings.len() >= 2) else { return Vec::new() };
        let late = self.from_flame_out && first.at.seconds() > AT_ONCE_S;
        let boiling = late.then(|| (TimeSpan::ZERO, boiling(day, self.wort.strength)));
        boiling.into_iter().chain(readings.iter().map(|reading| (reading.at, reading.wort))).collect()
    }
}

impl Chill {
    /// When the wort fell to a temperature for good: after the last reading that
    /// stood clearly above it. What a passing dip showed does not count.
    #[must_use]
    pub fn stayed_below(&self, day: &BrewDay, level: Temperature) -> Option<TimeSpan> {
        let points = self.points(day);
        let above = level + self.rule().tolerance;
        let last_above = points.iter().rposition(|(_, wort)| *wort > above).unwrap_or(0);
        Curve::exactly(points[last_above.min(points.len())..].iter().copied()).falls_to(level)
    }
}

/// A group of readings as one: mean time, middle temperature.
fn middle(group: &[series::Reading]) -> series::Reading {
    let mean_s = group.iter().map(|reading| reading.at.seconds()).sum::<f64>() / group.len() as f64;
    let mut celsius: Vec<f64> = group.iter().map(|reading| reading.wort.celsius()).collect();
    celsius.sort_by(f64::total_cmp);
    let half = celsius.len() / 2;
    let middle = if celsius.len() % 2 == 1 { celsius[half] } else { f64::midpoint(celsius[half - 1], celsius[half]) };
    series::Reading { at: TimeSpan::from_seconds(mean_s), wort: Temperature::from_celsius(middle) }
}

/// Standing wort readings from the start of the chill until the yeast goes in.
fn readings(day: &BrewDay, zero: OffsetDateTime) -> impl Iterator<Item = Reading> + '_ {
    let pitched = day.pitched().map(|(at, _)| at);
    day.temperatures(Place::Wort)
        .filter(move |reading| reading.at >= zero && pitched.is_none_or(|pitched| reading.at <= pitched))
}

fn recorded(day: &BrewDay, stage: &CoolingStage, since: impl Fn(OffsetDateTime) -> TimeSpan) -> series::CoolingStage {
    let cooling = &stage.cooling;
    let water_at = cooling.water_c.map(|shown_c| Temperature::from_celsius(day.true_c(shown_c)));
    series::CoolingStage {
        started: since(stage.started),
        ended: stage.ended.map(since),
        method: match cooling.method {
            Cooling::StillBath => Method::StillBath,
            Cooling::IceBath => Method::IceBath,
            Cooling::RunningWater => Method::RunningWater,
            Cooling::Air => Method::Air,
        },
        water: cooling
            .water_l
            .map(|water_l| water::mass(Volume::from_litres(water_l), water_at.unwrap_or(Temperature::REFERENCE))),
        water_at,
        ice: cooling.ice_kg.map(Mass::from_kilograms),
        flow: cooling.flow_l_min.map(FlowRate::from_litres_per_minute),
    }
}

/// The wort in the kettle at flame-out, from the best that is known of it.
fn wort_chilled(day: &BrewDay) -> Wort {
    let volume = volume_at_20(day, VolumePoint::PostBoil)
        .or_else(|_| volume_at_20(day, VolumePoint::IntoFermenter))
        .map_or(day.batch.volume_l, |volume| volume.value);
    let strength = corrected_gravity(day, GravityPoint::PostBoil)
        .or_else(|_| original_gravity(day))
        .map_or(Plato::from_degrees(USUAL_PLATO), plato_of);
    Wort::new(Volume::from_litres(volume), strength)
}

/// One pass: as the coil's own figure says, else the volume over the flow.
fn pass(batch: &Batch, volume: Volume) -> Option<TimeSpan> {
    let coil = batch.chiller().map(|record| &record.equipment);
    let pump = batch.first(EquipmentKind::Pump);
    let flow = coil.and_then(|coil| coil.flow_l_min).or_else(|| pump.and_then(|pump| pump.flow_l_min));
    coil.and_then(|coil| coil.pass_min)
        .map(TimeSpan::from_minutes)
        .or_else(|| flow.map(|flow| volume / FlowRate::from_litres_per_minute(flow)))
}

fn boiling(day: &BrewDay, strength: Plato) -> Temperature {
    let height = Length::from_metres(day.batch.altitude_m.unwrap_or(0.0));
    let water = boiling_point::at_altitude(height).unwrap_or(Temperature::from_celsius(100.0));
    water + wort::boiling_rise(strength)
}
