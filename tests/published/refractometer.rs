//! Refractometers [ICUMSA-SPS3, Bonham-2001].

use gylebook::science::gravity::{self, refractometer};
use gylebook::science::units::Brix;

use crate::table::{Score, Table, rounded_to};

#[test]
fn brix_from_refractive_index() {
    let mut formula = Score::new("°Bx from index, quintic (°Bx)", rounded_to(2));
    // Handbook values are whole percents; 0.0001 in the printed index is 0.07 °Bx.
    let mut handbook = Score::new("°Bx from index against the CRC table (°Bx)", 0.07);
    for row in Table::read("05_refractive_index.csv").rows() {
        let index = row.number("nD20");
        let ours = refractometer::brix_from_index(index).unwrap().degrees();
        formula.check(ours, row.number("poly_brix"), index);
        handbook.check(ours, row.number("handbook_percent"), index);
    }
    formula.end();
    handbook.end();
}

#[test]
fn wort_factor_divides() {
    let mut strength = Score::new("°P from °Bx by wort factor (°P)", rounded_to(2));
    let mut sg = Score::new("SG from °Bx at factor 1.04", rounded_to(4));
    for row in Table::read("05_refractometer.csv").rows() {
        let brix = Brix::from_degrees(row.number("brix"));
        for (column, factor) in
            [("P_f1.00", 1.0), ("P_f1.02", 1.02), ("P_f1.03", 1.03), ("P_f1.04", 1.04), ("P_f1.06", 1.06)]
        {
            let ours = refractometer::plato(brix, factor).unwrap();
            strength.check(ours.degrees(), row.number(column), (brix, column));
        }
        let usual = refractometer::plato(brix, refractometer::USUAL_WORT_FACTOR).unwrap();
        sg.check(gravity::specific_gravity(usual).ratio(), row.number("sg_f1.04"), brix);
    }
    strength.end();
    sg.end();
}
