//! Whole days: does following the advice pay, and does the forecast come true?
//!
//! Source: simulation, with the stage's closed forms as the truth (they are held
//! against scipy in `chill_stage`) and every combination of change times tried
//! for the best there is. Five hundred days of random worts, baths, coils, losses
//! and habits: readings every 60 to 120 s with 0.3 K noise, now and then one
//! misread, dips after a change, coils that differ by 3 % from bath to bath, half of
//! them with a record of earlier batches. The brewer follows the advice.

use std::thread;

use gylebook::science::chilling::Estimate;
use gylebook::science::chilling::advice::{Hand, Move, advise};
use gylebook::science::chilling::fit::Setting;
use gylebook::science::chilling::live::live;
use gylebook::science::chilling::plan::BathAtHand;
use gylebook::science::chilling::series::{CoolingStage, Reading, Series};
use gylebook::science::chilling::stage::{Bath, Coolant, Kettle, Loss, Moment, Stage};
use gylebook::science::units::{Conductance, HeatCapacity, Mass, TimeSpan};

use crate::chill_tables::{celsius, iced, kilograms, reading};

const DAYS: usize = 500;
const CHANGE_S: f64 = 60.0;

/// Steele, Lea and Flood's SplitMix64, so that the days are the same everywhere.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.unit(), self.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}

struct Day {
    kettle: Kettle,
    start_c: f64,
    target_c: f64,
    baths: Vec<BathAtHand>,
    /// True conductance in each bath.
    coils: Vec<f64>,
    usual: Option<Estimate>,
}

impl Day {
    fn drawn(dice: &mut Dice) -> Self {
        let litres = dice.between(8.0, 40.0);
        let room = celsius(dice.between(12.0, 26.0));
        let loss = Conductance::from_watts_per_kelvin((10.0 + 3.464 * dice.normal()).clamp(2.0, 20.0));
        let coil = (litres * dice.between(4.0, 9.0)).clamp(40.0, 260.0);
        let count = 2 + (dice.unit() * 3.0) as usize;
        let water_c = dice.between(8.0, 20.0);
        let baths = (0..count).map(|i| {
            let last = i + 1 == count && dice.unit() < 0.8;
            BathAtHand {
                water: kilograms(if last { dice.between(8.0, 14.0) } else { dice.between(15.0, 30.0) }),
                at: celsius(water_c),
                ice: kilograms(if last { dice.between(2.0, 8.0) } else { 0.0 }),
            }
        });
        let baths = baths.collect::<Vec<_>>();
        let coils = baths.iter().map(|_| coil * (1.0 + 0.03 * dice.normal()));
        let coils = coils.collect();
        let remembered = coil * (1.0 + 0.06 * dice.normal());
        Self {
            kettle: Kettle {
                wort: HeatCapacity::from_kilojoules_per_kelvin(litres * 1.0464 * 3.94),
                loss: Loss::known(loss, room),
            },
            start_c: dice.between(94.0, 98.5),
            target_c: dice.between(18.0, 26.0),
            baths,
            coils,
            usual: (dice.unit() < 0.5).then(|| Estimate::from_watts_per_kelvin(remembered, 0.06 * remembered)),
        }
    }

    fn stage(&self, bath: usize, wort_c: f64) -> Stage {
        let at_hand = self.baths[bath];
        let coolant = Bath::of_water(at_hand.water, at_hand.at).with_ice(at_hand.ice, celsius(0.0));
        let moment = Moment { wort: celsius(wort_c), coolant: Coolant::Bath(coolant) };
        Stage::begin(moment, self.kettle, Conductance::from_watts_per_kelvin(self.coils[bath]))
    }

    /// Wort after the coil was out for a change.
    fn changed(&self, wort_c: f64) -> f64 {
        let moment = Moment { wort: celsius(wort_c), coolant: Coolant::Room };
        let alone = Stage::begin(moment, self.kettle, self.kettle.loss.conductance);
        alone.at(TimeSpan::from_seconds(CHANGE_S)).wort.celsius()
    }

