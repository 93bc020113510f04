//! Extract: shares of it, and the account that must close.

use gylebook::science::extract::account::{Account, KettleReading, Reading};
use gylebook::science::extract::{Fermentable, efficiency, points};
use gylebook::science::gravity;
use gylebook::science::units::{Mass, Measured, Plato, SpecificGravity, TimeSpan, Volume};
use gylebook::science::wort::Wort;
use gylebook::science::{kettle, mash};
use proptest::prelude::*;

use crate::close;

fn reading(wort: Wort) -> KettleReading {
    KettleReading {
        volume: Measured::new(wort.volume.litres(), 0.15),
        gravity: Measured::new(gravity::specific_gravity(wort.strength).ratio(), 0.0006),
    }
}

/// A boil that keeps its extract, as an account.
fn honest(litres: f64, plato: f64, boiled_off: f64, sugar_kg: f64) -> Account {
    let before = Wort::new(Volume::from_litres(litres), Plato::from_degrees(plato));
    let after = Wort::holding(before.extract() + Mass::from_kilograms(sugar_kg), before.volume * (1.0 - boiled_off));
    let sugar = Measured::new(sugar_kg, if sugar_kg > 0.0 { 0.005 } else { 0.0 });
    Account { before: reading(before), sugar, after: reading(after) }
}

/// The account with one reading put to another value.
fn with(account: Account, which: Reading, value: f64) -> Account {
    let mut other = account;
    let slot = match which {
        Reading::PreBoilVolume => &mut other.before.volume,
        Reading::PreBoilGravity => &mut other.before.gravity,
        Reading::KettleSugar => &mut other.sugar,
        Reading::PostBoilVolume => &mut other.after.volume,
        Reading::PostBoilGravity => &mut other.after.gravity,
    };
    slot.value = value;
    other
}

proptest! {
    #[test]
    fn an_honest_boil_closes(
        litres in 5.0..100.0, plato in 2.0..20.0, off in 0.02..0.3, sugar in 0.0..1.0,
    ) {
        let account = honest(litres, plato, off, sugar);
        close(account.gap().value, 0.0, 1e-9);
        prop_assert!(account.closes());
        prop_assert!(account.gap().se > 0.0);
    }

    #[test]
    fn each_suspect_put_right_closes_the_account(
        litres in 5.0..60.0, plato in 5.0..16.0, off in 0.05..0.2, slip in -0.012..0.012,
    ) {
        let mut account = honest(litres, plato, off, 0.3);
        account.after.gravity.value += slip;
        let suspects = account.suspects();
        prop_assert!(suspects.len() >= 4);
        for suspect in &suspects {
            let put_right = with(account, suspect.reading, suspect.needed);
            close(put_right.gap().value, 0.0, 1e-6);
            prop_assert!(suspect.deviations.is_finite() && suspect.deviations >= 0.0);
        }
        prop_assert!(suspects.is_sorted_by(|a, b| a.deviations <= b.deviations));
    }

    #[test]
    fn the_reading_that_slipped_is_told_what_it_was(
        litres in 5.0..60.0, plato in 5.0..16.0, off in 0.05..0.2, slip in 0.002..0.01,
    ) {
        let truth = honest(litres, plato, off, 0.0);
        let was = truth.before.gravity.value;
        let account = with(truth, Reading::PreBoilGravity, was - slip);
        prop_assert!(account.gap().value > 0.0);
        let told = account.suspects().into_iter().find(|s| s.reading == Reading::PreBoilGravity);
        close(told.unwrap().needed, was, 1e-7);
    }

    #[test]
    fn any_account_gives_numbers(
        v in 0.0..2000.0, g in 0.98..1.2, v2 in 0.0..2000.0, g2 in 0.98..1.2,
        s in 0.0..50.0, se in 0.0..1.0,
    ) {
        let kettle = |v, g| KettleReading {
            volume: Measured::new(v, se),
            gravity: Measured::new(g, se / 100.0),
        };
        let account = Account {
            before: kettle(v, g), sugar: Measured::new(s, se), after: kettle(v2, g2),
        };
        let gap = account.gap();
        prop_assert!(gap.value.is_finite() && gap.se.is_finite());
        for suspect in account.suspects() {
            prop_assert!(suspect.needed.is_finite() && suspect.deviations.is_finite());
        }
    }

    #[test]
    fn conversion_and_first_wort_are_each_others_inverse(
        potential in 0.5..30.0, water in 5.0..100.0, conversion in 0.3..1.0,
    ) {
        let (potential, water) = (Mass::from_kilograms(potential), Mass::from_kilograms(water));
        let wort = mash::first_wort(potential, water, conversion).unwrap();
        prop_assume!(wort.degrees() <= 40.0);
        let dissolved = efficiency::dissolved(wort, water).unwrap();
        close(efficiency::share(dissolved, potential).unwrap(), conversion, 1e-12);
    }

    #[test]
    fn goods_never_hold_more_than_they_weigh(
        mass in 0.0..50.0, dry_yield in 0.0..1.0, moisture in 0.0..0.2,
    ) {
        let goods = Fermentable { mass: Mass::from_kilograms(mass), dry_yield, moisture };
        prop_assert!(goods.potential() + goods.water() <= goods.mass + Mass::from_grams(1e-6));
        prop_assert!(goods.potential() >= Mass::ZERO);
    }

    #[test]
    fn boil_off_puts_back_what_it_took(
        before in 5.0..100.0, share in 0.0..0.5, minutes in 5.0..240.0,
    ) {
        let (before, lasts) = (Volume::from_litres(before), TimeSpan::from_minutes(minutes));
        let after = before * (1.0 - share);
        let off = efficiency::boil_off(before, after, lasts).unwrap();
        close((after + off.rate * lasts).litres(), before.litres(), 1e-9);
        close(off.share_per_hour * minutes / 60.0, share, 1e-9);
    }

    #[test]
    fn points_there_and_back(kg in 0.1..20.0, share in 0.1..1.0, litres in 1.0..100.0) {
        let (goods, volume) = (Mass::from_kilograms(kg), Volume::from_litres(litres));
        let points = points::expected(goods, share, volume);
        let sg = SpecificGravity::from_ratio(1.0 + points / 1000.0);
        let got = points::ppg(points::litre_degrees_per_kg(sg, volume, goods));
        close(got, points::SUCROSE_PPG * share, 1e-6);
    }
}

#[test]
fn nothing_to_take_a_share_of_is_said() {
    let why = efficiency::share(Mass::ZERO, Mass::ZERO).unwrap_err();
    assert!(why.to_string().starts_with("extract to take a share of 0 kg"));
    let l = Volume::from_litres;
    assert!(efficiency::boil_off(l(20.0), l(18.0), TimeSpan::ZERO).is_err());
}

#[test]
fn a_reading_taken_as_exact_is_no_suspect() {
    let account = honest(20.0, 10.0, 0.1, 0.0);
    assert!(account.suspects().iter().all(|s| s.reading != Reading::KettleSugar));
}

#[test]
fn the_account_and_the_kettle_agree_on_a_boil() {
    let before = Wort::new(Volume::from_litres(26.0), Plato::from_degrees(10.5));
    let off = Volume::from_litres(3.0) / TimeSpan::from_minutes(60.0);
    let after = kettle::boiled(before, off, TimeSpan::from_minutes(60.0)).unwrap();
    let account = Account { before: reading(before), sugar: Measured::exact(0.0), after: reading(after) };
    close(account.gap().value, 0.0, 1e-9);
}
