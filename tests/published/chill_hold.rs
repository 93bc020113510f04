//! The full-pass hold, reading by reading.
//!
//! Source: the rule of the trade as `science::chilling::hold` states it (common
//! practice, no source). Every verdict below was worked out by hand from that
//! rule: at each reading `m` moving, `h4` holding for 4 min, `S10` settled after
//! 10 min; `*` where the reading ends a passing dip. Times are minutes to 0.01.

use gylebook::science::chilling::hold::{Hold, Rule, Verdict, first_settled, verdict, verdicts};
use gylebook::science::chilling::series::Reading;
use gylebook::science::chilling::series::Series;
use gylebook::science::units::TemperatureDifference;

use crate::chill_tables::{celsius, minutes, reading};

/// Name, pass time (nil: unknown), `minute:°C` readings, verdicts.
type Row = (&'static str, f64, &'static str, &'static str);

const ROWS: &[Row] = &[
    // What a hold is.
    ("one reading", 10., "0:20", "m"),
    ("just one pass", 10., "0:20 5:20 10:20", "m h5 S10"),
    ("a second short of a pass", 10., "0:20 5:20 9.98:20", "m h5 h9.98"),
    ("longer than a pass", 10., "0:20 4:20 8:20 12:20 16:20", "m h4 h8 S12 S16"),
    ("a pass of six minutes", 6., "0:20 3:20 6:20", "m h3 S6"),
    ("a pass of twenty", 20., "0:20 10:20 20:20", "m h10 S20"),
    ("hot wort holds too", 10., "0:95 5:95 10:95", "m h5 S10"),
    // Tolerance about the mean.
    ("tenths to and fro", 10., "0:20.1 3:20.0 6:20.2 9:20.1 12:20.0", "m h3 h6 h9 S12"),
    ("0.4 up and down", 10., "0:20.0 5:20.4 10:20.0", "m h5 S10"),
    ("half a degree from the mean still counts", 10., "0:20.2 4:20.0 8:20.0 11:20.0 12:20.6", "m h4 h8 S11 S12"),
    ("0.7 from the mean does not", 10., "0:20.0 4:20.0 8:20.0 12:20.0 13:20.9", "m h4 h8 S12 m"),
    ("slow fall within the band", 10., "0:20.4 2:20.3 4:20.2 6:20.2 8:20.1 10:20.0", "m h2 h4 h6 h8 S10"),
    ("band left and found again", 10., "0:21 5:20 10:20 15:20 20:20", "m m h5 S10 S15"),
    // Moving.
    ("three degrees a minute", 10., "0:50 1:47 2:44 3:41", "m m m m"),
    ("a fifth of a degree a minute", 10., "0:22.0 1:21.8 2:21.6 3:21.4 4:21.2 5:21.0 6:20.8", "m h1 m m m m m"),
    ("every five seconds, still cooling", 10., "0:60.0 0.1:59.7 0.2:59.4 0.3:59.1 0.4:58.8", "m m m m m"),
    ("warming overnight", 10., "0:15 5:16 10:17 15:18", "m m m m"),
    (
        "a limit approached",
        10.,
        "0:24 2:22 4:21 6:20.5 8:20.2 10:20.1 12:20.0 14:20.0 16:20.0",
        "m m m m m h4 h6 h8 S10",
    ),
    // Gaps.
    ("gap of just half a pass", 10., "0:20 5:20 10:20 15:20", "m h5 S10 S15"),
    ("gap a second longer", 10., "0:20 5.02:20 10:20", "m m h4.98"),
    ("gap in the middle", 10., "0:20 4:20 8:20 14:20 18:20 22:20 24:20", "m h4 h8 m h4 h8 S10"),
    ("two readings a pass apart", 10., "0:20 10:20", "m m"),
    ("an hour without readings", 10., "0:20 5:20 10:20 70:20 75:20", "m h5 S10 m h5"),
    ("settled, then a gap", 10., "0:20 5:20 10:20 16:20", "m h5 S10 m"),
    // Passing dips.
    ("dip after a change", 10., "0:26 1:22 2:20 3:21 4:22.3 5:22.5 8:22.4 13:22.4 15:22.5", "m m m m* m* h1 h4 h9 S11"),
    ("dip of 0.6 after a fall of 0.6", 10., "0:20.6 4:20.0 5:20.6 10:20.6 15:20.6", "m m m* h5 S10"),
    ("climb within the tolerance is no dip", 10., "0:21.0 4:20.0 5:20.4 10:20.4 15:20.4", "m m m h6 S11"),
    ("fall within the tolerance is no dip", 10., "0:20.4 4:20.0 5:20.5 9:20.5 14:20.5", "m h4 h5 h9 S14"),
    ("dip during a hold", 10., "0:20 4:20 8:20 9:18 10:19.9 14:19.9 18:19.9 20:19.9", "m h4 h8 m m* h4 h8 S10"),
    ("dip of a settled wort", 10., "0:20 5:20 10:20 11:19 12:20 17:20 22:20", "m h5 S10 m m* h5 S10"),
    ("two dips", 10., "0:30 2:25 3:27 6:27 7:24 8:26.5 12:26.4 17:26.4 18:26.5", "m m m* h3 m m* h4 h9 S10"),
    (
        "slow climb out of a dip",
        10.,
        "0:24 1:20 2:20.4 3:20.8 4:21.2 5:21.6 6:22.0 10:22.1 15:22.0",
        "m m m m* m m* m h5 S10",
    ),
    ("climb a pass after the lowest is no dip", 10., "0:24 1:20 6:20 11:20 12:20.2 17:20.9", "m m h5 S10 S11 m"),
    (
        "fall more than a pass before the climb",
        5.,
        "0:24 2:20 4:20 6:20 8:20 9:21.2 11:21.2 13:21.2 14:21.2",
        "m m h2 h4 S6 m h2 h4 S5",
    ),
    ("a degree's step, as far from the mean as may be", 5., "0:20 2:20 4:20 5:21 7:21 9:21", "m h2 h4 m S5 S9"),
    ("one wild high reading", 10., "0:20 4:20 5:35 6:20 10:20 14:20 16:20", "m h4 m m h4 h8 S10"),
    ("one wild low reading", 10., "0:20 4:20 5:5 6:20 10:20 14:20 16:20", "m h4 m m* h4 h8 S10"),
    // Thermometers.
    ("two thermometers 0.3 apart", 10., "0:20.0 2:20.3 4:20.0 6:20.3 8:20.0 10:20.3", "m m h4 h6 h8 S10"),
    ("two thermometers 0.8 apart", 10., "0:20.0 2:20.8 4:20.0 6:20.8 8:20.0 10:20.8", "m m m m* m m*"),
    (
        "the other thermometer from now on",
        10.,
        "0:20.0 4:20.0 8:20.0 9:21.5 13:21.5 17:21.5 19:21.5",
        "m h4 h8 m h4 h8 S10",
    ),
    ("a step down", 10., "0:22 4:22 8:22 9:20 13:20 17:20 19:20", "m h4 h8 m h4 h8 S10"),
    ("a display of whole degrees", 10., "0:20 4:21 8:20 12:21 16:20", "m m m m* m"),
    ("a display of halves", 10., "0:20 4:20.5 8:20.5 12:20.5", "m m h8 S12"),
    // Pass time not known.
    ("unknown pass never settles", 0., "0:20 5:20 10:20 15:20 20:20", "m h5 h10 h15 h20"),
    ("unknown pass, gap by the usual one", 0., "0:20 5:20 11:20", "m h5 m"),
    // Two readings of one moment.
    ("twice in one second, alike", 10., "0:20 0:20.1 5:20 10:20", "m m h5 S10"),
    ("twice in one second, unlike", 10., "0:20 5:20 5:23 10:20", "m h5 m m"),
];

fn readings(text: &str) -> Vec<Reading> {
    let one = |pair: &str| {
        let (at, wort) = pair.split_once(':').unwrap();
        reading(at.parse().unwrap(), wort.parse().unwrap())
    };
    text.split_whitespace().map(one).collect()
}

fn rule(pass: f64) -> Rule {
    if pass > 0.0 { Rule::with_pass(minutes(pass)) } else { Rule::without_pass() }
}

fn said(hold: &Hold, at: Reading) -> String {
    let rounded = |held: f64| (held * 100.0).round() / 100.0;
    let ends_dip = hold.dip.is_some_and(|d| d.climbed_at == at.at);
    let verdict = match hold.verdict {
        Verdict::NotStarted => "-".to_owned(),
        Verdict::Moving => "m".to_owned(),
        Verdict::Holding { held, .. } => format!("h{}", rounded(held.minutes())),
        Verdict::Settled { held, .. } => format!("S{}", rounded(held.minutes())),
    };
    format!("{verdict}{}", if ends_dip { "*" } else { "" })
}

#[test]
fn verdict_at_every_reading() {
    assert!(ROWS.len() >= 40);
    let mut wrong = String::new();
    for &(name, pass, given, want) in ROWS {
        let readings = readings(given);
        let holds = verdicts(&readings, &rule(pass));
        let got: Vec<String> = holds.iter().zip(&readings).map(|(h, &r)| said(h, r)).collect();
        let got = got.join(" ");
        if got != want {
            wrong += &format!("{name}: {given}\n  says   {got}\n  should {want}\n");
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

/// A late or amended entry changes the verdict as if it had been there in time.
#[test]
fn late_and_amended_readings() {
    let rule = rule(10.0);
    let mut known = readings("0:20 4:20 10:20");
    assert_eq!(verdict(&known, &rule).verdict, Verdict::Moving);
    known.push(reading(7.0, 20.0));
    let late = Series::new(known, Vec::new(), Vec::new());
    assert!(matches!(verdict(late.readings(), &rule).verdict, Verdict::Settled { .. }));
    // 30 was typed for 20, and amended.
    let typed = readings("0:20 4:30 7:20 10:20");
    assert!(!matches!(verdict(&typed, &rule).verdict, Verdict::Settled { .. }));
    let amended = readings("0:20 4:20 7:20 10:20");
    assert!(matches!(verdict(&amended, &rule).verdict, Verdict::Settled { .. }));
}

#[test]
fn what_it_says_beside_the_verdict() {
    let wort = readings("0:26 1:22 2:20 3:22.5 8:22.4 13:22.6");
    let hold = verdict(&wort, &rule(10.0));
    let dip = hold.dip.expect("a passing dip");
    assert_eq!((dip.lowest_at, dip.climbed_at), (minutes(2.0), minutes(3.0)));
    assert_eq!((dip.lowest, dip.climb), (celsius(20.0), TemperatureDifference::from_kelvins(2.5)));
    let Verdict::Settled { wort: mean, .. } = hold.verdict else { panic!("{hold:?}") };
    assert!((mean.celsius() - 22.5).abs() < 1e-9);
    assert_eq!(first_settled(&wort, &rule(10.0), celsius(22.0)), Some(minutes(13.0)));
    assert_eq!(first_settled(&wort, &rule(10.0), celsius(20.0)), None);
    assert_eq!(verdict(&[], &rule(10.0)).verdict, Verdict::NotStarted);
}

/// Two thermometers read in one go, 0.8 K apart, on a wort that falls and then
/// stays: the warmer one has not climbed away from the colder.
#[test]
fn two_thermometers_read_together_are_no_dip() {
    let falls = [30.0, 26.0, 23.0, 21.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0];
    let pairs = falls.iter().enumerate().flat_map(|(n, &wort)| {
        let at = 2.0 * n as f64;
        [reading(at, wort), reading(at + 0.05, wort + 0.8)]
    });
    let wort: Vec<Reading> = pairs.collect();
    let holds = verdicts(&wort, &rule(10.0));
    assert!(holds.iter().all(|hold| hold.dip.is_none()), "{holds:?}");
    assert!(matches!(holds[holds.len() - 1].verdict, Verdict::Settled { .. }), "{:?}", holds.last());
    // A minute apart they could be a dip, and are taken for one.
    let apart: Vec<Reading> = falls
        .iter()
        .enumerate()
        .map(|(n, &wort)| {
            let off = if n % 2 == 1 { 0.8 } else { 0.0 };
            reading(n as f64, wort + off)
        })
        .collect();
    assert!(verdicts(&apart, &rule(10.0)).iter().any(|hold| hold.dip.is_some()));
}