    /// Whether 20 minutes in each bath would get the wort 2 K below the target.
    fn has_something_to_spare(&self) -> bool {
        let mut wort = self.start_c;
        for bath in 0..self.baths.len() {
            let stay = self.stage(bath, wort).at(TimeSpan::from_minutes(20.0));
            wort = self.changed(stay.wort.celsius());
        }
        wort < self.target_c - 2.0
    }

    /// The quickest of all change times over every choice of baths, from a grid of
    /// two minutes refined three times around its best.
    fn best(&self) -> Option<(f64, Vec<f64>)> {
        let mut best = (f64::INFINITY, Vec::new());
        // The first bath is where the coil goes in; any other may be left out.
        for set in (1_u32..1 << self.baths.len()).filter(|set| set & 1 == 1) {
            let used: Vec<usize> = (0..self.baths.len()).filter(|i| set >> i & 1 == 1).collect();
            let mut found = (f64::INFINITY, vec![960.0; used.len() - 1]);
            for (step, reach) in [(120.0, 7), (40.0, 2), (15.0, 2), (5.0, 2)] {
                let centre = found.1.clone();
                self.try_all(&used, &centre, step, reach, &mut Vec::new(), self.start_c, 0.0, &mut found);
            }
            if found.0 < best.0 {
                best = found;
            }
        }
        best.0.is_finite().then_some(best)
    }

    #[allow(clippy::too_many_arguments, reason = "a nest of loops of unknown depth")]
    fn try_all(
        &self,
        used: &[usize],
        centre: &[f64],
        step: f64,
        reach: i32,
        stays: &mut Vec<f64>,
        wort_c: f64,
        time: f64,
        found: &mut (f64, Vec<f64>),
    ) {
        let stage = self.stage(used[stays.len()], wort_c);
        if stays.len() + 1 == used.len() {
            if let Some(last) = stage.reaches(celsius(self.target_c)) {
                let total = time + last.seconds();
                if total < found.0 {
                    *found = (total, stays.clone());
                }
            }
            return;
        }
        for n in -reach..=reach {
            let stay = centre[stays.len()] + step * f64::from(n);
            if stay <= 0.0 || time + stay >= found.0 {
                continue;
            }
            let after = self.changed(stage.at(TimeSpan::from_seconds(stay)).wort.celsius());
            stays.push(stay);
            self.try_all(used, centre, step, reach, stays, after, time + stay + CHANGE_S, found);
            stays.pop();
        }
    }
}

/// What became of a day on which the advice was followed.
struct Followed {
    /// Time to the target.
    took: f64,
    /// `(when, time still to go as told)` at each reading.
    told: Vec<(f64, f64)>,
}

fn follow(day: &Day, dice: &mut Dice) -> Option<Followed> {
    let target = celsius(day.target_c);
    let setting = Setting::new(
        Kettle { loss: Loss::assumed(day.kettle.loss.room), ..day.kettle },
        Some(TimeSpan::from_minutes(8.0)),
    );
    let mut hand = Hand {
        target,
        baths: day.baths[1..].to_vec(),
        change: TimeSpan::from_seconds(CHANGE_S),
        usual: None,
        own: None,
        stirred: None,
        flow: None,
    };
    let mut next_bath = 1;
    let (mut started, mut stage) = (0.0, day.stage(0, day.start_c));
    let mut readings: Vec<Reading> = Vec::new();
    let mut stages: Vec<CoolingStage> = vec![recorded(day, 0, 0.0)];
    let mut told = Vec::new();
    let mut dip = None;
    let mut now = dice.between(0.0, 30.0);
    while now < 4.0 * 3600.0 {
        if let Some(end) = stage.reaches(target)
            && started + end.seconds() <= now
        {
            return Some(Followed { took: started + end.seconds(), told });
        }
        let truth = stage.at(TimeSpan::from_seconds(now - started)).wort.celsius();
        let misread = if dice.unit() < 0.015 { dice.between(-10.0, 10.0) } else { 0.0 };
        let low = dip.map_or(0.0, |(peak, deep): (f64, f64)| deep * (1.0 - (now - peak).abs() / 60.0).max(0.0));
        readings.push(reading(now / 60.0, truth + 0.3 * dice.normal() + misread - low));
        let series = Series::new(readings.clone(), stages.clone(), Vec::new());
        let advice = advise(&live(&series, &setting, day.usual), &hand);
        let next_reading = now + dice.between(60.0, 120.0);
        let change_at = match advice.map(|a| a.coil) {
            Ok(Move::ChangeNow { to, after, .. }) => {
                told.push((now, after.seconds()));
                Some((now, to))
            }
            Ok(Move::Stay { change, after, .. }) => {
                told.push((now, after.seconds()));
                let change = change.map(|c| (now + c.after.seconds(), c.to));
                change.filter(|c| c.0 < next_reading)
            }
            Ok(Move::Done | Move::FallsShort { .. }) | Err(_) => None,
        };
        now = next_reading;
        if let Some((at, to)) = change_at.filter(|_| !hand.baths.is_empty()) {
            if let Some(end) = stage.reaches(target)
                && started + end.seconds() <= at
            {
                return Some(Followed { took: started + end.seconds(), told });
            }
            let left = stage.at(TimeSpan::from_seconds(at - started)).wort.celsius();
            let bath = next_bath + to;
            next_bath = bath + 1;
            hand.baths = day.baths[next_bath..].to_vec();
            if let Some(last) = stages.last_mut() {
                last.ended = Some(TimeSpan::from_seconds(at));
            }
            started = at + CHANGE_S;
            stage = day.stage(bath, day.changed(left));
            stages.push(recorded(day, bath, started));
            dip = (dice.unit() < 0.3).then(|| (started + dice.between(30.0, 120.0), dice.between(1.5, 3.0)));
            now = now.max(started + dice.between(5.0, 40.0));
        }
    }
    None
}

