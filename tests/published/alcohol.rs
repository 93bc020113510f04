//! Balling's relations, which come from memory, against densities that do not.
//!
//! A beer of real extract `R` and alcohol `A` (by mass) is mixed here from
//! ethanol-water of known density and extract of known volume; the gravity of
//! that mixture must lead back to the apparent extract the relations started
//! from.

use gylebook::science::gravity::{self, attenuation};
use gylebook::science::units::{Plato, SpecificGravity, Temperature};
use gylebook::science::{water, wort};

use crate::table::Score;

/// Density of ethanol-water at 20 °C by mass of ethanol [OIML-R22], its twelve
/// coefficients `A₁` to `A₁₂`, kg/m³.
fn ethanol_water(p: f64) -> f64 {
    const A: [f64; 12] = [
        998.201_23,
        -192.976_949_5,
        389.123_895_8,
        -1_668.103_923,
        13_522.154_41,
        -88_292.783_88,
        306_287.404_2,
        -613_838.123_4,
        747_017.299_8,
        -547_846.135_4,
        223_446.033_4,
        -39_032.854_26,
    ];
    A.iter().rev().fold(0.0, |sum, a| sum * p + a)
}

#[test]
fn the_formula_for_ethanol_gives_the_handbook_table() {
    // Perry's Chemical Engineers' Handbook, 7th ed., density at 20 °C by mass %,
    // five places. Its water alone is 0.03 kg/m³ above today's, so 0.05; that is
    // 0.03 % of alcohol.
    let mut score = Score::new("ethanol-water, OIML against Perry (kg/m³)", 0.05);
    for (percent, kg_per_litre) in
        [(0.0, 0.998_23), (2.0, 0.994_53), (4.0, 0.991_03), (6.0, 0.987_80), (8.0, 0.984_78), (10.0, 0.981_87)]
    {
        score.check(ethanol_water(percent / 100.0), kg_per_litre * 1000.0, percent);
    }
    score.end();
}

#[test]
fn a_beer_mixed_by_mass_bears_out_the_alcohol() {
    // What the doc of `alcohol_by_mass` promises: 0.2 % of alcohol. Our own limit;
    // extract is taken to fill the same room in ethanol-water as in water.
    let mut score = Score::new("alcohol by Balling against densities (% by mass)", 0.2);
    let at_20 = Temperature::REFERENCE;
    for original in [8.0, 10.0, 12.0, 14.0, 16.0, 18.0] {
        for attenuation in [0.6, 0.7, 0.8] {
            let oe = Plato::from_degrees(original);
            let ae = Plato::from_degrees(original * (1.0 - attenuation));
            let r = attenuation::real_extract(oe, ae).unwrap();
            let a = attenuation::alcohol_by_mass(oe, ae).unwrap();
            let re = r.mass_fraction();
            // Litres that a kilogram of extract adds, from the sugar tables.
            let room =
                (1.0 / wort::density(r, at_20).kg_per_litre() - (1.0 - re) / water::density(at_20).kg_per_litre()) / re;
            let litres = (1.0 - re) / (ethanol_water(a / (1.0 - re)) / 1000.0) + re * room;
            let sg = 1.0 / litres / water::density(at_20).kg_per_litre();
            let back = gravity::plato(SpecificGravity::from_ratio(sg));
            let found = attenuation::alcohol_by_mass(oe, back).unwrap();
            score.check(100.0 * found, 100.0 * a, (original, attenuation));
        }
    }
    score.end();
}

#[test]
fn ethanol_is_as_light_as_the_volume_formula_takes_it() {
    // 789.24 kg/m³ at 20 °C [OIML-R22] over water's 998.20: 0.7907 to four places.
    let mut score = Score::new("specific gravity of ethanol 20/20", 5e-5);
    score.check(ethanol_water(1.0) / water::density(Temperature::REFERENCE).kg_per_m3(), 0.7907, 1);
    score.end();
}
