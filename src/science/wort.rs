//! Wort: how dense, how much it shrinks, how much heat it carries.
//!
//! Wort is taken as a sucrose solution of the same strength. That is how the
//! trade's own tables are made, and it is right within 0.1 % in density and
//! 1.5 % in specific heat.

use super::units::{Density, HeatCapacity, Mass, Plato, SpecificHeat, Temperature, TemperatureDifference, Volume};
use super::water::{self, horner};

/// `bᵢ` of [`density`], w¹ to w⁶ [Emmerich-1994, Bubnik-1995].
const B: [f64; 7] = [0.0, 385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890];
/// `cₖᵢ` of [`density`] for x¹ to x⁴ [Emmerich-1994, Bubnik-1995].
const C: [[f64; 6]; 4] = [
    [0.0, -46.2720, -7.1720, 1.1597, 5.1126, 17.5254],
    [0.0, 59.7712, 7.2491, 12.3630, -35.4791, 0.0],
    [0.0, -47.2207, -21.6977, 27.6301, 0.0, 0.0],
    [0.0, 18.3184, 12.3081, 0.0, 0.0, 0.0],
];

/// Density of wort of a strength at a temperature.
///
/// ```text
/// ρ(w,t) = ρw(t) + Σ bᵢ wⁱ + Σₖ xᵏ Σ cₖᵢ wⁱ,   x = (t − 20)/100
/// ρw(t)  = (999.83952 + 16.952577 t − 7.9905127e−3 t² − 46.241757e−6 t³
///           + 105.84601e−9 t⁴ − 281.03006e−12 t⁵) / (1 + 16.887236e−3 t)
/// ```
/// `ρ` kg/m³ in vacuo, `w` extract as a mass fraction (°P/100), `t` °C.
/// Valid 0–100 °C, 0–85 °P for sucrose; hot wort differs by up to 0.1 %.
/// Source: the ICUMSA polynomial [Emmerich-1994, Bubnik-1995]. Checked: printed
/// sucrose tables at 15 and 20 °C, each within its last place.
///
/// ```
/// use gylebook::science::{units::{Plato, Temperature}, wort};
/// let hot = wort::density(Plato::from_degrees(12.0), Temperature::from_celsius(80.0));
/// assert!((hot.kg_per_m3() - 1018.29).abs() < 0.005);
/// ```
#[must_use]
pub fn density(strength: Plato, at: Temperature) -> Density {
    let (w, t) = (strength.mass_fraction(), at.celsius());
    let x = (t - 20.0) / 100.0;
    let above = horner(t, &[999.839_52, 16.952_577, -7.990_512_7e-3, -46.241_757e-6, 105.846_01e-9, -281.030_06e-12]);
    let water = above / (1.0 + 16.887_236e-3 * t);
    let by_temperature = C.iter().rev().fold(0.0, |sum, c| (sum + horner(w, c)) * x);
    Density::from_kg_per_m3(water + horner(w, &B) + by_temperature)
}

/// What a hot volume of wort shrinks to at 20 °C, as a factor: `ρ(w,t)/ρ(w,20)`.
///
/// 0.960 from 100 °C whatever the strength: the trade's "4 %". Valid
/// 0–100 °C; honest within 0.0005, and a steel kettle itself grows by 0.4 %
/// from 20 to 100 °C, which is not in it. Source as [`density`].
///
/// ```
/// use gylebook::science::{units::{Plato, Temperature}, wort};
/// let factor = wort::shrinkage(Plato::from_degrees(12.0), Temperature::from_celsius(100.0));
/// assert!((factor - 0.96008).abs() < 5e-6);
/// ```
#[must_use]
pub fn shrinkage(strength: Plato, at: Temperature) -> f64 {
    density(strength, at) / density(strength, Temperature::REFERENCE)
}

