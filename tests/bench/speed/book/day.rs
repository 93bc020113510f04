//! One brew day, told entry by entry.

use gylebook::brewday::carried::CarriedEntry;
use gylebook::brewday::choices::{CareAct, Cooling, GravityPoint, Instrument, Outcome, Place, Stage, VolumePoint};
use gylebook::brewday::entry::{Amendment, Care, CoolingStarted, Pitched, Replacement};
use gylebook::brewday::{Body, CheckLists, Entry, Recipe};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::dice::Dice;
use super::house::{DEVICE, tap_c};

/// Minutes from the first list of the morning to flame-out.
const FLAME_OUT: f64 = 240.0;
/// When each bath begins, minutes after flame-out, and the ice in it, kg.
const BATHS: [(f64, f64); 3] = [(1.0, 0.0), (14.0, 0.0), (28.0, 5.0)];
/// When the yeast goes in, minutes after flame-out.
const PITCH: f64 = 62.0;
/// A fifth of the readings are of the mash.
const OF_THE_MASH: u32 = 5;

/// How long a morning is.
pub(super) fn until_flame_out() -> Duration {
    Duration::seconds_f64(FLAME_OUT * 60.0)
}

/// A day being told.
pub(super) struct Told {
    morning: OffsetDateTime,
    recipe: Recipe,
    dice: Dice,
    log: Vec<Entry>,
}

impl Told {
    pub(super) fn of(morning: OffsetDateTime, number: u64, recipe: Recipe) -> Self {
        // Seeded by the batch and the day, so that ids differ between books as well.
        let seed = number.wrapping_mul(0x1_0000_0001) ^ morning.unix_timestamp().unsigned_abs();
        Self { morning, recipe, dice: Dice(seed), log: Vec::new() }
    }

    /// The whole day, and the final gravity two weeks later.
    pub(super) fn whole_day(&mut self, readings: u32) {
        self.morning_and_boil(readings / OF_THE_MASH);
        self.chill(readings - readings / OF_THE_MASH, PITCH - 1.0);
        self.pitch_and_clean();
    }

    /// The day as it stands some minutes after flame-out, coil in the second bath.
    pub(super) fn until_in_the_second_bath(&mut self, readings: u32, minutes: f64) {
        self.morning_and_boil(readings / OF_THE_MASH);
        self.chill(readings - readings / OF_THE_MASH, minutes);
    }

    /// The entries in the order they happened.
    pub(super) fn entries(mut self) -> Vec<Entry> {
        self.log.sort_by_key(|entry| entry.at);
        self.log
    }

    /// The entries as a server got them, one second after each.
    pub(super) fn received(self) -> Vec<CarriedEntry> {
        let received = |entry: Entry| CarriedEntry {
            received_at: entry.at + Duration::seconds(1),
            device: Some(DEVICE.into()),
            entry,
        };
        self.entries().into_iter().map(received).collect()
    }

    fn write(&mut self, minute: f64, body: Body) -> Uuid {
        let (high, low) = (self.dice.bits(), self.dice.bits());
        let random = ((u128::from(high) << 64) | u128::from(low)).to_be_bytes();
        let id = uuid::Builder::from_random_bytes(random).into_uuid();
        let at = self.morning + Duration::milliseconds((minute * 60_000.0) as i64);
        let entry = Entry { id, at, body, note: None, typed: Default::default() };
        self.log.push(entry);
        id
    }

    fn read(&mut self, minute: f64, place: Place, celsius: f64) -> Uuid {
        let noisy = celsius + self.dice.between(-0.15, 0.15);
        self.write(minute, Body::Temperature { place, temperature_c: (noisy * 10.0).round() / 10.0 })
    }

    fn tick(&mut self, minute: f64, stage: Stage) {
        let lists = CheckLists::defaults();
        for (index, item) in lists.on(stage).flat_map(|list| &list.items).enumerate() {
            let check = Body::Check { item: item.key.clone(), outcome: Outcome::Done, why: None };
            self.write(minute + index as f64, check);
        }
    }

    fn care(&mut self, minute: f64, act: CareAct) {
        // The coil is the first piece of every batch.
        self.write(minute, Body::Care(Care { equipment: 1, act, mass_kg: None, place: None }));
    }

    fn volume(&mut self, minute: f64, point: VolumePoint, volume_l: f64, temperature_c: f64) {
        self.write(minute, Body::Volume { point, volume_l, temperature_c });
    }

    fn gravity(&mut self, minute: f64, point: GravityPoint, sg: f64) {
        let reading = sg + (self.dice.between(-0.002, 0.002) * 2000.0).round() / 2000.0;
        let instrument = Instrument::Hydrometer;
        self.write(minute, Body::Gravity { point, instrument, reading, temperature_c: 20.0 });
    }

