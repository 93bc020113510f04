//! Pitching rates [Fix-Rates, VanDenBerg-2003].

use gylebook::science::units::{Plato, Volume};
use gylebook::science::yeast::{self, PitchRate};

use crate::table::{Score, Table, rounded_to};

#[test]
fn cells_and_dry_yeast() {
    let mut cells = Score::new("cells needed (billion)", rounded_to(1));
    let mut grams = Score::new("dry yeast for them (g)", rounded_to(1));
    for row in Table::read("10_yeast_pitch.csv").rows() {
        let rate = PitchRate::new(row.number("million_cells_per_mL_P")).unwrap();
        let volume = Volume::from_litres(row.number("litres"));
        let need = yeast::needed(volume, Plato::from_degrees(row.number("plato")), rate);
        cells.check(need.billions(), row.number("billion_cells"), (volume, rate));
        let dose = yeast::dry_for(need);
        grams.check(dose.high.grams(), row.number("g_at_5e9"), (volume, rate));
        grams.check(dose.low.grams(), row.number("g_at_18e9"), (volume, rate));
    }
    cells.end();
    grams.end();
}
