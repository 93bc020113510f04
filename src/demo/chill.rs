//! A chill as a thermometer in the kettle would have shown it.
//!
//! The wort follows the closed-form [`Stage`] exactly; what is made up is only
//! what a thermometer adds to it: noise, a dip while the wort that has just been
//! through the coil passes the probe, and now and then a reading nobody took.

use super::dice::{Dice, shown};
use crate::brewday::Body;
use crate::brewday::choices::{Cooling, Place};
use crate::brewday::entry::CoolingStarted;
use crate::science::chilling::constants::ICE_TEMPERATURE;
use crate::science::chilling::hold::{self, Rule, Verdict};
use crate::science::chilling::series::Reading;
use crate::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use crate::science::units::{Conductance, Mass, Temperature, TimeSpan, Volume};
use crate::science::water;
use crate::science::wort::Wort;

/// What the tall kettle loses to the room with its lid off, W/K (within the 4 to
/// 16 W/K that kettles lose; common practice, no source).
const LOSS_W_PER_K: f64 = 9.0;
/// What it loses with its lid on.
const LID_ON_W_PER_K: f64 = 3.5;
/// What it loses overnight, lid on but nothing round it.
const OVERNIGHT_W_PER_K: f64 = 7.2;
/// What a digital probe held by hand adds.
const NOISE_K: f64 = 0.12;
/// How long after a disturbance the coldest wort passes the probe.
const DIP_MIN: f64 = 1.2;
/// How deep a change of bath makes the reading dip, as a share of wort less bath.
const DIP_SHARE: f64 = 0.018;
/// The deepest such a dip gets.
const DIP_MOST_K: f64 = 1.2;
/// One reading in so many is never taken: hands full.
const MISSED: f64 = 0.07;
/// How far below the target the coil is lifted out.
const BELOW_K: f64 = 0.4;
/// A bath that has come up to this wants more ice.
const SPENT_C: f64 = 5.0;
/// A tap less than this below the target will not do alone; ice takes over
/// when the wort is within `SWITCH_K` of it.
const NEAR_K: f64 = 4.0;
const SWITCH_K: f64 = 15.0;
/// From flame-out to bedtime, where the wort cools overnight.
const EVENING_MIN: f64 = 310.0;
/// The longest anyone waits for the wort to settle.
const PATIENCE_MIN: f64 = 35.0;
/// Ice comes in bags.
const BAG_KG: f64 = 1.5;

/// Wort being cooled, and what was logged of it, in minutes since flame-out.
#[derive(Debug)]
pub(super) struct Chill {
    pub(super) log: Vec<(f64, Body)>,
    pub(super) minute: f64,
    dice: Dice,
    kettle: Kettle,
    wort: Temperature,
    coolant: Coolant,
    way: Conductance,
    target: Temperature,
    /// Minutes between two readings, at least and at most.
    pace: (f64, f64),
    /// The share of readings that nobody takes.
    missed: f64,
    next_reading: f64,
    /// When the wort was last stirred up, and how deep the reading dips for it.
    dip: (f64, f64),
}

impl Chill {
    /// Wort at flame-out.
    pub(super) fn begin(wort: Wort, boiling: Temperature, room_c: f64, target_c: f64, dice: Dice) -> Self {
        let loss = Loss::known(Conductance::from_watts_per_kelvin(LOSS_W_PER_K), Temperature::from_celsius(room_c));
        let kettle = Kettle { wort: wort.mean_heat_capacity(boiling, Temperature::REFERENCE), loss };
        Self {
            log: Vec::new(),
            minute: 0.0,
            dice,
            kettle,
            wort: boiling,
            coolant: Coolant::Room,
            way: loss.conductance,
            target: Temperature::from_celsius(target_c - BELOW_K),
            pace: (1.0, 2.0),
            missed: MISSED,
            next_reading: 0.4,
            dip: (0.0, 0.0),
        }
    }

    /// Whether the wort is where it is wanted.
    pub(super) fn is_there(&self) -> bool {
        // A hair above counts: that is where a stage run until the target ends.
        (self.wort - self.target).kelvins() < 0.01
    }

    /// Leaves the kettle alone: late hops steep, the coil is made ready.
    pub(super) fn stand(&mut self, minutes: f64) {
        self.run(minutes, None);
    }

