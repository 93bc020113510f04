//! The four ways in which data arrive late or wrong: each time every figure is
//! what it would have been had all been right at once, and what moved is named.

use serde_json::{Value, json};
use time::format_description::well_known::Rfc3339;

use super::*;
use crate::brewday::entry;
use crate::brewday::testing::{Day, MORNING};
use crate::brewday::{Entry, LoggedEntry};

/// A chill of two baths, read every other minute: wort of 20 L against 17 L each.
fn chill(first_bath_l: f64, flame_out: Option<f64>) -> Day {
    let mut day = Day::new();
    if let Some(at) = flame_out {
        day.at(at, json!({"kind": "flame_out"}));
    }
    for (start, litres, readings) in [
        (1.0, first_bath_l, [(3.0, 84.0), (5.0, 74.8), (7.0, 68.3), (9.0, 63.8)]),
        (11.0, 17.0, [(13.0, 54.6), (15.0, 48.2), (17.0, 43.9), (19.0, 40.9)]),
    ] {
        day.at(start, json!({"kind": "cooling_started", "method": "still_bath", "water_l": litres, "water_c": 12}));
        for (minute, celsius) in readings {
            day.at(minute, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
        }
    }
    day
}

fn summary(day: &Day) -> Value {
    serde_json::to_value(Summary::of(&day.fold())).expect("a summary is JSON")
}

/// What the last entry of the book moved, by figure.
fn moved_by_the_last(day: &Day) -> (Option<Cause>, Vec<Moved>) {
    let id = day.log.last().expect("an entry").entry.id;
    let day = day.fold();
    let (before, after) = around(&day, id).expect("it is in the book");
    (cause(&day, id), moved(&Summary::of(&before), &Summary::of(&after)))
}

fn figure<'a>(moved: &'a [Moved], named: &str) -> &'a Moved {
    moved.iter().find(|one| one.figure == named).unwrap_or_else(|| panic!("{named} is not among {moved:#?}"))
}

