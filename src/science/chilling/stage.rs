//! One cooling stage: a kettle of wort, a coil, and what the coil stands in.
//!
//! # What for
//! Everything else in [`chilling`](super) asks this page: where will the wort
//! be in five minutes, when is it at 20 °C, how cold can this bucket make it?
//!
//! # Equations
//! Wort and bath are each well mixed; the coil passes `K·(T_w − T_b)` and the
//! kettle loses `G·(T_w − T_r)` to the room [Kern-1950, ch. 18; Incropera-2007, ch. 11]:
//!
//! ```text
//! C_w · dT_w/dt = −K·(T_w − T_b) − G·(T_w − T_r)
//!       dH_b/dt =  K·(T_w − T_b)
//! ```
//!
//! | symbol | is | unit |
//! | --- | --- | --- |
//! | `C_w` | heat capacity of the wort, mass × specific heat | J/K |
//! | `K` | conductance of the coil, all of it | W/K |
//! | `G` | conductance from the kettle to the room | W/K |
//! | `H_b` | heat in the bath, counted from liquid water at 0 °C | J |
//!
//! The bath's temperature follows from its heat `H_b` and mass `m` [IAPWS-95]:
//! liquid, `H_b / (m·c)`, where `H_b ≥ 0`; 0 °C with `−H_b / L` of ice left where
//! it is less; frozen solid below `−m·L`. Each of these phases has a closed form
//! (a pair of exponentials; one exponential against a coolant that stays put),
//! so nothing here is stepped in time, and heat is conserved to rounding.
//!
//! # Validity
//! Properties are constants: with those of real wort the end of a four-stage
//! chill moves by 0.15 K at most. A real ice bath has a warm layer at the coil
//! while ice floats above; this is the stirred bath, the best case. A bath that
//! freezes again because the room is below 0 °C is not followed.
//!
//! # Example
//! 10 L of wort at 98 °C, one still bath of 18 kg at 8 °C, K = 128.4 W/K:
//!
//! ```
//! use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
//! use gylebook::science::units::{Conductance, HeatCapacity, Mass, Temperature, TimeSpan};
//!
//! let celsius = Temperature::from_celsius;
//! let kettle = Kettle {
//!     wort: HeatCapacity::from_kilojoules_per_kelvin(10.464 * 3.94),
//!     loss: Loss::none(),
//! };
//! let bath = Bath::of_water(Mass::from_kilograms(18.0), celsius(8.0));
//! let start = Moment { wort: celsius(98.0), coolant: Coolant::Bath(bath) };
//! let stage = Stage::begin(start, kettle, Conductance::from_watts_per_kelvin(128.363));
//!
//! let after = stage.at(TimeSpan::from_minutes(5.0));
//! assert!((after.wort.celsius() - 53.541).abs() < 0.005);
//! // However long it stands, this bucket ends at 39.8 °C.
//! assert!((stage.coldest().celsius() - 39.829).abs() < 0.001);
//! ```

use super::constants::{ICE_LATENT, ICE_SPECIFIC, WATER_SPECIFIC};
use super::law::{Cold, Ways, bath_state};
use super::path::Path;
use crate::science::units::{
    Conductance, Density, Energy, HeatCapacity, Mass, SpecificHeat, Temperature, TimeSpan, Volume,
};

/// Water, with or without ice, that the coil stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bath {
    mass: Mass,
    heat: Energy,
}

impl Bath {
    /// `mass` of water, 0 to 100 °C.
    #[must_use]
    pub fn of_water(mass: Mass, at: Temperature) -> Self {
        let heat = mass.kilograms() * WATER_SPECIFIC * at.celsius();
        Self { mass, heat: Energy::from_joules(heat) }
    }