    /// Hangs the coil into a bucket of water for so long, or until the wort is cold enough.
    pub(super) fn still_bath(&mut self, water_l: f64, water_c: f64, coil_w_per_k: f64, minutes: f64) {
        let cooling = started(Cooling::StillBath, Some(water_l), Some(water_c), None, None);
        self.hang_in(cooling, bath(water_l, water_c), coil_w_per_k);
        self.run(minutes, Some(self.target));
    }

    /// Hangs the coil into ice water until the wort is cold enough, with more ice as it melts.
    pub(super) fn ice_bath(&mut self, water_l: f64, water_c: f64, ice_kg: f64, coil_w_per_k: f64) {
        self.hang_in_ice(water_l, water_c, ice_kg, coil_w_per_k);
        for _ in 0..20 {
            self.run(4.0, Some(self.target));
            if self.is_there() {
                return;
            }
            self.refresh();
        }
    }

    /// Hangs the coil into ice water, and stirs so hard that the probe dips.
    pub(super) fn ice_bath_stirred_up(
        &mut self,
        water_l: f64,
        ice_kg: f64,
        coil_w_per_k: f64,
        until_c: f64,
        deep: f64,
    ) {
        self.hang_in_ice(water_l, 12.0, ice_kg, coil_w_per_k);
        self.run(20.0, Some(Temperature::from_celsius(until_c)));
        self.log.push((self.minute, Body::BathStirred));
        self.dip = (self.minute, deep);
        self.pace = (0.7, 0.8);
        self.next_reading = self.minute + 0.8;
        self.run(1.6, None);
    }

    /// Lets tap water through the coil until the wort is cold enough, or not worth more
    /// water: a tap close to the target takes for ever over the last degrees.
    pub(super) fn running_water(&mut self, flow_l_min: f64, tap_c: f64, way_w_per_k: f64) {
        let cooling = started(Cooling::RunningWater, None, Some(tap_c), None, Some(flow_l_min));
        let tap = Temperature::from_celsius(tap_c);
        self.change(cooling, Coolant::Stream(tap), way_w_per_k);
        let near = (self.target - tap).kelvins() < NEAR_K;
        let until = if near { Temperature::from_celsius(tap_c + SWITCH_K) } else { self.target };
        self.run(60.0, Some(until));
    }

    /// Lifts the coil out and puts the lid on, pump running, until the wort has
    /// stayed put for a full pass of so many minutes.
    pub(super) fn lift_out(&mut self, pass_min: f64) {
        let dip = self.dip;
        self.change(started(Cooling::Air, None, None, None, None), Coolant::Room, LID_ON_W_PER_K);
        self.dip = dip;
        self.pace = (1.0, 1.5);
        self.hold(pass_min);
    }

    /// Puts the lid on and goes home; reads until bedtime, and again in the
    /// morning, with the pump on, for a full pass.
    pub(super) fn overnight(&mut self, hours: f64, pass_min: f64) {
        let cooling = started(Cooling::Air, None, None, None, None);
        self.change(cooling, Coolant::Room, OVERNIGHT_W_PER_K);
        self.dip = (0.0, 0.0);
        self.pace = (18.0, 34.0);
        self.next_reading = self.minute + 12.0;
        self.run(EVENING_MIN, None);
        self.next_reading = f64::INFINITY;
        self.run(hours * 60.0 - self.minute, None);
        self.pace = (1.0, 1.6);
        self.next_reading = self.minute + 0.5;
        self.hold(pass_min);
    }

    /// Waits as a brewer does: until the readings count, or patience is at an end.
    fn hold(&mut self, pass_min: f64) {
        // Both hands are free now.
        self.missed = 0.0;
        let rule = Rule::with_pass(TimeSpan::from_minutes(pass_min));
        let began = self.minute;
        while self.minute - began < PATIENCE_MIN {
            self.run(1.5, None);
            if matches!(hold::verdict(&self.readings(), &rule).verdict, Verdict::Settled { .. }) {
                return;
            }
        }
    }

    fn readings(&self) -> Vec<Reading> {
        let read = |(minute, body): &(f64, Body)| match body {
            Body::Temperature { temperature_c, .. } => {
                Some(Reading { at: TimeSpan::from_minutes(*minute), wort: Temperature::from_celsius(*temperature_c) })
            }
            _ => None,
        };
        self.log.iter().filter_map(read).collect()
    }

