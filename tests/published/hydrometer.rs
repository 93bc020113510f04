//! Hydrometers read warm or cold [ISO-1768, Emmerich-1994].

use gylebook::science::gravity::hydrometer::Hydrometer;
use gylebook::science::units::{Plato, SpecificGravity, Temperature};
use gylebook::science::wort;

use crate::table::{Score, Table, rounded_to};

/// Density against water, both at 20 °C.
fn gravity_of(degrees: f64) -> f64 {
    let density = |degrees| wort::density(Plato::from_degrees(degrees), Temperature::REFERENCE);
    density(degrees) / density(0.0)
}

/// Compares a table for one kind of scale: the gravity at 20/20 to its five
/// places, the strength with that density to its three. `calibration_k` is how
/// far the table's calibration is rounded; water changes by 1.5e−4 in a kelvin.
fn compare(table: &str, hydrometer: Hydrometer, calibration_k: f64, topics: [&'static str; 2]) {
    let by_calibration = 1.5e-4 * calibration_k;
    let mut gravity = Score::new(topics[0], rounded_to(5) + by_calibration);
    let mut strength = Score::new(topics[1], rounded_to(3) + by_calibration / 4e-3);
    for row in Table::read(table).rows() {
        let sample = Temperature::from_celsius(row.number("t_C"));
        let reading = SpecificGravity::from_ratio(row.number("reading"));
        // The table goes on where a glass hydrometer is no longer to be trusted.
        let ours = match hydrometer.corrected(reading, sample) {
            Ok(ours) => ours.ratio(),
            Err(why) => {
                assert!(sample.celsius() > 60.0, "{why}");
                continue;
            }
        };
        gravity.check(ours, row.number("sg_2020"), (sample, reading));
        let degrees = row.number("plato");
        let per_degree = gravity_of(degrees + 0.5) - gravity_of(degrees - 0.5);
        let off = (ours - gravity_of(degrees)) / per_degree;
        strength.check(degrees + off, degrees, (sample, reading));
    }
    gravity.end();
    strength.end();
}

#[test]
fn marked_at_20_c() {
    compare(
        "02_hydrometer_cal_20C.csv",
        Hydrometer::AT_20_C,
        0.0,
        ["hydrometer 20/20 °C, SG", "hydrometer 20/20 °C, strength (°P)"],
    );
}

#[test]
fn marked_at_60_f() {
    compare(
        "02_hydrometer_cal_15_56C.csv",
        Hydrometer::AT_60_F,
        0.005, // printed 15.56 °C
        ["hydrometer 60/60 °F, SG", "hydrometer 60/60 °F, strength (°P)"],
    );
}

#[test]
fn a_60_60_scale_reads_a_little_higher() {
    // "1.0400 there is 1.03981 at 20/20", read at its own temperature.
    let at = Temperature::from_fahrenheit(60.0);
    let ours = Hydrometer::AT_60_F.corrected(SpecificGravity::from_ratio(1.040), at).unwrap();
    let mut score = Score::new("hydrometer 60/60 °F to 20/20 °C", rounded_to(5));
    score.check(ours.ratio(), 1.039_81, "SG 1.040");
    score.end();
}
