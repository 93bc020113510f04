//! Hop utilisation and isomerisation [Tinseth-1997, Palmer-2006, MalowickiShellhammer-2005].

use gylebook::science::bitterness::{isomerisation, isomerisation::Alpha, tinseth};
use gylebook::science::curve::Curve;
use gylebook::science::dms;
use gylebook::science::units::{Mass, SpecificGravity, Temperature, TimeSpan, Volume};

use crate::table::{Row, Score, Table, rounded_to};

fn utilisation(sg: f64, minutes: f64) -> f64 {
    let (gravity, boiled) = (SpecificGravity::from_ratio(sg), TimeSpan::from_minutes(minutes));
    tinseth::utilisation(gravity, boiled).unwrap()
}

#[test]
fn utilisation_table() {
    let table = Table::read("07_tinseth.csv");
    let mut score = Score::new("hop utilisation, Tinseth's table", rounded_to(3));
    for row in table.rows() {
        let minutes = row.number("boil_min");
        for (column, sg) in table.numbered_columns() {
            score.check(utilisation(sg, minutes), row.number(column), (minutes, sg));
        }
    }
    score.end();
}

#[test]
fn utilisation_as_printed() {
    // Palmer, How to Brew, table 7: the four values read in print, three places.
    let mut score = Score::new("hop utilisation, printed values", rounded_to(3));
    for (minutes, sg, printed) in
        [(30.0, 1.050, 0.177), (30.0, 1.060, 0.162), (60.0, 1.080, 0.176), (15.0, 1.080, 0.087)]
    {
        score.check(utilisation(sg, minutes), printed, (minutes, sg));
    }
    score.end();
}

#[test]
fn factors_and_worked_bitterness() {
    let mut factors = Score::new("Tinseth's two factors", 1e-4);
    let mut ibu = Score::new("bitterness of one addition (IBU)", rounded_to(2));
    for row in Table::read("07_tinseth_factors.csv").rows() {
        let value = row.number("value");
        match row.text("kind") {
            // Boiled for ever, the second factor is 1/4.15; at SG 1.000 the first is 1.65.
            "bigness" => {
                let ours = utilisation(row.number("argument"), 1440.0) * 4.15;
                factors.check(ours, value, row.text("argument"));
            }
            "time_factor" => {
                let ours = utilisation(1.0, row.number("argument")) / 1.65;
                factors.check(ours, value, row.text("argument"));
            }
            _ => ibu.check(worked(row), value, row.text("argument")),
        }
    }
    factors.end();
    ibu.end();
}

/// A line such as `40 g 5 % 60 min 1.048 20 L`.
fn worked(row: Row<'_>) -> f64 {
    let words: Vec<f64> = row.text("argument").split(' ').filter_map(|word| word.parse().ok()).collect();
    let [grams, percent, minutes, sg, litres] = words[..] else { panic!("{words:?}") };
    let (hops, volume) = (Mass::from_grams(grams), Volume::from_litres(litres));
    tinseth::bitterness(utilisation(sg, minutes), percent / 100.0, hops, volume).unwrap()
}

#[test]
fn rates_by_temperature() {
    let mut rates = Score::new("isomerisation rates (1/min)", rounded_to(6));
    let mut half = Score::new("half-lives of α- and iso-α-acid (min)", rounded_to(1));
    for row in Table::read("07_isomerisation_rates.csv").rows() {
        let at = Temperature::from_celsius(row.number("t_C"));
        let ours = isomerisation::rates(at);
        rates.check(ours.formation_per_min, row.number("k1_per_min"), at);
        rates.check(ours.loss_per_min, row.number("k2_per_min"), at);
        let half_life = |k: f64| std::f64::consts::LN_2 / k;
        half.check(half_life(ours.formation_per_min), row.number("half_life_alpha_min"), at);
        half.check(half_life(ours.loss_per_min), row.number("half_life_iso_min"), at);
    }
    rates.end();
    half.end();
}

