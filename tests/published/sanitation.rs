//! Heat that makes safe [DelVecchio-1951, FDA-FoodCode, NY-1NYCRR].

use gylebook::science::curve::Curve;
use gylebook::science::sanitation;
use gylebook::science::units::{Temperature, TimeSpan};

use crate::table::{Score, Table};

/// Four significant figures, as the table states.
const FOUR_FIGURES: f64 = 5e-5;

fn held(celsius: f64, minutes: f64) -> Curve {
    Curve::held(Temperature::from_celsius(celsius), TimeSpan::from_minutes(minutes))
}

fn curve(points: impl IntoIterator<Item = (f64, f64)>) -> Curve {
    let point = |(minutes, celsius)| (TimeSpan::from_minutes(minutes), Temperature::from_celsius(celsius));
    Curve::new(points.into_iter().map(point)).unwrap()
}

#[test]
fn units_in_a_minute() {
    let mut score = Score::new("pasteurisation units in a minute (share)", FOUR_FIGURES);
    for row in Table::read("13_pasteurisation_units.csv").rows() {
        let celsius = row.number("t_C");
        let ours = sanitation::pasteurisation_units(&held(celsius, 1.0));
        score.check(ours / row.number("pu_per_min"), 1.0, celsius);
    }
    score.end();
}

#[test]
fn units_along_a_curve() {
    // "0.1 % for the trapezium rule at 10 s steps".
    let mut score = Score::new("pasteurisation units along a curve (share)", 1e-3);
    for row in Table::read("13_pu_worked.csv").rows() {
        let profile = row.text("profile");
        let curve = match profile {
            "constant 72 C 0.5 min" => held(72.0, 0.5),
            "linear 20 to 62 C in 20 min, hold 15 min, linear 62 to 30 C in 15 min" => {
                curve([(0.0, 20.0), (20.0, 62.0), (35.0, 62.0), (50.0, 30.0)])
            }
            "linear 60 to 70 C in 10 min" => curve([(0.0, 60.0), (10.0, 70.0)]),
            "exponential 20+60exp(-t/12), 0 to 30 min (cooling from 80 C)" => curve((0..=360).map(|i| {
                let minutes = f64::from(i) / 12.0;
                (minutes, 20.0 + 60.0 * (-minutes / 12.0).exp())
            })),
            "77 C 0.5 min" => held(77.0, 0.5),
            "77 C 5 min" => held(77.0, 5.0),
            "85 C 15 min" => held(85.0, 15.0),
            _ => panic!("{profile} is not known"),
        };
        score.check(sanitation::pasteurisation_units(&curve) / row.number("pu"), 1.0, profile);
    }
    score.end();
}

#[test]
fn limits_are_those_of_the_codes() {
    let table = Table::read("13_hot_water_limits.csv");
    let rule =
        |name: &str| table.rows().find(|row| row.text("rule").starts_with(name)).unwrap_or_else(|| panic!("{name}"));
    let immersion = rule("FDA Food Code 4-501.111");
    assert_eq!(sanitation::HOT_ENOUGH.celsius(), immersion.number("temperature_C"));
    assert!(sanitation::LONG_ENOUGH.seconds() >= immersion.number("time_s"));
    let dairy = rule("Dairy utensils");
    assert_eq!(sanitation::HOT_ENOUGH.celsius(), dairy.number("temperature_C"));
    assert_eq!(sanitation::DAIRY.seconds(), dairy.number("time_s"));
}