    /// The same bath with `ice` in it, come to rest; ice above 0 °C counts as 0 °C.
    ///
    /// ```
    /// use gylebook::science::chilling::stage::Bath;
    /// use gylebook::science::units::{Mass, Temperature};
    ///
    /// let bath = Bath::of_water(Mass::from_kilograms(12.0), Temperature::from_celsius(15.0))
    ///     .with_ice(Mass::from_kilograms(6.0), Temperature::from_celsius(0.0));
    /// // 12 kg × 4.186 × 15 K = 753 kJ melt 2.26 kg; 3.74 kg float on.
    /// assert_eq!(bath.temperature().celsius(), 0.0);
    /// assert!((bath.ice().kilograms() - 3.740).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn with_ice(self, ice: Mass, at: Temperature) -> Self {
        let below = at.celsius().min(0.0);
        let heat = ice.kilograms() * (ICE_SPECIFIC * below - ICE_LATENT);
        Self { mass: self.mass + ice, heat: self.heat + Energy::from_joules(heat) }
    }

    /// Water and ice together.
    #[must_use]
    pub const fn mass(&self) -> Mass {
        self.mass
    }

    /// Heat above liquid water at 0 °C; negative while there is ice.
    #[must_use]
    pub const fn heat(&self) -> Energy {
        self.heat
    }

    /// Temperature of the mixed bath.
    #[must_use]
    pub fn temperature(&self) -> Temperature {
        Temperature::from_celsius(bath_state(self.mass.kilograms(), self.heat.joules()).0)
    }

    /// Ice left in it.
    #[must_use]
    pub fn ice(&self) -> Mass {
        Mass::from_kilograms(bath_state(self.mass.kilograms(), self.heat.joules()).1)
    }

    pub(super) const fn from_raw(mass: Mass, heat: Energy) -> Self {
        Self { mass, heat }
    }

    pub(super) const fn raw(&self) -> Cold {
        Cold::Bath { mass: self.mass.kilograms(), heat: self.heat.joules() }
    }
}

/// What takes the heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Coolant {
    /// A bucket of water, with or without ice: it warms as the wort cools.
    Bath(Bath),
    /// Running water that comes in at one temperature; `K` is then
    /// effectiveness × flow × specific heat, against the inlet.
    Stream(Temperature),
    /// The room alone, pump off: `K` is the kettle's own way to the room, so the
    /// loss term is not counted a second time.
    Room,
}

/// The kettle's loss to the room, and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Conductance from the kettle to the room.
    pub conductance: Conductance,
    /// Its standard error; nil where it is taken as known.
    pub se: Conductance,
    /// Temperature of the room.
    pub room: Temperature,
}

impl Loss {
    /// What an unmeasured kettle is taken to lose: 10 ± 3.5 W/K.
    ///
    /// Kettles lose 4 to 16 W/K (common practice, no source); a rectangle from 4
    /// to 16 has the mean 10 and the standard deviation 12/√12 [GUM-2008, 4.3.7].
    #[must_use]
    pub const fn assumed(room: Temperature) -> Self {
        Self {
            conductance: Conductance::from_watts_per_kelvin(10.0),
            se: Conductance::from_watts_per_kelvin(3.464),
            room,
        }
    }

    /// A loss taken as known.
    #[must_use]
    pub const fn known(conductance: Conductance, room: Temperature) -> Self {
        Self { conductance, se: Conductance::ZERO, room }
    }

    /// No loss at all, a lagged and lidded kettle of the textbook.
    #[must_use]
    pub const fn none() -> Self {
        Self::known(Conductance::ZERO, Temperature::REFERENCE)
    }
}

/// The kettle: how much heat its wort holds, and how it loses it by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kettle {
    /// Heat capacity of the wort.
    pub wort: HeatCapacity,
    /// Loss to the room.
    pub loss: Loss,
}

impl Kettle {
    /// The same kettle, lagged: what it does without the room's help.
    ///
    /// Left for hours, any kettle comes down to the room; what a *bath* can do
    /// is told without that.
    #[must_use]
    pub const fn lagged(self) -> Self {
        Self { loss: Loss::known(Conductance::ZERO, self.loss.room), ..self }
    }

    /// A kettle that holds `volume` of wort, measured at 20 °C.
    ///
    /// `density` is the wort's at 20 °C, `specific_heat` its mean over the chill:
    /// 1046.4 kg/m³ and 3.94 kJ/(kg·K) at 12 °P.
    #[must_use]
    pub fn holding(volume: Volume, density: Density, specific_heat: SpecificHeat, loss: Loss) -> Self {
        Self { wort: volume * density * specific_heat, loss }
    }
}