#[test]
fn isothermal_fractions() {
    let mut score = Score::new("α-acid fractions, isothermal", rounded_to(5));
    for row in Table::read("07_isomerisation_isothermal.csv").rows() {
        let at = Temperature::from_celsius(row.number("t_C"));
        let lasts = TimeSpan::from_minutes(row.number("minutes"));
        let ours = Alpha::FRESH.held(at, lasts);
        score.check(ours.left, row.number("alpha_left"), (at, lasts));
        score.check(ours.iso, row.number("iso"), (at, lasts));
        score.check(ours.lost, row.number("lost"), (at, lasts));
    }
    score.end();
}

/// The temperature of each profile of the table as its `definition` gives it.
fn profile(name: &str, minutes: f64) -> f64 {
    let after = |start: f64, hold: f64, floor: f64, span: f64, tau: f64| {
        if minutes <= start { hold } else { floor + span * (-(minutes - start) / tau).exp() }
    };
    match name {
        "boil60_exp_tau10" => after(60.0, 100.0, 20.0, 80.0, 10.0),
        "boil60_exp_tau40" => after(60.0, 100.0, 20.0, 80.0, 40.0),
        "boil60_2000m_exp_tau15" => after(60.0, 93.32, 15.0, 78.32, 15.0),
        "boil15_exp_tau8" => after(15.0, 100.0, 18.0, 82.0, 8.0),
        "stand20_linear" if minutes <= 20.0 => 100.0 - minutes,
        "stand20_linear" => 80.0 - 3.0 * (minutes - 20.0),
        _ => panic!("profile {name} is not known"),
    }
}

/// The curve of a profile up to a time, logged every 5 s.
fn curve(name: &str, until: f64) -> Curve {
    let point = |minutes: f64, celsius: f64| (TimeSpan::from_minutes(minutes), Temperature::from_celsius(celsius));
    if name == "step_list" {
        let steps = [(0.0, 100.0), (30.0, 90.0), (50.0, 80.0), (80.0, 60.0), (120.0, 60.0)];
        let points = steps.windows(2).filter(|pair| pair[0].0 < until).flat_map(|pair| {
            let ((start, celsius), (end, _)) = (pair[0], pair[1]);
            [point(start, celsius), point(end.min(until), celsius)]
        });
        return Curve::new(points).unwrap();
    }
    let count = (until * 12.0) as u32;
    let points = (0..=count).map(|i| {
        let minutes = f64::from(i) / 12.0;
        point(minutes, profile(name, minutes))
    });
    Curve::new(points).unwrap()
}

#[test]
fn along_six_temperature_profiles() {
    // "Tolerance 0.0002 for an integrator stepping <= 10 s".
    let mut alpha = Score::new("α-acid fractions along a curve", 2e-4);
    let mut smm = Score::new("SMM left along a curve", 2e-4);
    for row in Table::read("07_09_kinetics_on_profiles.csv").rows() {
        let (name, until) = (row.text("profile"), row.number("t_min"));
        let curve = curve(name, until);
        let ours = Alpha::FRESH.along(&curve);
        alpha.check(ours.left, row.number("alpha_left"), (name, until));
        alpha.check(ours.iso, row.number("iso"), (name, until));
        alpha.check(ours.lost, row.number("lost"), (name, until));
        smm.check(1.0 - dms::turnover(&curve).share, row.number("smm_left"), (name, until));
    }
    alpha.end();
    smm.end();
}

#[test]
fn a_few_logged_points_are_enough_for_a_linear_stand() {
    // The same `stand20_linear` profile given by its three corners.
    let point = |minutes: f64, celsius: f64| (TimeSpan::from_minutes(minutes), Temperature::from_celsius(celsius));
    let corners = [point(0.0, 100.0), point(20.0, 80.0), point(40.0, 20.0)];
    let ours = Alpha::FRESH.along(&Curve::new(corners).unwrap());
    let mut score = Score::new("α-acid fractions along a curve of three points", 2e-4);
    score.check(ours.left, 0.882_92, "alpha left");
    score.check(ours.iso, 0.115_43, "iso");
    score.end();
}
