//! The heat balance of the mash: malt, water and vessel meet at one temperature.
//!
//! ```text
//! W [h(T_s) − h(T)] = m c (T − T_m) + C_v (T − T_v) − m q
//! ```
//! `W` water (kg) at `T_s`, `h` its enthalpy [IAPWS-95]; `m` malt (kg) of
//! specific heat `c` at `T_m`, `q` heat of wetting (kJ/kg); `C_v` heat capacity
//! of the vessel at `T_v`; `T` the mash. Energy balance without loss to the
//! room, right within 1 °C on a real mash. The short forms of the books are this
//! balance with `c` = 0.41 of water's and no vessel [Palmer-2006], the British
//! "initial heat" the same with a slaking heat [Pauls-1984]; both are met within
//! 0.1 °C when they are given the same heats.

use std::fmt;

use crate::science::range::OutOfRange;
use crate::science::units::{Energy, HeatCapacity, Mass, SpecificEnergy, SpecificHeat, Temperature};
use crate::science::water;

/// Specific heat of malt where its moisture is not known, 1.72 kJ/(kg K): 0.41
/// of water's [Palmer-2006], inside the 1.59–1.76 of [Pauls-1984].
pub const MALT: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(1.72);

/// Specific heat of malt by moisture: `c = 4.1868 (0.38 + 0.5 M)`.
///
/// kJ/(kg K), `M` 0–0.08 as a fraction. Our line through a printed table,
/// within 0.005 of water's specific heat of every entry [Pauls-1984].
///
/// # Errors
/// A moisture outside 0–0.2.
///
/// ```
/// use gylebook::science::mash::heat;
/// let c = heat::malt_specific_heat(0.04).unwrap();
/// assert!((c.kilojoules_per_kg_kelvin() - 1.67).abs() < 0.01);
/// ```
pub fn malt_specific_heat(moisture: f64) -> Result<SpecificHeat, OutOfRange> {
    let m = OutOfRange::check("moisture", moisture, (0.0, 0.2), "")?;
    Ok(SpecificHeat::from_kilojoules_per_kg_kelvin(4.1868 * (0.38 + 0.5 * m)))
}

/// Malt as it goes into the mash.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grist {
    /// How much.
    pub mass: Mass,
    /// How warm it is.
    pub temperature: Temperature,
    /// Its specific heat.
    pub specific_heat: SpecificHeat,
    /// Heat it gives off when wetted, for each kilogram. The short forms leave
    /// it out; with it the mash comes out 0.5–2 °C warmer [Pauls-1984].
    pub wetting: SpecificEnergy,
}

impl Grist {
    /// Malt of usual moisture, its heat of wetting left out.
    #[must_use]
    pub const fn new(mass: Mass, temperature: Temperature) -> Self {
        Self { mass, temperature, specific_heat: MALT, wetting: SpecificEnergy::ZERO }
    }

    fn heat_capacity(self) -> HeatCapacity {
        self.mass * self.specific_heat
    }
}

/// A vessel that has to be warmed as well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vessel {
    /// Heat that warms it by one kelvin; steel holds 0.5 kJ/(kg K) [CRC-Handbook].
    pub heat_capacity: HeatCapacity,
    /// How warm it is when the mash goes in.
    pub temperature: Temperature,
}

impl Vessel {
    /// A vessel that takes no heat, or is at mash temperature already.
    pub const NONE: Self = Self { heat_capacity: HeatCapacity::ZERO, temperature: Temperature::REFERENCE };
}

/// Why a mash can't be reckoned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MashError {
    /// It would take water hotter than 100 °C.
    TooLittleWater,
    /// The water to be added is no hotter than the mash is to be.
    LiquorTooCool(Temperature),
    /// The mash is at or above the target.
    AlreadyThere(Temperature),
    /// A figure lies where none of this holds.
    OutOfRange(OutOfRange),
}

impl fmt::Display for MashError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLittleWater => {
                write!(f, "so little mash water would have to be hotter than boiling")
            }
            Self::LiquorTooCool(t) => {
                write!(f, "liquor of {:.1} °C can't warm the mash to that", t.celsius())
            }
            Self::AlreadyThere(t) => {
                write!(f, "the mash is at {:.1} °C already, no warmer rest to reach", t.celsius())
            }
            Self::OutOfRange(which) => which.fmt(f),
        }
    }
}

impl std::error::Error for MashError {}

impl From<OutOfRange> for MashError {
    fn from(which: OutOfRange) -> Self {
        Self::OutOfRange(which)
    }
}

const WATER_KG: (f64, f64) = (0.01, 1e5);
const LIQUID_C: (f64, f64) = (0.0, 100.0);

fn check(water: Mass, what: &'static str, at: Temperature) -> Result<(), OutOfRange> {
    OutOfRange::check("mash water", water.kilograms(), WATER_KG, "kg")?;
    OutOfRange::check(what, at.celsius(), LIQUID_C, "°C").map(|_| ())
}