/// Wort and coolant at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Temperature of the mixed wort.
    pub wort: Temperature,
    /// What takes its heat.
    pub coolant: Coolant,
}

/// A stage from its start on: where wort and bath are at any time after.
#[derive(Clone, Copy, Debug)]
pub struct Stage {
    path: Path,
    coolant: Coolant,
}

impl Stage {
    /// Solves the stage that starts at `start` with a coil of conductance `coil`.
    ///
    /// `coil` ≥ 0 W/K; nil is a coil taken out: only the room cools.
    #[must_use]
    pub fn begin(start: Moment, kettle: Kettle, coil: Conductance) -> Self {
        let (cold, ways) = raw(start.coolant, kettle, coil);
        Self { path: Path::new(start.wort.celsius(), cold, ways), coolant: start.coolant }
    }

    /// Wort and coolant `after` the start.
    #[must_use]
    pub fn at(&self, after: TimeSpan) -> Moment {
        let t = after.seconds().max(0.0);
        let coolant = match (self.coolant, self.path.cold(t)) {
            (Coolant::Bath(_), Cold::Bath { mass, heat }) => {
                Coolant::Bath(Bath::from_raw(Mass::from_kilograms(mass), Energy::from_joules(heat)))
            }
            (same, _) => same,
        };
        Moment { wort: Temperature::from_celsius(self.path.wort(t)), coolant }
    }

    /// Time from the start until the wort is at or below `target`; `None` where
    /// this coolant never gets it there.
    #[must_use]
    pub fn reaches(&self, target: Temperature) -> Option<TimeSpan> {
        self.path.reaches(target.celsius()).map(TimeSpan::from_seconds)
    }

    /// The coldest the wort gets, however long it stands.
    #[must_use]
    pub fn coldest(&self) -> Temperature {
        Temperature::from_celsius(self.path.coldest().0)
    }

    /// When the last ice melts; `None` where there is none or it outlasts the chill.
    #[must_use]
    pub fn ice_gone(&self) -> Option<TimeSpan> {
        self.path.ice_gone().map(TimeSpan::from_seconds)
    }

    /// Heat that has passed the coil `after` the start.
    #[must_use]
    pub fn heat_through_coil(&self, after: TimeSpan) -> Energy {
        Energy::from_joules(self.path.heats(after.seconds()).1)
    }

    /// Share of what the bath could take from this wort, were the two left alone
    /// for ever, that it has taken `after` the start; `None` where it is no bath,
    /// or no colder than the wort.
    #[must_use]
    pub fn bath_used(&self, after: TimeSpan) -> Option<f64> {
        let Coolant::Bath(bath) = self.coolant else {
            return None;
        };
        let wort = self.path.wort(0.0);
        let alone = Path::new(wort, bath.raw(), Ways { loss: 0.0, ..self.path.ways() });
        let all = alone.ways().wort * (wort - alone.coldest().0);
        (all > 0.0).then(|| self.heat_through_coil(after).joules() / all)
    }

    /// Heat the kettle has lost to the room `after` the start.
    #[must_use]
    pub fn heat_to_room(&self, after: TimeSpan) -> Energy {
        Energy::from_joules(self.path.heats(after.seconds()).0)
    }
}

/// Coolant and ways of heat as the closed forms take them.
pub(super) fn raw(coolant: Coolant, kettle: Kettle, coil: Conductance) -> (Cold, Ways) {
    let room = kettle.loss.room.celsius();
    let ways = Ways {
        wort: kettle.wort.joules_per_kelvin(),
        coil: coil.watts_per_kelvin(),
        loss: kettle.loss.conductance.watts_per_kelvin(),
        room,
    };
    match coolant {
        Coolant::Bath(bath) => (bath.raw(), ways),
        Coolant::Stream(inlet) => (Cold::Held(inlet.celsius()), ways),
        Coolant::Room => (Cold::Held(room), Ways { loss: 0.0, ..ways }),
    }
}