    fn morning_and_boil(&mut self, readings: u32) {
        self.tick(0.0, Stage::Prepare);
        self.care(9.0, CareAct::Rinsed);
        self.write(30.0, Body::StageStarted { stage: Stage::Mash });
        self.volume(32.0, VolumePoint::Strike, 16.0, 20.0);
        for reading in 0..readings {
            let minute = 35.0 + 65.0 * f64::from(reading) / f64::from(readings);
            self.read(minute, Place::Mash, 66.0 - 0.02 * (minute - 35.0));
        }
        self.gravity(102.0, GravityPoint::FirstWort, 1.072);
        self.volume(130.0, VolumePoint::PreBoil, 26.0, 70.0);
        self.gravity(131.0, GravityPoint::PreBoil, 1.040);
        self.write(160.0, Body::BoilStarted);
        let hops: Vec<_> = self.recipe.hops.iter().map(|hop| (hop.name.clone(), hop.mass_kg)).collect();
        for (index, (what, mass_kg)) in hops.into_iter().enumerate() {
            let minute = [170.0, 220.0, FLAME_OUT - 0.5][index.min(2)];
            let planned = i64::try_from(index).ok();
            self.write(minute, Body::Addition { what, mass_kg, planned });
        }
        self.write(225.0, Body::FlushStarted { temperature_c: Some(96.0) });
        self.write(227.0, Body::FlushFinished { temperature_c: Some(91.0) });
        self.tick(228.0, Stage::Chill);
        self.write(FLAME_OUT, Body::FlameOut);
    }

    /// The chill from flame-out for so many minutes.
    fn chill(&mut self, readings: u32, minutes: f64) {
        self.volume(FLAME_OUT + 0.2, VolumePoint::PostBoil, 22.5, 98.0);
        self.gravity(FLAME_OUT + 0.4, GravityPoint::PostBoil, 1.046);
        let tap_c = tap_c(self.morning);
        for (start, ice_kg) in BATHS.into_iter().filter(|(start, _)| *start < minutes) {
            let bath = CoolingStarted {
                method: if ice_kg > 0.0 { Cooling::IceBath } else { Cooling::StillBath },
                water_l: Some(18.0),
                water_c: Some(tap_c),
                ice_kg: (ice_kg > 0.0).then_some(ice_kg),
                flow_l_min: None,
            };
            self.write(FLAME_OUT + start, Body::CoolingStarted(bath));
        }
        let mut typo = None;
        for reading in 0..readings {
            let minute = 0.5 + (minutes - 0.6) * f64::from(reading) / f64::from(readings);
            let id = self.read(FLAME_OUT + minute, Place::Wort, wort_c(minute, tap_c));
            typo = typo.or_else(|| (reading == readings / 3).then_some(id));
        }
        if let Some(of) = typo.filter(|_| self.dice.bits().is_multiple_of(4)) {
            let body = Body::Temperature { place: Place::Wort, temperature_c: 47.0 };
            let replacement = Some(Box::new(Replacement { at: None, body, note: None }));
            let why = Some("misread".into());
            self.write(FLAME_OUT + minutes, Body::Amendment(Amendment { of, replacement, void: false, why }));
        }
    }

    fn pitch_and_clean(&mut self) {
        let pitch = FLAME_OUT + PITCH;
        self.write(pitch - 0.9, Body::CoilDrained { recovered_l: 1.1 });
        self.volume(pitch - 0.6, VolumePoint::IntoFermenter, 20.2, 19.0);
        self.gravity(pitch - 0.4, GravityPoint::IntoFermenter, 1.046);
        self.write(
            pitch,
            Body::Pitched(Pitched {
                yeast: "House ale".into(),
                cells_billion: Some(200.0),
                mass_kg: None,
                yeast_c: Some(18.0),
                wort_c: Some(19.0),
            }),
        );
        self.tick(pitch + 5.0, Stage::Clean);
        self.care(pitch + 16.0, CareAct::Cleaned);
        self.care(pitch + 17.0, CareAct::BlownDry);
        self.write(pitch + 20.0, Body::StageFinished { stage: Stage::Clean });
        self.gravity(pitch + 14.0 * 1440.0, GravityPoint::Final, 1.010);
    }
}

/// The wort some minutes after flame-out: each bath draws it towards where it
/// meets the wort, the last one to just under the pitch target.
fn wort_c(minute: f64, tap_c: f64) -> f64 {
    let mut wort = 97.5;
    for (index, (start, ice_kg)) in BATHS.into_iter().enumerate() {
        let until = BATHS.get(index + 1).map_or(f64::INFINITY, |next| next.0).min(minute);
        if minute < start {
            return wort;
        }
        let limit = if ice_kg > 0.0 { 18.6 } else { tap_c + (wort - tap_c) * 0.52 };
        wort = limit + (wort - limit) * (-0.2 * (until - start)).exp();
    }
    wort
}