/// How hot the strike water must be: the balance above solved for `T_s`.
///
/// # Errors
/// Too little water to do it below the boil; a mash outside 0–100 °C.
///
/// ```
/// use gylebook::science::mash::heat::{self, Grist, Vessel};
/// use gylebook::science::units::{HeatCapacity, Mass, Temperature};
/// let at = Temperature::from_celsius;
/// let grist = Grist::new(Mass::from_kilograms(5.0), at(18.0));
/// let tun = Vessel {
///     heat_capacity: HeatCapacity::from_kilojoules_per_kelvin(4.0),
///     temperature: at(18.0),
/// };
/// let strike = heat::strike_temperature(grist, tun, Mass::from_kilograms(15.0), at(66.0));
/// assert!((strike.unwrap().celsius() - 75.63).abs() < 0.01);
/// ```
pub fn strike_temperature(
    grist: Grist,
    vessel: Vessel,
    water: Mass,
    mash: Temperature,
) -> Result<Temperature, MashError> {
    check(water, "mash temperature", mash)?;
    let taken = grist.heat_capacity() * (mash - grist.temperature) + vessel.heat_capacity * (mash - vessel.temperature)
        - grist.mass * grist.wetting;
    let enthalpy = water::enthalpy(mash) + taken / water;
    if enthalpy > water::enthalpy(Temperature::from_celsius(100.0)) {
        return Err(MashError::TooLittleWater);
    }
    let balance = |t| (water * (water::enthalpy(t) - enthalpy), water * water::specific_heat(t));
    Ok(solve(mash, balance))
}

/// Where the mash settles for a given strike temperature: the balance solved for `T`.
///
/// # Errors
/// Strike water outside 0–100 °C, or none.
///
/// ```
/// use gylebook::science::mash::heat::{self, Grist, Vessel};
/// use gylebook::science::units::{Mass, Temperature};
/// let at = Temperature::from_celsius;
/// let grist = Grist::new(Mass::from_kilograms(5.0), at(20.0));
/// let mash = heat::mash_temperature(grist, Vessel::NONE, Mass::from_kilograms(15.0), at(73.42));
/// assert!((mash.unwrap().celsius() - 67.0).abs() < 0.05);
/// ```
pub fn mash_temperature(
    grist: Grist,
    vessel: Vessel,
    water: Mass,
    strike: Temperature,
) -> Result<Temperature, MashError> {
    check(water, "strike temperature", strike)?;
    let brought = water::enthalpy(strike);
    Ok(solve(strike, |t| {
        let gained = water * (water::enthalpy(t) - brought)
            + grist.heat_capacity() * (t - grist.temperature)
            + vessel.heat_capacity * (t - vessel.temperature)
            - grist.mass * grist.wetting;
        let slope = water * water::specific_heat(t) + grist.heat_capacity() + vessel.heat_capacity;
        (gained, slope)
    }))
}

/// How much hot liquor lifts a mash to its next rest.
///
/// `W_a [h(T_l) − h(T₂)] = (m c + C_v)(T₂ − T₁) + W [h(T₂) − h(T₁)]`, kg; the
/// vessel is at mash temperature. To pour it by volume, divide by the density of
/// water as warm as it is measured.
///
/// # Errors
/// Liquor no hotter than the rest; a mash that is there already.
///
/// ```
/// use gylebook::science::mash::heat::{self, Grist, Vessel};
/// use gylebook::science::units::{Mass, Temperature};
/// let (kg, at) = (Mass::from_kilograms, Temperature::from_celsius);
/// let grist = Grist::new(kg(5.0), at(52.0));
/// let add = heat::infusion(grist, Vessel::NONE, kg(15.0), at(66.0), at(99.0));
/// assert!((add.unwrap().kilograms() - 7.2).abs() < 0.03);
/// ```
pub fn infusion(
    mash: Grist,
    vessel: Vessel,
    water: Mass,
    rest: Temperature,
    liquor: Temperature,
) -> Result<Mass, MashError> {
    check(water, "mash temperature", rest)?;
    check(water, "liquor temperature", liquor)?;
    let now = mash.temperature;
    if now >= rest {
        return Err(MashError::AlreadyThere(now));
    }
    // Within half a degree of the rest it would take a lake.
    if (liquor - rest).kelvins() < 0.5 {
        return Err(MashError::LiquorTooCool(liquor));
    }
    let taken = (mash.heat_capacity() + vessel.heat_capacity) * (rest - now)
        + water * (water::enthalpy(rest) - water::enthalpy(now));
    Ok(taken / (water::enthalpy(liquor) - water::enthalpy(rest)))
}

/// Newton's method on a balance that gives (heat too much, heat per kelvin).
fn solve(start: Temperature, balance: impl Fn(Temperature) -> (Energy, HeatCapacity)) -> Temperature {
    (0..12).fold(start, |t, _| {
        let (too_much, per_kelvin) = balance(t);
        t - too_much / per_kelvin
    })
}
