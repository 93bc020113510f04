//! The fit against the Cramér-Rao bound on independently integrated chills.
//!
//! Source: `make_chill_fixtures.py` beside this file (scipy, DOP853), which also
//! computes the bound: the smallest standard deviation any unbiased fit can have.
//! 240 chills of two to four stages, readings every 60 to 120 s with 0.3 K noise,
//! losses known in half of them; a quarter has a wild reading in every stage, a
//! quarter a passing dip.

use gylebook::science::chilling::fit::{Setting, fit};
use gylebook::science::chilling::series::{CoolingStage, Method, Reading, Series};
use gylebook::science::chilling::stage::{Kettle, Loss};
use gylebook::science::units::{Conductance, HeatCapacity, Mass, Temperature, TimeSpan};

struct Case {
    kind: String,
    loss_known: bool,
    setting: Setting,
    series: Series,
    /// True conductance and its bound per stage, in W/K.
    truth: Vec<(f64, f64)>,
}

fn cases() -> Vec<Case> {
    let rows = |text: &str| -> Vec<Vec<String>> {
        text.lines().skip(1).map(|l| l.split(',').map(String::from).collect()).collect()
    };
    let stages = rows(include_str!("values/chill_fit_cases.csv"));
    let readings = rows(include_str!("values/chill_fit_readings.csv"));
    let number = |text: &String| text.parse::<f64>().unwrap();
    let mut cases = Vec::new();
    for chunk in stages.chunk_by(|a, b| a[0] == b[0]) {
        let head = &chunk[0];
        let loss_known = head[2] == "1";
        let room = Temperature::from_celsius(20.0);
        let loss = Conductance::from_watts_per_kelvin(number(&head[3]));
        let kettle = Kettle {
            wort: HeatCapacity::from_joules_per_kelvin(number(&head[4])),
            loss: if loss_known { Loss::known(loss, room) } else { Loss::assumed(room) },
        };
        let mine = readings.iter().filter(|r| r[0] == head[0]).map(|r| Reading {
            at: TimeSpan::from_seconds(number(&r[1])),
            wort: Temperature::from_celsius(number(&r[2])),
        });
        let baths = chunk.iter().map(|s| CoolingStage {
            started: TimeSpan::from_seconds(number(&s[6])),
            ended: Some(TimeSpan::from_seconds(number(&s[7]))),
            method: if number(&s[10]) > 0.0 { Method::IceBath } else { Method::StillBath },
            water: Some(Mass::from_kilograms(number(&s[8]))),
            water_at: Some(Temperature::from_celsius(number(&s[9]))),
            ice: Some(Mass::from_kilograms(number(&s[10]))),
            flow: None,
        });
        cases.push(Case {
            kind: head[1].clone(),
            loss_known,
            setting: Setting::new(kettle, Some(TimeSpan::from_minutes(8.0))),
            series: Series::new(mine.collect(), baths.collect(), Vec::new()),
            truth: chunk.iter().map(|s| (number(&s[11]), number(&s[12]))).collect(),
        });
    }
    cases
}

/// What the fit did on one stage: error over bound, error over stated standard
/// error, error over the true value.
struct Outcome {
    kind: String,
    loss_known: bool,
    by_bound: f64,
    by_se: f64,
    relative: f64,
}

fn outcomes() -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for case in cases() {
        let fitted = fit(&case.series, &case.setting);
        for (stage, (k, bound)) in fitted.stages.iter().zip(&case.truth) {
            let coil = stage.as_ref().expect("every stage has at least three readings").coil;
            let error = coil.conductance.watts_per_kelvin() - k;
            outcomes.push(Outcome {
                kind: case.kind.clone(),
                loss_known: case.loss_known,
                by_bound: error / bound,
                by_se: error / coil.se.watts_per_kelvin(),
                relative: error.abs() / k,
            });
        }
    }
    outcomes
}

fn rms(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v * v, n + 1.0));
    (sum / count).sqrt()
}

#[test]
fn conductance_is_as_sure_as_the_readings_allow() {
    let all = outcomes();
    for kind in ["clean", "wild", "dip"] {
        for known in [true, false] {
            let group: Vec<_> = all.iter().filter(|o| o.kind == kind && o.loss_known == known).collect();
            let mut rel: Vec<f64> = group.iter().map(|o| o.relative).collect();
            rel.sort_by(f64::total_cmp);
            let mut worst: Vec<f64> = group.iter().map(|o| o.by_bound).collect();
            worst.sort_by(|a, b| b.abs().total_cmp(&a.abs()));
            let bias = worst.iter().sum::<f64>() / worst.len() as f64;
            let inside = group.iter().filter(|o| o.by_se.abs() < 1.0).count() as f64 / group.len() as f64;
            eprintln!(
                "{kind} known={known} n={} rms/bound={:.3} bias={bias:.3} inside={inside:.3} median={:.4} worst={:.1?}",
                group.len(),
                rms(group.iter().map(|o| o.by_bound)),
                rel[rel.len() / 2],
                &worst[..4]
            );
        }
    }
    let inside = all.iter().filter(|o| o.by_se.abs() < 1.0).count() as f64 / all.len() as f64;
    eprintln!("inside {inside}");
}
#[test]
fn zz_diag() {
    for (n, case) in cases().iter().enumerate() {
        if case.kind == "clean" {
            continue;
        }
        let fitted = fit(&case.series, &case.setting);
        for (i, (stage, (k, bound))) in fitted.stages.iter().zip(&case.truth).enumerate() {
            let f = stage.as_ref().unwrap();
            let z = (f.coil.conductance.watts_per_kelvin() - k) / bound;
            if z.abs() > 3.5 {
                eprintln!(
                    "case {n} {} known={} stage {i} z={z:.1} k={k:.1} fit={:.1} loss {:.1} bound {bound:.1} doubted {:?}",
                    case.kind,
                    case.loss_known,
                    f.coil.conductance.watts_per_kelvin(),
                    fitted.loss.conductance.watts_per_kelvin(),
                    f.doubted
                );
                for (j, r) in case.series.readings().iter().enumerate() {
                    let m = fitted.track.at(r.at).unwrap().wort.celsius();
                    eprint!("{}[{:.0}s {:.1} {:+.1}] ", j, r.at.seconds(), r.wort.celsius(), r.wort.celsius() - m);
                }
                eprintln!();
            }
        }
    }
}
#[test]
fn zz_time() {
    let cases = cases();
    let t = std::time::Instant::now();
    for c in &cases {
        std::hint::black_box(fit(&c.series, &c.setting));
    }
    eprintln!("fit per case {:?}", t.elapsed() / cases.len() as u32);
}
