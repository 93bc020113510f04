//! Extract and yields [ASBC-Tables, EBC-451, Kunze-Technologie, NBS-C440].

use gylebook::science::extract::{self, efficiency, points};
use gylebook::science::gravity;
use gylebook::science::units::{Mass, Plato, SpecificGravity, Temperature, Volume};
use gylebook::science::wort::Wort;

use crate::table::{Score, Table, rounded_to};

#[test]
fn mass_of_extract() {
    // "Tolerance 0.002 kg (P and SG rounding)".
    let mut score = Score::new("extract in a wort (kg)", 0.002);
    let mut strength = Score::new("its strength (°P)", rounded_to(3));
    for row in Table::read("06_extract_mass.csv").rows() {
        let volume = Volume::from_litres(row.number("volume_L_20C"));
        let plato = gravity::plato(SpecificGravity::from_ratio(row.number("sg2020")));
        strength.check(plato.degrees(), row.number("plato"), volume);
        let ours = Wort::new(volume, plato).extract();
        score.check(ours.kilograms(), row.number("extract_kg"), volume);
    }
    score.end();
    strength.end();
}

#[test]
fn laboratory_yield_of_the_congress_mash() {
    let mut score = Score::new("laboratory yield (%)", rounded_to(2));
    for row in Table::read("06_congress_mash.csv").rows() {
        let wort = Plato::from_degrees(row.number("wort_plato"));
        let moisture = row.number("moisture_percent") / 100.0;
        let (as_is, dry) = extract::laboratory_yield(wort, moisture).unwrap();
        score.check(100.0 * as_is, row.number("extract_as_is_percent"), wort);
        score.check(100.0 * dry, row.number("extract_dry_percent"), wort);
    }
    score.end();
}

#[test]
fn brewhouse_yield_two_ways() {
    let mut german = Score::new("brewhouse yield from the hot kettle (%)", rounded_to(2));
    let mut by_mass = Score::new("brewhouse yield by mass balance (%)", rounded_to(2));
    let mut cold = Score::new("hot kettle to 20 °C (L)", rounded_to(2));
    for row in Table::read("06_brewhouse_yield.csv").rows() {
        let hot = Volume::from_litres(row.number("V_hot_L"));
        let strength = Plato::from_degrees(row.number("plato"));
        let grist = Mass::from_kilograms(row.number("grist_kg"));
        let sg = gravity::specific_gravity(strength);
        let ours = efficiency::yield_from_hot_kettle(hot, sg, strength, grist).unwrap();
        german.check(ours, row.number("yield_percent"), hot);
        let wort = Wort::read_at(hot, Temperature::from_celsius(100.0), strength);
        cold.check(wort.volume.litres(), row.number("volume_20C_L"), hot);
        let share = efficiency::share(wort.extract(), grist).unwrap();
        by_mass.check(100.0 * share, row.number("by_density_percent"), hot);
    }
    for score in [german, by_mass, cold] {
        score.end();
    }
}

#[test]
fn points_per_pound_and_gallon() {
    let mut linear = Score::new("gravity points by the linear rule", rounded_to(2));
    // "Tolerance 0.4 points: the linear rule is within 0.4 at wort strength."
    let mut exact = Score::new("linear points against density (points)", 0.4);
    for row in Table::read("06_points_per_pound_gallon.csv").rows() {
        let goods = Mass::from_pounds(row.number("lb"));
        let volume = Volume::from_us_gallons(row.number("us_gal"));
        let share = row.number("yield_percent") / 100.0;
        let ours = points::expected(goods, share, volume);
        linear.check(ours, row.number("points_linear"), goods);
        let by_density = points::of(SpecificGravity::from_ratio(row.number("sg_exact")));
        exact.check(ours, by_density, goods);
        // And back: what those points got out of the goods is what went in.
        let sg = SpecificGravity::from_ratio(1.0 + ours / 1000.0);
        let got = points::ppg(points::litre_degrees_per_kg(sg, volume, goods));
        assert!((got - points::SUCROSE_PPG * share).abs() < 1e-9);
    }
    linear.end();
    exact.end();
}

#[test]
fn sucrose_in_a_gallon_gives_the_customary_points() {
    // 46.21 as a magazine prints it; 46.2 in air and 46.1 in vacuo by the tables.
    let pound = Wort::holding(Mass::from_pounds(1.0), Volume::from_us_gallons(1.0));
    let ours = points::of(gravity::specific_gravity(pound.strength));
    let mut score = Score::new("points of a pound of sucrose in a gallon", 0.05);
    score.check(ours, points::SUCROSE_PPG, "sucrose");
    score.end();
}
