use serde_json::json;
use time::Duration;

use super::*;
use crate::brewday::Entry;
use crate::brewday::choices::Place;
use crate::brewday::testing::Day;

fn wort_readings(day: &Day) -> Vec<f64> {
    day.fold().temperatures(Place::Wort).map(|reading| reading.temperature_c).collect()
}

#[test]
fn entries_stand_in_the_order_they_happened_not_the_order_they_came() {
    let mut day = Day::new();
    day.at(20.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
    day.at(10.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 60}));
    assert_eq!(wort_readings(&day), [60.0, 40.0]);
}

#[test]
fn the_later_of_two_amendments_counts_and_the_earlier_stays_readable() {
    let mut day = Day::new();
    let first = day.at(1.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
    let amend = |celsius: f64| {
        json!({"kind": "amendment", "of": first.to_string(), "why": "misread",
            "replacement": {"kind": "temperature", "place": "wort", "temperature_c": celsius}})
    };
    let one = day.at(2.0, amend(41.0));
    let two = day.at(3.0, amend(42.0));
    assert_eq!(wort_readings(&day), [42.0]);
    let fates: Vec<Fate> = day.fold().lines.iter().map(|line| line.fate).collect();
    assert_eq!(fates, [Fate::Replaced(two), Fate::Overruled(two), Fate::Stands]);
    let undo = day.at(4.0, json!({"kind": "amendment", "of": two.to_string(), "void": true}));
    assert_eq!(wort_readings(&day), [41.0], "striking out the later brings back the earlier");
    let fates: Vec<Fate> = day.fold().lines.iter().map(|line| line.fate).collect();
    assert_eq!(fates, [Fate::Replaced(one), Fate::Stands, Fate::Voided(undo), Fate::Stands]);
}

#[test]
fn a_voided_entry_counts_no_more_and_can_be_brought_back() {
    let mut day = Day::new();
    let first = day.at(1.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 40}));
    let void = day.at(2.0, json!({"kind": "amendment", "of": first.to_string(), "void": true}));
    assert!(wort_readings(&day).is_empty());
    day.at(3.0, json!({"kind": "amendment", "of": void.to_string(), "void": true}));
    assert_eq!(wort_readings(&day), [40.0]);
}

#[test]
fn an_amendment_can_move_an_entry_in_time() {
    let mut day = Day::new();
    let first = day.at(30.0, json!({"kind": "flame_out"}));
    day.at(
        31.0,
        json!({"kind": "amendment", "of": first.to_string(),
        "replacement": {"kind": "flame_out", "at": "2026-03-07T09:10:00Z"}}),
    );
    assert_eq!(day.fold().flame_out(), Some(crate::brewday::testing::MORNING + Duration::minutes(10)));
}

#[test]
fn a_refractometer_is_refused_once_the_yeast_is_in() {
    let mut day = Day::ordinary();
    let late = json!({"kind": "gravity", "point": "into_fermenter", "instrument": "refractometer",
        "reading": 6, "temperature_c": 20});
    day.at(300.0, late);
    let entry = day.log.pop().expect("just written").entry;
    let fault = day.fold().refuses(&entry).expect_err("there is yeast in it");
    assert_eq!(fault.field, "instrument");
    let before = Entry { at: entry.at - Duration::hours(4), ..entry };
    assert!(day.fold().refuses(&before).is_ok(), "read before the pitch, entered after");
}

#[test]
fn a_tick_on_the_list_cleans_the_coil_and_taking_it_back_undoes_that() {
    let mut day = Day::new();
    let check = day.at(1.0, json!({"kind": "check", "item": "coil_cleaned", "outcome": "done"}));
    let entry = day.log.last().expect("just written").entry.clone();
    let care = day.fold().follow_ups(&entry);
    assert!(matches!(&care[..], [Entry { body: Body::Care(care), .. }] if care.equipment == 1));
    assert_eq!(care, day.fold().follow_ups(&entry), "the same ids each time");
    day.log.push(LoggedEntry { seq: 2, received_at: entry.at, device: None, entry: care[0].clone() });
    assert!(day.fold().care(&day.batch.equipment[0], None).is_clean());
    day.at(3.0, json!({"kind": "amendment", "of": check.to_string(), "void": true}));
    let undone = day.fold().follow_ups(&day.log.last().expect("just written").entry.clone());
    assert!(matches!(&undone[..], [Entry { body: Body::Amendment(amendment), .. }] if amendment.of == care[0].id));
}

#[test]
fn a_stage_ends_where_the_next_begins_and_ice_belongs_to_the_bath_it_went_into() {
    let mut day = Day::new();
    day.at(0.0, json!({"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12}));
    day.at(10.0, json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 6, "water_c": 12, "ice_kg": 2}));
    day.at(15.0, json!({"kind": "ice_added", "ice_kg": 1.2}));
    day.at(30.0, json!({"kind": "coil_drained", "recovered_l": 0.9}));
    let stages = day.fold().cooling_stages();
    assert_eq!(stages.len(), 2);
    assert_eq!(stages[0].ended, Some(stages[1].started));
    assert!((stages[1].ice_kg() - 3.2).abs() < 1e-9);
    assert!(stages[1].ended.is_some());
}

#[test]
fn odd_values_are_kept_and_marked() {
    let mut day = Day::new();
    day.at(1.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 20}));
    let day = day.fold();
    assert_eq!(day.standing.len(), 1);
    assert_eq!(day.lines[0].odd.len(), 1);
}
