//! Water: how dense, how much heat it holds, what ice and steam take with them.
//!
//! Every hot volume and every heat balance of the day rests on this page. The
//! polynomials in `t/100` are our own fits to reference values computed with a
//! general library from the international formulation [IAPWS-95]; each says how
//! far it lies from them.

use super::units::{Density, Mass, SpecificEnergy, SpecificHeat, Temperature, Volume};

/// Heat that melts a kilogram of ice at 0 °C, 333.43 kJ [IAPWS-R10-06, IAPWS-95].
///
/// The 333.55 often printed is an older handbook value; in a chill the two
/// differ by 0.005 °C.
pub const ICE_MELTING: SpecificEnergy = SpecificEnergy::from_kilojoules_per_kg(333.43);

/// Density of water at air pressure.
///
/// ```text
/// ρ = (999.83952 + 16.945176 t − 7.9870401e−3 t² − 46.170461e−6 t³
///      + 105.56302e−9 t⁴ − 280.54253e−12 t⁵) / (1 + 16.879850e−3 t)
/// ```
/// `ρ` kg/m³, `t` °C. Valid 0–150 °C; within 0.015 kg/m³ of [IAPWS-95] to
/// 100 °C. Source: [Kell-1975].
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let at_60 = water::density(Temperature::from_celsius(60.0));
/// assert!((at_60.kg_per_m3() - 983.199).abs() < 0.001);
/// ```
#[must_use]
pub fn density(at: Temperature) -> Density {
    let t = at.celsius();
    let above = horner(t, &[999.839_52, 16.945_176, -7.987_040_1e-3, -46.170_461e-6, 105.563_02e-9, -280.542_53e-12]);
    Density::from_kg_per_m3(above / (1.0 + 16.879_850e-3 * t))
}

/// Mass of a volume of water measured at a temperature: `m = V ρ(t)`.
///
/// Litres and °C in, kilograms out; 0–150 °C [Kell-1975].
///
/// ```
/// use gylebook::science::{units::{Temperature, Volume}, water};
/// let kettle = water::mass(Volume::from_litres(20.0), Temperature::from_celsius(95.0));
/// assert!((kettle.kilograms() - 19.238).abs() < 0.001);
/// ```
#[must_use]
pub fn mass(volume: Volume, at: Temperature) -> Mass {
    volume * density(at)
}

/// What a volume of water read at one temperature measures at another:
/// `V₂ = V₁ ρ(t₁)/ρ(t₂)`.
///
/// Hot water brought to 20 °C shrinks by 4 % from the boil [Kell-1975]. Wort
/// shrinks alike, see [`super::wort::shrinkage`].
///
/// ```
/// use gylebook::science::{units::{Temperature, Volume}, water};
/// let cold = water::volume_at(
///     Volume::from_litres(10.0),
///     Temperature::from_celsius(80.0),
///     Temperature::REFERENCE,
/// );
/// assert!((cold.litres() - 9.735).abs() < 0.001);
/// ```
#[must_use]
pub fn volume_at(volume: Volume, read_at: Temperature, wanted_at: Temperature) -> Volume {
    mass(volume, read_at) / density(wanted_at)
}

/// Coefficients of the specific heat in `x = t/100`, kJ/(kg K): our fit to
/// [IAPWS-95], residual below 0.00014.
const SPECIFIC_HEAT: [f64; 7] = [4.219_310, -0.335_459, 1.125_892, -2.065_308, 2.313_073, -1.398_446, 0.356_723];

/// Enthalpy at 0 °C and air pressure, kJ/kg [IAPWS-95].
const ENTHALPY_AT_ICE_POINT: f64 = 0.061;

/// Specific heat of water at air pressure, least (4.179) near 35 °C.
///
/// `c = Σ aᵢ (t/100)ⁱ`, kJ/(kg K), `t` °C, 0–100 °C; within 0.00014 of
/// [IAPWS-95], to which it was fitted.
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let warm = water::specific_heat(Temperature::from_celsius(80.0));
/// assert!((warm.kilojoules_per_kg_kelvin() - 4.1968).abs() < 0.001);
/// ```
#[must_use]
pub fn specific_heat(at: Temperature) -> SpecificHeat {
    SpecificHeat::from_kilojoules_per_kg_kelvin(horner(at.celsius() / 100.0, &SPECIFIC_HEAT))
}