#[test]
fn an_amended_bath_volume() {
    let mut day = chill(10.0, Some(0.0));
    let bath = day.log[1].entry.id;
    let right = json!({"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12});
    day.at(21.0, json!({"kind": "amendment", "of": bath.to_string(), "why": "10 was the mark", "replacement": right}));
    let (cause, moved) = moved_by_the_last(&day);
    assert_eq!(cause, Some(Cause::Corrected));
    assert_eq!(summary(&day), summary(&chill(17.0, Some(0.0))), "as if it had been right at once");
    let coil = figure(&moved, "chill.stages.0.conductance_w_per_k");
    let (Some(Amount::Number(from)), Some(Amount::Number(to))) = (&coil.from, &coil.to) else { panic!("{coil:?}") };
    assert!(from > &(to * 1.2), "less water would have taken a better coil: {coil:?}");
    assert_eq!(
        (figure(&moved, "chill.water_l").from.clone(), figure(&moved, "chill.water_l").to.clone()),
        (Some(Amount::Number(27.0)), Some(Amount::Number(34.0)))
    );
    figure(&moved, "chill.standard_chill_min");
    assert!(moved.iter().all(|one| !one.figure.starts_with("gravity")), "{moved:#?}");

    let amendment = day.log.last().expect("just written").entry.id;
    day.at(22.0, json!({"kind": "amendment", "of": amendment.to_string(), "void": true}));
    let (cause, back) = moved_by_the_last(&day);
    assert_eq!((cause, summary(&day)), (Some(Cause::BroughtBack), summary(&chill(10.0, Some(0.0)))));
    assert_eq!(figure(&back, "chill.water_l").to, Some(Amount::Number(27.0)));
}

#[test]
fn a_flame_out_entered_afterwards() {
    let mut day = chill(17.0, None);
    day.at(-2.0, json!({"kind": "flame_out"}));
    let (cause, moved) = moved_by_the_last(&day);
    assert_eq!(cause, Some(Cause::Late(Duration::ZERO)));
    assert_eq!(summary(&day), summary(&chill(17.0, Some(-2.0))));
    // The minutes counted from the first bath before, and three more from flame-out on.
    let to_80c = figure(&moved, "chill.minutes_to_80c");
    let (Some(Amount::Number(from)), Some(Amount::Number(to))) = (&to_80c.from, &to_80c.to) else {
        panic!("{to_80c:?}")
    };
    assert!((to - from - 3.0).abs() < 1e-6, "{to_80c:?}");
}

#[test]
fn entries_out_of_order() {
    let whole = chill(17.0, Some(0.0));
    let mut late = chill(17.0, Some(0.0));
    // The reading of minute 13 waited on a phone without a network.
    let mut reading = late.log.remove(7);
    assert_eq!(reading.entry.at, MORNING + Duration::minutes(13));
    reading.seq = 99;
    reading.received_at = MORNING + Duration::minutes(20);
    late.log.push(reading);
    let (cause, moved) = moved_by_the_last(&late);
    assert_eq!(cause, Some(Cause::Late(Duration::minutes(7))));
    assert_eq!(summary(&late), summary(&whole));
    figure(&moved, "chill.stages.1.conductance_w_per_k");
    figure(&moved, "chill.stages.1.wort_start_c");
    // One that came in its turn is no late one.
    assert_eq!(super::cause(&whole.fold(), whole.log[7].entry.id), None);
}

#[test]
fn a_bath_entered_afterwards_parts_the_stage_it_falls_in() {
    let mut day = chill(17.0, Some(0.0));
    let second = day.log.remove(6);
    assert!(matches!(second.entry.body, Body::CoolingStarted(_)));
    day.log.push(LoggedEntry { seq: 99, ..second });
    let (cause, moved) = moved_by_the_last(&day);
    assert!(matches!(cause, Some(Cause::Late(_))));
    assert_eq!(summary(&day), summary(&chill(17.0, Some(0.0))));
    let end = figure(&moved, "chill.stages.0.wort_end_c");
    assert_eq!((end.from.clone(), end.to.clone()), (Some(Amount::Number(40.9)), Some(Amount::Number(63.8))));
    assert!(moved.iter().all(|one| !one.figure.starts_with("chill.stages.1")), "{moved:#?}");
}

#[test]
fn a_phone_whose_clock_is_wrong() {
    let right = chill(17.0, Some(0.0));
    for ahead in [Duration::minutes(47), -Duration::hours(3)] {
        let mut day = chill(17.0, Some(0.0));
        for logged in &mut day.log {
            // The phone says when by its own clock, and when it sends.
            let (at, now) = (logged.entry.at, logged.entry.at + Duration::seconds(1));
            let mut body = logged.entry.to_body();
            body["at"] = json!((at + ahead).format(&Rfc3339).expect("a time"));
            let error = entry::clock_error(now + ahead, now);
            logged.entry = Entry::from_body(&body, now, error).expect("a sound entry");
        }
        assert_eq!(summary(&day), summary(&right), "{ahead} ahead");
    }
    // Where the clock's error could not be known, the time is put right by hand.
    let mut day = chill(17.0, Some(0.0));
    day.log[0].entry.at -= Duration::hours(1);
    let wrong = day.log[0].entry.id;
    let at = MORNING.format(&Rfc3339).expect("a time");
    day.at(25.0, json!({"kind": "amendment", "of": wrong.to_string(), "replacement": {"kind": "flame_out", "at": at}}));
    let (cause, moved) = moved_by_the_last(&day);
    assert_eq!((cause, summary(&day)), (Some(Cause::Corrected), summary(&right)));
    figure(&moved, "chill.minutes_to_80c");
    figure(&moved, "chill.alpha_isomerised_after_flame_out_mg_per_l");
}

#[test]
fn a_volume_read_late_is_told_as_such() {
    let mut day = chill(17.0, Some(0.0));
    day.at(20.0, json!({"kind": "volume", "point": "post_boil", "volume_l": 23.5, "temperature_c": 98}));
    let (cause, moved) = moved_by_the_last(&day);
    assert_eq!(cause, Some(Cause::Afterwards));
    figure(&moved, "chill.heat_mj");
    figure(&moved, "chill.stages.0.conductance_w_per_k");
}

#[test]
fn verdicts_move_as_well() {
    let mut day = chill(17.0, Some(0.0));
    for (minute, celsius) in [(21.0, 19.0), (25.0, 19.1), (29.0, 19.0), (32.0, 22.4)] {
        day.at(minute, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
    }
    let misread = day.log.last().expect("just written").entry.id;
    let right = json!({"kind": "temperature", "place": "wort", "temperature_c": 19.0});
    day.at(33.0, json!({"kind": "amendment", "of": misread.to_string(), "replacement": right}));
    let (_, moved) = moved_by_the_last(&day);
    let verdict = figure(&moved, "chill.verdict");
    let words = [&verdict.from, &verdict.to].map(|word| word.clone().expect("a word"));
    assert_eq!(words, [Amount::Word("moving".into()), Amount::Word("settled".into())]);
    figure(&moved, "chill.minutes_to_settled");
}
