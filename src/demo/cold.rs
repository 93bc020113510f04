//! The cold half of a day: from flame-out to a clean yard, and two weeks on.

use uuid::Uuid;

use super::chill::Chill;
use super::day::{Story, Twist, Way, backwards};
use super::dice::{Dice, shown};
use super::house::{LONG_COIL_KG, SHORT_COIL_KG};
use super::wort;
use crate::brewday::choices::{CareAct, EquipmentKind, GravityPoint, PhPoint, Place, Stage, VolumePoint};
use crate::brewday::entry::{Care, Pitched};
use crate::brewday::{Body, CheckItem};
use crate::science::units::{Length, Temperature};
use crate::science::{boiling_point, gravity, wort as wort_heat};

/// Water in a bucket with room for the coil, L.
pub(super) const BUCKET_L: f64 = 17.0;
/// Water under the ice, L.
pub(super) const ICE_WATER_L: f64 = 7.0;
/// How much a coil stored wet weighs more than it should.
const WATER_LEFT_KG: f64 = 0.41;
/// Two weeks, in minutes.
const FORTNIGHT: f64 = 14.0 * 1440.0;

/// Where the chill ended.
#[derive(Clone, Copy, Debug)]
struct Chilled {
    minute: f64,
    /// What the thermometer shows.
    shown_c: f64,
    /// What the wort is, all of it.
    really_c: f64,
}