/// Heat held by a kilogram of water, counted from the triple point.
///
/// `h = h₀ + 100 Σ aᵢ (t/100)^(i+1)/(i+1)`, the integral of
/// [`specific_heat`]; kJ/kg, 0–100 °C, within 0.0003 of [IAPWS-95].
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let strike = water::enthalpy(Temperature::from_celsius(75.0));
/// assert!((strike.kilojoules_per_kg() - 314.08).abs() < 0.02);
/// ```
#[must_use]
pub fn enthalpy(at: Temperature) -> SpecificEnergy {
    let x = at.celsius() / 100.0;
    let integral = SPECIFIC_HEAT.iter().rev().zip((1..=7).rev()).fold(0.0, |sum, (a, n)| sum * x + a / f64::from(n));
    SpecificEnergy::from_kilojoules_per_kg(ENTHALPY_AT_ICE_POINT + 100.0 * x * integral)
}

/// Mean specific heat between two temperatures: `(h₂ − h₁)/(t₂ − t₁)`.
///
/// kJ/(kg K), 0–100 °C [IAPWS-95].
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let mean = water::mean_specific_heat(Temperature::REFERENCE, Temperature::from_celsius(100.0));
/// assert!((mean.kilojoules_per_kg_kelvin() - 4.1895).abs() < 0.001);
/// ```
#[must_use]
pub fn mean_specific_heat(from: Temperature, to: Temperature) -> SpecificHeat {
    let rise = (to - from).kelvins();
    if rise.abs() < 1e-3 {
        return specific_heat(from);
    }
    let heat = (enthalpy(to) - enthalpy(from)).joules_per_kg();
    SpecificHeat::from_joules_per_kg_kelvin(heat / rise)
}

/// Heat that turns a kilogram of boiling water to steam.
///
/// ```text
/// r = 2500.91 − 237.55 x + 5.465 x² − 12.433 x³,   x = t/100
/// ```
/// kJ/kg, `t` °C, 1–110 °C; our fit to [IAPWS-95], residual below 0.03. At the
/// boil it says what a burner can evaporate: 1 kW takes off 1.6 kg/h.
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let steam = water::vaporisation(Temperature::from_celsius(100.0));
/// assert!((steam.kilojoules_per_kg() - 2256.4).abs() < 0.3);
/// ```
#[must_use]
pub fn vaporisation(at: Temperature) -> SpecificEnergy {
    let x = at.celsius() / 100.0;
    SpecificEnergy::from_kilojoules_per_kg(horner(x, &[2500.9103, -237.5478, 5.4650, -12.4329]))
}

/// Heat a kilogram of ice takes up until it is water at 0 °C.
///
/// `q = 333.43 + 2.0965 d − 0.003665 d²`, kJ/kg, `d` how many kelvins the ice is
/// below 0 °C (0–30); our fit to [IAPWS-R10-06], residual below 0.002. Freezer
/// ice at −18 °C is worth a tenth more than ice from a wet bucket.
///
/// ```
/// use gylebook::science::{units::Temperature, water};
/// let freezer = water::ice_heat(Temperature::from_celsius(-18.0));
/// assert!((freezer.kilojoules_per_kg() - 370.0).abs() < 0.3);
/// ```
#[must_use]
pub fn ice_heat(ice: Temperature) -> SpecificEnergy {
    let below = (Temperature::ICE_POINT - ice).kelvins().max(0.0);
    ICE_MELTING + SpecificEnergy::from_kilojoules_per_kg(below * (2.0965 - 0.003_665 * below))
}

/// A polynomial by Horner's rule, lowest coefficient first.
pub(super) fn horner(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, a| sum * x + a)
}
