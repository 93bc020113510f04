//! Water's density and heat [Kell-1975, IAPWS-95].

use gylebook::science::units::{SpecificEnergy, Temperature};
use gylebook::science::water;

use crate::table::{Score, Table, rounded_to};

#[test]
fn density_is_the_published_formula() {
    let table = Table::read("02_water_density.csv");
    // The table prints the formula's own values to three places.
    let mut formula = Score::new("water density, Kell's formula (kg/m³)", rounded_to(3));
    // IAPWS-95 from two libraries: "0.01 up to 70 °C, 0.015 at 100 °C".
    let mut reference = Score::new("water density against IAPWS-95 (kg/m³)", 0.015);
    // 0.015 kg/m³ in a thousand, and five places of print.
    let mut shrinkage = Score::new("water, hot volume to 20 °C, against IAPWS-95", 2e-5);
    for row in table.rows() {
        let at = Temperature::from_celsius(row.number("t_C"));
        let ours = water::density(at).kg_per_m3();
        formula.check(ours, row.number("kell1975"), at);
        reference.check(ours, row.number("iapws95"), at);
        let factor = water::density(at) / water::density(Temperature::REFERENCE);
        shrinkage.check(factor, row.number("shrink_to_20"), at);
    }
    formula.end();
    reference.end();
    shrinkage.end();
}

#[test]
fn heat_follows_the_international_formulation() {
    // Tolerances the table states: 0.001 in the specific heat, 0.02 in enthalpy.
    let mut specific = Score::new("water specific heat (kJ/kg K)", 0.001);
    let mut enthalpy = Score::new("water enthalpy (kJ/kg)", 0.02);
    let mut mean = Score::new("water mean specific heat from 20 °C (kJ/kg K)", 0.001);
    for row in Table::read("03_water_heat.csv").rows() {
        let at = Temperature::from_celsius(row.number("t_C"));
        specific.check(water::specific_heat(at).kilojoules_per_kg_kelvin(), row.number("cp"), at);
        enthalpy.check(water::enthalpy(at).kilojoules_per_kg(), row.number("h"), at);
        if at != Temperature::REFERENCE {
            let ours = water::mean_specific_heat(Temperature::REFERENCE, at);
            mean.check(ours.kilojoules_per_kg_kelvin(), row.number("mean_cp_from_20C"), at);
        }
    }
    specific.end();
    enthalpy.end();
    mean.end();
}

#[test]
fn latent_heats_lie_within_the_tables_tolerances() {
    let ours = |what: &str| -> Option<SpecificEnergy> {
        let celsius = |text: &str| Temperature::from_celsius(text.parse().unwrap());
        if let Some(from) = what.strip_prefix("ice from ") {
            return Some(water::ice_heat(celsius(from.split(' ').next()?)));
        }
        match what {
            "ice melting at 0 C 101.325 kPa" | "ice melting, handbook value" => {
                Some(water::ice_heat(Temperature::ICE_POINT))
            }
            "vaporisation at 100 C (101.418 kPa)" => Some(water::vaporisation(celsius("100"))),
            _ => {
                let at = what.split_once('(')?.1.strip_suffix(" C)")?;
                Some(water::vaporisation(celsius(at)))
            }
        }
    };
    for row in Table::read("03_latent_heats.csv").rows() {
        let what = row.text("what");
        let mut score = Score::new("latent heat (kJ/kg)", row.number("tolerance"));
        let ours = ours(what).unwrap_or_else(|| panic!("{what} is not understood"));
        score.check(ours.kilojoules_per_kg(), row.number("kJ_per_kg"), what);
        score.end();
    }
}