/// Specific heat of wort.
///
/// `c = c_w(t) + w (−2.511 + 0.0075 t)`, kJ/(kg K), `t` °C, `w` mass fraction.
/// 0–100 °C, 0–25 °P, honest within 1.5 %. The sugar-solution equation at
/// purity 1 [Llano-2005, Bubnik-1995] with its constant 4.184 replaced by
/// water's own specific heat [IAPWS-95]. Checked: the printed form, within its
/// 1.5 %; the two differ most at 0 and 100 °C.
///
/// ```
/// use gylebook::science::{units::{Plato, Temperature}, wort};
/// let c = wort::specific_heat(Plato::from_degrees(12.0), Temperature::from_celsius(60.0));
/// assert!((c.kilojoules_per_kg_kelvin() - 3.938).abs() < 0.001);
/// ```
#[must_use]
pub fn specific_heat(strength: Plato, at: Temperature) -> SpecificHeat {
    water::specific_heat(at) + dissolved(strength, at.celsius())
}

/// Mean specific heat of wort between two temperatures, for a heat balance.
///
/// Water's mean plus the sugar's share at the middle (it is linear in `t`);
/// units, range and source as [`specific_heat`].
///
/// ```
/// use gylebook::science::{units::{Plato, Temperature}, wort};
/// let (cold, hot) = (Temperature::REFERENCE, Temperature::from_celsius(100.0));
/// let c = wort::mean_specific_heat(Plato::from_degrees(12.0), cold, hot);
/// assert!((c.kilojoules_per_kg_kelvin() - 3.94).abs() < 0.005);
/// ```
#[must_use]
pub fn mean_specific_heat(strength: Plato, from: Temperature, to: Temperature) -> SpecificHeat {
    let middle = (from.celsius() + to.celsius()) / 2.0;
    water::mean_specific_heat(from, to) + dissolved(strength, middle)
}

/// What dissolved extract adds to (takes from) the specific heat of water.
fn dissolved(strength: Plato, celsius: f64) -> SpecificHeat {
    SpecificHeat::from_kilojoules_per_kg_kelvin(strength.mass_fraction() * (0.0075 * celsius - 2.511))
}

/// A volume of wort at 20 °C and how strong it is.
///
/// ```
/// use gylebook::science::{units::{Plato, Temperature, Volume}, wort::Wort};
/// let wort = Wort::new(Volume::from_litres(20.0), Plato::from_degrees(12.0));
/// assert!((wort.mass().kilograms() - 20.929).abs() < 0.001);
/// assert!((wort.extract().kilograms() - 2.511).abs() < 0.001);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wort {
    /// Its volume at 20 °C.
    pub volume: Volume,
    /// Extract by mass.
    pub strength: Plato,
}

impl Wort {
    /// A volume at 20 °C and its strength.
    #[must_use]
    pub const fn new(volume: Volume, strength: Plato) -> Self {
        Self { volume, strength }
    }