impl Story<'_> {
    /// Chill, pitch, clean, and the gravity in the end.
    pub(super) fn after_flame_out(&mut self) {
        let chilled = self.chill();
        let end = self.pitch(chilled);
        self.clean(end + 3.0);
        self.two_weeks_later();
    }

    fn chill(&mut self) -> Chilled {
        let room_c = shown(self.room_c(), 0.5);
        self.pen.write(0.8, Body::StageStarted { stage: Stage::Chill });
        self.pen.write(0.9, Body::Temperature { place: Place::Room, temperature_c: room_c });
        let dice = Dice::seeded(1000 + u64::try_from(self.batch.id).unwrap_or_default());
        let kettle = self.worts.post_boil;
        let mut chill = Chill::begin(kettle, self.boiling(), room_c, self.recipe.target_pitch_c, dice);
        self.cool(&mut chill);
        let chilled = Chilled { minute: chill.minute, shown_c: chill.reading(), really_c: chill.wort_c() };
        self.copy_out(chill);
        chilled
    }

    fn cool(&mut self, chill: &mut Chill) {
        let tap_c = self.tap_c();
        // The book goes by the volume as it was read: hold a little longer than it can ask for.
        let pass_min = self.pass_min() * 1.06;
        chill.stand(1.6);
        match self.script.way {
            Way::ShortCoil { w_per_k, minutes, ice_kg } | Way::LongCoil { w_per_k, minutes, ice_kg } => {
                for lasts in minutes {
                    let coil = w_per_k * (1.0 + self.dice.noise(0.015));
                    chill.still_bath(BUCKET_L, shown(tap_c + self.dice.between(0.0, 0.6), 0.1), coil, *lasts);
                }
                if self.script.twist == Twist::Wrong {
                    let until_c = self.batch.recipe.target_pitch_c + 6.2;
                    chill.ice_bath_stirred_up(ICE_WATER_L, ice_kg, w_per_k, until_c, 3.1);
                    return;
                }
                if !chill.is_there() {
                    chill.ice_bath(ICE_WATER_L, tap_c, ice_kg, w_per_k);
                }
                chill.lift_out(pass_min);
            }
            Way::Tap { w_per_k, flow_l_min, ice_kg } => {
                chill.running_water(flow_l_min, tap_c, w_per_k);
                if !chill.is_there() {
                    // In a bucket the same coil passes a little more: the wort is pumped through it.
                    chill.ice_bath(ICE_WATER_L, tap_c, ice_kg, w_per_k * 1.25);
                }
                chill.lift_out(pass_min);
            }
            Way::Overnight => chill.overnight(15.0, pass_min),
        }
    }

    /// Copies what was logged of the chill into the day's log.
    fn copy_out(&mut self, chill: Chill) {
        let slip = self.script.twist == Twist::TemperatureBackwards;
        let near = |body: &Body| matches!(body, Body::Temperature { temperature_c, .. } if (19.0..20.0).contains(temperature_c));
        let slip = slip.then(|| chill.log.iter().rposition(|(_, body)| near(body))).flatten();
        for (index, (minute, body)) in chill.log.into_iter().enumerate() {
            match &body {
                Body::Temperature { place, temperature_c } if slip == Some(index) => {
                    let typed = Body::Temperature { place: *place, temperature_c: backwards(*temperature_c) };
                    let wrong = self.pen.write(minute, typed);
                    self.pen.amend(minute + 0.6, wrong, body, "Typed 91 for 19.");
                }
                _ => {
                    self.pen.write(minute, body);
                }
            }
        }
    }

    /// Drains the coil, fills the fermenter, pitches. Tells when that was done.
    fn pitch(&mut self, chilled: Chilled) -> f64 {
        let wort_c = chilled.shown_c;
        let mut minute = chilled.minute + 2.0;
        if let Some(record) = self.batch.chiller() {
            let held = record.equipment.hold_up_l.unwrap_or_default();
            let recovered_l = shown(held * self.dice.between(0.75, 0.95), 0.05);
            self.pen.write(minute, Body::CoilDrained { recovered_l });
        }
        self.pen.write(minute + 0.2, Body::StageFinished { stage: Stage::Chill });
        self.pen.write(minute + 0.4, Body::StageStarted { stage: Stage::Pitch });
        minute += 8.0;
        let fermenter = self.worts.into_fermenter;
        let volume = wort::volume(VolumePoint::IntoFermenter, fermenter, wort_c, &mut self.dice);
        self.pen.write(minute, volume);
        let sg = gravity::specific_gravity(fermenter.strength);
        let reading = wort::by_hydrometer(GravityPoint::IntoFermenter, sg, wort_c, &mut self.dice);
        self.pen.write(minute + 1.5, reading);
        minute += 4.0;
        let pitched = self.yeast(wort_c);
        let entry = self.pen.write(minute, Body::Pitched(pitched.clone()));
        if self.script.twist == Twist::Wrong {
            self.was_a_dip(minute, entry, pitched, chilled.really_c);
        }
        self.pen.write(minute + 2.0, Body::StageFinished { stage: Stage::Pitch });
        minute + 2.0
    }

    fn yeast(&mut self, wort_c: f64) -> Pitched {
        let yeast = self.recipe.yeast.as_ref();
        Pitched {
            yeast: yeast.map_or_else(String::new, |yeast| yeast.name.clone()),
            cells_billion: yeast.and_then(|yeast| yeast.cells_billion).map(|cells| shown(cells, 1.0)),
            mass_kg: yeast.and_then(|yeast| yeast.mass_kg).map(|mass| shown(mass, 0.0005)),
            yeast_c: Some(shown(wort_c + self.dice.between(-2.5, 0.5), 0.1)),
            wort_c: Some(wort_c),
        }
    }

    /// The wort was warmer than it read: found out in the fermenter, put right with the reason.
    fn was_a_dip(&mut self, minute: f64, entry: Uuid, pitched: Pitched, really_c: f64) {
        let warm_c = shown(really_c, 0.1);
        self.pen.write(minute + 17.0, Body::Temperature { place: Place::Wort, temperature_c: warm_c });
        let why =
            "The probe had caught the cold wort right after the stir. All of it, in the fermenter, was this warm.";
        let body = Body::Pitched(Pitched { wort_c: Some(warm_c), ..pitched });
        self.pen.amend(minute + 19.0, entry, body, why);
    }

    fn clean(&mut self, from: f64) {
        let (twist, coil) = (self.script.twist, self.script.way.coil(self.house));
        self.pen.write(from, Body::StageStarted { stage: Stage::Clean });
        self.tick(Stage::Clean, from + 5.0, 6.0, |item| skipped(item, twist, coil.is_some()));
        let end = from + 70.0;
        let care = |equipment, act| Care { equipment, act, mass_kg: None, place: None };
        if let Some(coil) = coil {
            let wet = if twist == Twist::Wrong { WATER_LEFT_KG } else { self.dice.between(0.0, 0.012) };
            let dry = if coil == self.house.short_coil { SHORT_COIL_KG } else { LONG_COIL_KG };
            let mass_kg = Some(shown(dry + wet, 0.01));
            self.pen.write(end, Body::Care(Care { mass_kg, ..care(coil, CareAct::Weighed) }));
            let place = if twist == Twist::Wrong {
                "Floor behind the kettle, coiled up"
            } else {
                "Hook by the door, ends down"
            };
            self.pen.write(end + 1.0, Body::Care(Care { place: Some(place.into()), ..care(coil, CareAct::Stored) }));
        }
        let fermenter = self.house.fermenters[self.script.fermenter];
        let place = Some("Back room, off the floor".into());
        self.pen.write(end + 2.0, Body::Care(Care { place, ..care(fermenter, CareAct::Stored) }));
        if twist != Twist::NotClosed {
            self.pen.write(end + 3.0, Body::StageFinished { stage: Stage::Clean });
        }
    }

    fn two_weeks_later(&mut self) {
        let last = wort::by_hydrometer(GravityPoint::Final, self.worts.last, 19.0, &mut self.dice);
        self.pen.write(FORTNIGHT, last);
        let ph = shown(self.dice.between(4.1, 4.4), 0.01);
        self.pen.write(FORTNIGHT + 2.0, Body::Ph { point: PhPoint::Final, ph });
    }

    /// The brew room follows the weather; at night, on the stone floor, it hardly does.
    fn room_c(&self) -> f64 {
        let warmer = self.tap_c() - 8.0;
        if self.script.way.has_coil() { 16.0 + 0.5 * warmer } else { 16.5 + 0.15 * warmer }
    }

    fn tap_c(&self) -> f64 {
        self.batch.tap_c.unwrap_or(12.0)
    }

    /// One pass of the whole wort, by the coil's flow or the pump's.
    fn pass_min(&self) -> f64 {
        let coil = self.batch.chiller().and_then(|record| record.equipment.flow_l_min);
        let pump = self.batch.first(EquipmentKind::Pump).and_then(|pump| pump.flow_l_min);
        self.worts.post_boil.volume.litres() / coil.or(pump).unwrap_or(2.0)
    }

    fn boiling(&self) -> Temperature {
        let height = Length::from_metres(self.batch.altitude_m.unwrap_or_default());
        let water = boiling_point::at_altitude(height).unwrap_or(Temperature::from_celsius(100.0));
        water + wort_heat::boiling_rise(self.worts.post_boil.strength)
    }
}

/// Why an item of the last list is not done.
fn skipped(item: &CheckItem, twist: Twist, coil: bool) -> Option<&'static str> {
    let about_coil = item.equipment == Some(EquipmentKind::Coil);
    match (twist, item.key.as_str()) {
        _ if about_coil && !coil => Some("No coil today."),
        (Twist::Wrong, "coil_drained_after" | "coil_blown_dry") => Some("Past midnight. Tomorrow."),
        (Twist::NotClosed, "mash_vessel_cleaned_after") => Some("Tap taken apart, waiting for a new seal."),
        _ => None,
    }
}
