//! The DMS precursor [WilsonBooer-1979, Dickenson-1979, AnnessBamforth-1982].

use gylebook::science::curve::Curve;
use gylebook::science::dms;
use gylebook::science::units::{Temperature, TimeSpan};

use crate::table::{Score, Table, rounded_to};

#[test]
fn half_life_doubles_every_six_kelvins() {
    let mut minutes = Score::new("SMM half-life by temperature (min)", rounded_to(1));
    for row in Table::read("09_smm_half_life.csv").rows() {
        let at = Temperature::from_celsius(row.number("t_C"));
        minutes.check(dms::half_life(at).minutes(), row.number("h35_doubling"), at);
    }
    minutes.end();
}

#[test]
fn left_after_a_boil() {
    let mut score = Score::new("SMM left after a boil, three half-lives", rounded_to(4));
    for row in Table::read("09_smm_boil.csv").rows() {
        let lasts = TimeSpan::from_minutes(row.number("minutes"));
        let turned = dms::turnover(&Curve::held(Temperature::from_celsius(100.0), lasts));
        score.check(1.0 - turned.share, row.number("h35"), lasts);
        score.check(1.0 - turned.low, row.number("h38"), lasts);
        score.check(1.0 - turned.high, row.number("h32.5"), lasts);
    }
    score.end();
}