    /// The same wort from a volume read hot (or cold): brought to 20 °C by [`shrinkage`].
    ///
    /// ```
    /// use gylebook::science::{units::{Plato, Temperature, Volume}, wort::Wort};
    /// let boil = Temperature::from_celsius(100.0);
    /// let wort = Wort::read_at(Volume::from_litres(25.0), boil, Plato::from_degrees(12.0));
    /// assert!((wort.volume.litres() - 24.0).abs() < 0.005);
    /// assert!((wort.volume_at(boil).litres() - 25.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn read_at(volume: Volume, at: Temperature, strength: Plato) -> Self {
        Self::new(volume * shrinkage(strength, at), strength)
    }

    /// Wort made of so much extract and so much water: `w = E/(E + W)`.
    ///
    /// Masses add up when worts are mixed; volumes do not. Nothing at all gives
    /// an empty wort of 0 °P.
    ///
    /// ```
    /// use gylebook::science::{units::Mass, wort::Wort};
    /// let wort = Wort::of(Mass::from_kilograms(2.4), Mass::from_kilograms(17.6));
    /// assert!((wort.strength.degrees() - 12.0).abs() < 1e-9);
    /// assert!((wort.volume.litres() - 19.112).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn of(extract: Mass, water: Mass) -> Self {
        let mass = extract + water;
        if mass <= Mass::ZERO {
            return Self::new(Volume::ZERO, Plato::from_degrees(0.0));
        }
        let strength = Plato::from_mass_fraction(extract / mass);
        Self::new(mass / density(strength, Temperature::REFERENCE), strength)
    }

    /// Wort that holds so much extract in a volume at 20 °C.
    ///
    /// Solves `w ρ(w,20) = E/V` by repeated substitution: each pass gains
    /// about a digit at wort strength. A volume of nothing gives 0 °P.
    ///
    /// ```
    /// use gylebook::science::{units::{Mass, Volume}, wort::Wort};
    /// let wort = Wort::holding(Mass::from_kilograms(2.4923), Volume::from_litres(20.0));
    /// assert!((wort.strength.degrees() - 11.912).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn holding(extract: Mass, volume: Volume) -> Self {
        if volume <= Volume::ZERO {
            return Self::new(volume, Plato::from_degrees(0.0));
        }
        let concentration = extract / volume;
        let start = Plato::from_degrees(0.0);
        let strength = (0..60).fold(start, |strength, _| {
            let fraction = concentration / density(strength, Temperature::REFERENCE);
            Plato::from_mass_fraction(fraction.min(0.85))
        });
        Self::new(volume, strength)
    }

    /// Its mass, `m = V ρ(w,20)`.
    #[must_use]
    pub fn mass(self) -> Mass {
        self.volume * density(self.strength, Temperature::REFERENCE)
    }

    /// The extract dissolved in it, `E = m w`.
    #[must_use]
    pub fn extract(self) -> Mass {
        self.mass() * self.strength.mass_fraction()
    }

    /// The water in it, `W = m (1 − w)`.
    #[must_use]
    pub fn water(self) -> Mass {
        self.mass() * (1.0 - self.strength.mass_fraction())
    }

    /// Heat that warms it by one kelvin at a temperature, `C = m c(w,t)`.
    ///
    /// ```
    /// use gylebook::science::{units::{Plato, Temperature, Volume}, wort::Wort};
    /// let wort = Wort::new(Volume::from_litres(20.0), Plato::from_degrees(12.0));
    /// let c = wort.heat_capacity(Temperature::from_celsius(60.0));
    /// assert!((c.kilojoules_per_kelvin() - 82.4).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn heat_capacity(self, at: Temperature) -> HeatCapacity {
        self.mass() * specific_heat(self.strength, at)
    }

    /// Mean heat capacity between two temperatures, for a chill or a mash step.
    #[must_use]
    pub fn mean_heat_capacity(self, from: Temperature, to: Temperature) -> HeatCapacity {
        self.mass() * mean_specific_heat(self.strength, from, to)
    }

    /// What it measures in the kettle at a temperature: the volume at 20 °C
    /// over [`shrinkage`].
    #[must_use]
    pub fn volume_at(self, at: Temperature) -> Volume {
        self.volume / shrinkage(self.strength, at)
    }
}

/// How much higher than water a wort boils.
///
/// `ΔT = 0.512 b`, `b = 1000 w/(342.3 (1 − w))` mol/kg, the ideal ebullioscopic
/// rise for sucrose [CRC-Handbook]: 0.20 K at 12 °P. 0–30 °P; maltose and
/// dextrins of the same mass raise it a little more or less. Checked: 0.513 is
/// what the heat of steam makes of it, `R T²/r`.
///
/// ```
/// use gylebook::science::{units::Plato, wort};
/// assert!((wort::boiling_rise(Plato::from_degrees(12.0)).kelvins() - 0.20).abs() < 0.005);
/// ```
#[must_use]
pub fn boiling_rise(strength: Plato) -> TemperatureDifference {
    let w = strength.mass_fraction();
    TemperatureDifference::from_kelvins(0.512 * 1000.0 * w / (342.3 * (1.0 - w)))
}
