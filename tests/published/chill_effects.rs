//! Reactions after flame-out along published and made-up profiles.
//!
//! Source: `values/07_09_kinetics_on_profiles.csv`, rates of Malowicki &
//! Shellhammer 2005 and of Wilson & Booer 1979 with a doubling of the half-life
//! every 6 K (secondary), integrated with scipy's DOP853. Tolerance 0.0002.

use gylebook::science::chilling::after_effects::{PerMinute, isomerised, time_60_to_30, turned_over};
use gylebook::science::chilling::curve::Curve;
use gylebook::science::units::Temperature;

use crate::chill_tables::{celsius, minutes, number, rows};

/// The profiles as their definitions say, every quarter of a minute.
fn profile(name: &str, t: f64) -> f64 {
    match name {
        "boil60_exp_tau10" if t > 60.0 => 20.0 + 80.0 * (-(t - 60.0) / 10.0).exp(),
        "boil60_exp_tau40" if t > 60.0 => 20.0 + 80.0 * (-(t - 60.0) / 40.0).exp(),
        "boil60_2000m_exp_tau15" if t > 60.0 => 15.0 + 78.32 * (-(t - 60.0) / 15.0).exp(),
        "boil60_2000m_exp_tau15" => 93.32,
        "boil15_exp_tau8" if t > 15.0 => 18.0 + 82.0 * (-(t - 15.0) / 8.0).exp(),
        "stand20_linear" if t <= 20.0 => 100.0 - t,
        "stand20_linear" => 80.0 - 3.0 * (t - 20.0),
        "boil60_exp_tau10" | "boil60_exp_tau40" | "boil15_exp_tau8" => 100.0,
        other => panic!("{other} is not one of the profiles"),
    }
}

fn k1(t: Temperature) -> PerMinute {
    PerMinute(7.9e11 * (-11858.0 / t.kelvins()).exp())
}

fn k2(t: Temperature) -> PerMinute {
    PerMinute(4.1e12 * (-12994.0 / t.kelvins()).exp())
}

fn smm(t: Temperature) -> PerMinute {
    let half_life = 35.0 * ((100.0 - t.celsius()) / 6.0).exp2();
    PerMinute(std::f64::consts::LN_2 / half_life)
}

fn curve(name: &str, until: f64) -> Curve {
    let points = (0..=(until * 4.0) as usize).map(|i| i as f64 / 4.0);
    Curve::exactly(points.map(|t| (minutes(t), celsius(profile(name, t)))))
}

#[test]
fn alpha_iso_and_precursor_along_the_profiles() {
    let mut compared = 0;
    for row in rows(include_str!("values/07_09_kinetics_on_profiles.csv")) {
        let [t, alpha, iso, lost, left] = [2, 4, 5, 6, 7].map(|i| number(&row[i]));
        // The steps of this one are jumps, which no wort makes.
        if row[0] == "step_list" || t == 0.0 {
            continue;
        }
        let curve = curve(&row[0], t);
        let got = isomerised(&curve, k1, k2);
        let pairs = [(got.alpha, alpha), (got.iso, iso), (got.lost, lost), (1.0 - turned_over(&curve, smm), left)];
        for (got, want) in pairs {
            assert!((got - want).abs() < 2e-4, "{row:?}: {got:.5} for {want:.5}");
        }
        compared += 1;
    }
    assert!(compared > 50, "only {compared} rows were compared");
}

#[test]
fn time_between_60_and_30() {
    // From the definition: 60 °C at 60 + 10·ln(80/40), 30 °C at 60 + 10·ln(80/10) min.
    let got = time_60_to_30(&curve("boil60_exp_tau10", 120.0)).unwrap().minutes();
    assert!((got - 10.0 * 4_f64.ln()).abs() < 0.01, "{got}");
    assert!(time_60_to_30(&curve("boil60_exp_tau10", 70.0)).is_none());
}