fn recorded(day: &Day, bath: usize, at_s: f64) -> CoolingStage {
    let BathAtHand { water, at, ice } = day.baths[bath];
    let stage = iced(at_s / 60.0, water.kilograms(), at.celsius(), ice.kilograms());
    CoolingStage { ice: Some(ice).filter(|&i| i >= Mass::ZERO), ..stage }
}

/// `(time taken over the best there is, half-time forecast error over what was left)`.
fn days(seed: u64, count: usize) -> Vec<(f64, Option<f64>)> {
    let mut dice = Dice(seed);
    let mut outcomes = Vec::new();
    while outcomes.len() < count {
        let day = Day::drawn(&mut dice);
        // A day whose baths only just reach the target hangs on the last percent of
        // the coil, and one done in a quarter of an hour is over before its
        // third reading can tell what the coil does.
        if !day.has_something_to_spare() {
            continue;
        }
        let Some((best, _)) = day.best().filter(|b| b.0 > 900.0) else {
            continue;
        };
        let Some(followed) = follow(&day, &mut dice) else {
            outcomes.push((f64::INFINITY, None));
            continue;
        };
        let half = followed.took / 2.0;
        let at_half = followed.told.iter().rev().find(|(at, _)| *at <= half);
        let error = at_half.map(|(at, after)| (at + after - followed.took) / (followed.took - at));
        outcomes.push((followed.took / best, error));
    }
    outcomes
}

/// Tolerances: nobody who follows the advice is more than 3 % slower than the
/// best there was, and the half-time forecast is within 10 % of what was left for
/// 80 % of days. Measured: at worst 1.7 %, one in a hundred more than
/// 1.2 %, one in ten more than 0.2 %; 97 % of forecasts within 10 %.
#[test]
fn following_the_advice_and_the_forecast() {
    let halves = [1, 2].map(|seed| thread::spawn(move || days(seed, DAYS / 2)));
    let outcomes: Vec<_> = halves.into_iter().flat_map(|half| half.join().unwrap()).collect();
    let slowest = outcomes.iter().map(|o| o.0).fold(0.0, f64::max);
    let close = outcomes.iter().filter(|o| o.1.is_some_and(|e| e.abs() <= 0.10)).count();
    let share = close as f64 / DAYS as f64;
    eprintln!("the slowest day took {slowest:.4} of its best time; {share:.3} of half-time forecasts within 10 %");
    assert!(slowest <= 1.03, "a day took {slowest:.3} of its best time; {share:.2} forecasts came true");
    assert!(share >= 0.80, "only {share:.2} of the forecasts came true; slowest {slowest:.3}");
}