    /// What the wort is now, all of it.
    pub(super) fn wort_c(&self) -> f64 {
        self.wort.celsius()
    }

    /// What the thermometer shows now.
    pub(super) fn reading(&mut self) -> f64 {
        self.shown_at(self.minute, self.wort)
    }

    fn hang_in_ice(&mut self, water_l: f64, water_c: f64, ice_kg: f64, coil_w_per_k: f64) {
        let cooling = started(Cooling::IceBath, Some(water_l), Some(water_c), Some(ice_kg), None);
        let iced = bath(water_l, water_c).with_ice(Mass::from_kilograms(ice_kg), ICE_TEMPERATURE);
        self.hang_in(cooling, iced, coil_w_per_k);
        // Close to the target one looks more often.
        self.pace = (1.0, 1.4);
    }

    fn hang_in(&mut self, cooling: CoolingStarted, bath: Bath, coil_w_per_k: f64) {
        self.change(cooling, Coolant::Bath(bath), coil_w_per_k);
        let deep = DIP_SHARE * (self.wort - bath.temperature()).kelvins();
        self.dip = (self.minute, deep.clamp(0.0, DIP_MOST_K));
    }

    fn change(&mut self, cooling: CoolingStarted, coolant: Coolant, way_w_per_k: f64) {
        self.log.push((self.minute, Body::CoolingStarted(cooling)));
        self.coolant = coolant;
        self.way = Conductance::from_watts_per_kelvin(way_w_per_k);
        self.next_reading = self.minute + self.dice.between(0.5, 1.1);
    }

    /// More ice into a bath that is spent, else a stir.
    fn refresh(&mut self) {
        let Coolant::Bath(bath) = self.coolant else { return };
        self.minute += 0.1;
        if bath.temperature() > Temperature::from_celsius(SPENT_C) {
            self.coolant = Coolant::Bath(bath.with_ice(Mass::from_kilograms(BAG_KG), ICE_TEMPERATURE));
            self.log.push((self.minute, Body::IceAdded { ice_kg: BAG_KG }));
        } else {
            self.log.push((self.minute, Body::BathStirred));
        }
        self.dip = (self.minute, self.dice.between(0.1, 0.4));
    }

    /// Goes on for so many minutes, or until the wort is at `until`, reading as it goes.
    fn run(&mut self, minutes: f64, until: Option<Temperature>) {
        let stage = Stage::begin(Moment { wort: self.wort, coolant: self.coolant }, self.kettle, self.way);
        let reached = until.and_then(|until| stage.reaches(until)).map_or(minutes, TimeSpan::minutes);
        let (began, lasts) = (self.minute, minutes.min(reached).max(0.0));
        while self.next_reading < began + lasts {
            let at = self.next_reading;
            let wort = stage.at(TimeSpan::from_minutes(at - began)).wort;
            let temperature_c = self.shown_at(at, wort);
            if self.dice.share() >= self.missed {
                self.log.push((at, Body::Temperature { place: Place::Wort, temperature_c }));
            }
            self.next_reading += self.dice.between(self.pace.0, self.pace.1);
        }
        let end = stage.at(TimeSpan::from_minutes(lasts));
        (self.wort, self.coolant, self.minute) = (end.wort, end.coolant, began + lasts);
    }

    fn shown_at(&mut self, minute: f64, wort: Temperature) -> f64 {
        let (since, deep) = self.dip;
        // Rises to its full depth after DIP_MIN and is gone within a pass.
        let share = (minute - since).max(0.0) / DIP_MIN;
        let dip = deep * share * (1.0 - share).exp();
        shown(wort.celsius() - dip + self.dice.noise(NOISE_K), 0.1)
    }
}

fn bath(water_l: f64, water_c: f64) -> Bath {
    let at = Temperature::from_celsius(water_c);
    Bath::of_water(water::mass(Volume::from_litres(water_l), at), at)
}

fn started(
    method: Cooling,
    water_l: Option<f64>,
    water_c: Option<f64>,
    ice_kg: Option<f64>,
    flow_l_min: Option<f64>,
) -> CoolingStarted {
    CoolingStarted { method, water_l, water_c, ice_kg, flow_l_min }
}
