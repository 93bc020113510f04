//! The log: what is taken, what is held, what is refused.

use serde_json::{Value, json};

use crate::house::{House, ago, entry, wort};

/// Every kind of entry, each with as many of its fields as it may have.
pub(crate) fn one_of_each(equipment: &Value, earlier: &Value) -> Vec<Value> {
    let kinds = json!([
        {"kind": "stage_started", "stage": "mash"},
        {"kind": "stage_finished", "stage": "mash"},
        {"kind": "boil_started"},
        {"kind": "flame_out"},
        {"kind": "temperature", "place": "mash", "temperature_c": 66.5},
        {"kind": "volume", "point": "pre_boil", "volume_l": 26.0, "temperature_c": 70.0},
        {"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.04, "temperature_c": 20.0},
        {"kind": "gravity", "point": "first_wort", "instrument": "refractometer", "reading": 18.5, "temperature_c": 21.0},
        {"kind": "ph", "point": "mash", "ph": 5.4},
        {"kind": "addition", "what": "Bittering hop", "mass_kg": 0.04, "planned": 0},
        {"kind": "flush_started", "temperature_c": 95.0},
        {"kind": "flush_finished", "temperature_c": 91.0},
        {"kind": "cooling_started", "method": "running_water", "water_c": 12.0, "flow_l_min": 4.5},
        {"kind": "cooling_started", "method": "ice_bath", "water_l": 17.0, "water_c": 12.0, "ice_kg": 4.0},
        {"kind": "ice_added", "ice_kg": 1.5},
        {"kind": "bath_stirred"},
        {"kind": "coil_drained", "recovered_l": 1.1},
        {"kind": "check", "item": "gloves_ready", "outcome": "skipped", "why": "none to be found"},
        {"kind": "pitched", "yeast": "House ale", "cells_billion": 200.0, "mass_kg": 0.011, "yeast_c": 18.0, "wort_c": 19.0},
        {"kind": "care", "equipment": equipment, "act": "weighed", "mass_kg": 3.15, "where": "Shed"},
        {"kind": "note"},
        {"kind": "amendment", "of": earlier, "why": "misread",
            "replacement": {"kind": "temperature", "place": "wort", "temperature_c": 71.0}},
        {"kind": "amendment", "of": earlier, "void": true, "why": "not ours"},
    ]);
    let kinds = kinds.as_array().unwrap().iter().enumerate();
    let minutes = |index| 40.0 - f64::from(u32::try_from(index).unwrap());
    kinds
        .map(|(index, kind)| {
            let mut body = entry(minutes(index), kind.clone());
            body["note"] = json!("Said beside it.");
            body["typed"] = json!({"temperature_c": "150 °F"});
            body
        })
        .collect()
}

#[tokio::test]
async fn every_kind_of_entry_is_taken_and_given_back_as_it_was_sent() {
    let (house, batch) = House::brewing().await;
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil"})).await["id"].clone();
    let first = wort(60.0, 70.0);
    house.append(batch, std::slice::from_ref(&first)).await;
    let sent = one_of_each(&coil, &first["id"]);
    let receipt = house.append(batch, &sent).await;
    let ids: Vec<&Value> = sent.iter().map(|entry| &entry["id"]).collect();
    assert_eq!(receipt, json!({"accepted": ids, "held": [], "refused": []}));

    let path = format!("/api/v1/batches/{batch}/entries");
    let log = house.get(&path).await.json();
    let log = log.as_array().unwrap();
    assert_eq!(log.len(), sent.len() + 1);
    for (logged, sent) in log[1..].iter().zip(&sent) {
        let mut logged = logged.clone();
        for added in ["seq", "received_at", "device"] {
            assert!(logged.as_object_mut().unwrap().remove(added).is_some(), "{added}");
        }
        assert_eq!(&logged, sent);
    }
    let seq = |index: usize| log[index]["seq"].as_i64().unwrap();
    let rest = house.get(&format!("{path}?after={}", seq(20))).await.json();
    assert_eq!(rest.as_array().unwrap()[..], log[21..]);
    assert_eq!(house.get(&format!("{path}?after={}", seq(log.len() - 1))).await.json(), json!([]));
}

#[tokio::test]
async fn an_entry_sent_twice_is_one_entry() {
    let (house, batch) = House::brewing().await;
    let one = wort(5.0, 60.0);
    assert_eq!(house.append(batch, &[one.clone(), one.clone()]).await["held"], json!([one["id"]]));
    let before = house.summary(batch).await;
    let mut changed = one.clone();
    changed["temperature_c"] = json!(20);
    let receipt = house.append(batch, &[changed]).await;
    assert_eq!(receipt, json!({"accepted": [], "held": [one["id"]], "refused": []}));
    assert_eq!(house.summary(batch).await, before, "what was held first stands");

    let other = house.start(json!({})).await;
    assert_eq!(house.append(other, std::slice::from_ref(&one)).await["held"], json!([one["id"]]), "the book knows it");
}

#[tokio::test]
async fn an_id_is_answered_in_the_letters_it_was_sent_in() {
    let (house, batch) = House::brewing().await;
    let mut shouted = wort(5.0, 60.0);
    shouted["id"] = json!("0190A1B2-C3D4-7E5F-8A9B-0C1D2E3F4A5B");
    assert_eq!(house.append(batch, &[shouted.clone()]).await["accepted"], json!([shouted["id"]]));
    assert_eq!(house.append(batch, &[shouted.clone()]).await["held"], json!([shouted["id"]]));
}

#[tokio::test]
async fn a_faulty_entry_is_refused_alone_with_a_row_for_each_fault() {
    let (house, batch) = House::brewing().await;
    let (good, late) = (wort(5.0, 60.0), wort(4.0, 58.0));
    let faulty = entry(3.0, json!({"kind": "temperature", "place": "attic", "temperature_c": 200, "mood": "fine"}));
    let nameless = json!({"kind": "boil_started", "at": ago(2.0)});
    let receipt = house.append(batch, &[good.clone(), faulty.clone(), nameless, json!(7), late.clone()]).await;
    assert_eq!(receipt["accepted"], json!([good["id"], late["id"]]));
    let rows: Vec<(&Value, &Value)> =
        receipt["refused"].as_array().unwrap().iter().map(|row| (&row["id"], &row["field"])).collect();
    let wanted =
        json!([[faulty["id"], "place"], [faulty["id"], "temperature_c"], [faulty["id"], "mood"], [null, "id"],]);
    for (row, wanted) in rows.iter().zip(wanted.as_array().unwrap()) {
        assert_eq!((row.0, row.1), (&wanted[0], &wanted[1]));
    }
    assert_eq!(rows[4..], [(&json!(null), &json!(""))], "what is no entry at all has one row: {receipt}");
    let log = house.get(&format!("/api/v1/batches/{batch}/entries")).await.json();
    assert_eq!(log.as_array().map(Vec::len), Some(2), "nothing of a refused entry was kept");
}

#[tokio::test]
async fn what_is_outside_of_what_can_be_is_refused_by_field() {
    let (house, batch) = House::brewing().await;
    let at_the_pitch = json!({"kind": "pitched", "yeast": "House ale"});
    house.append(batch, &[entry(30.0, at_the_pitch)]).await;
    let with = |mut body: Value, field: &str, value: Value| {
        body[field] = value;
        body
    };
    let temperature = || entry(1.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 20}));
    let volume = || entry(1.0, json!({"kind": "volume", "point": "strike", "volume_l": 15, "temperature_c": 20}));
    let gravity = |instrument: &str, reading: f64| {
        entry(
            40.0,
            json!({"kind": "gravity", "point": "pre_boil", "instrument": instrument, "reading": reading, "temperature_c": 20}),
        )
    };
    let ph = |value: f64| entry(1.0, json!({"kind": "ph", "point": "mash", "ph": value}));
    let kind = |body: Value| entry(1.0, body);
    let cases = [
        (with(temperature(), "temperature_c", json!(-10.1)), "temperature_c"),
        (with(temperature(), "temperature_c", json!(115.1)), "temperature_c"),
        (with(temperature(), "temperature_c", json!("20")), "temperature_c"),
        (with(temperature(), "temperature_c", json!(null)), "temperature_c"),
        (with(temperature(), "temperature_c", json!([20])), "temperature_c"),
        (with(temperature(), "temperature_f", json!(68)), "temperature_f"),
        (with(temperature(), "place", json!("cellar")), "place"),
        (with(temperature(), "place", json!(1)), "place"),
        (with(temperature(), "id", json!("12")), "id"),
        (with(temperature(), "id", json!(12)), "id"),
        (with(temperature(), "id", json!(null)), "id"),
        (with(temperature(), "at", json!(ago(-11.0))), "at"),
        (with(temperature(), "at", json!("1969-12-31T23:59:59Z")), "at"),
        (with(temperature(), "at", json!("2026-03-07 14:42")), "at"),
        (with(temperature(), "at", json!("2026-02-30T14:42:00Z")), "at"),
        (with(temperature(), "at", json!("")), "at"),
        (with(temperature(), "at", json!(1_772_894_520)), "at"),
        (with(temperature(), "at", json!(null)), "at"),
        (with(temperature(), "kind", json!("feeling")), "kind"),
        (with(temperature(), "kind", json!(null)), "kind"),
        (with(temperature(), "note", json!("x".repeat(2001))), "note"),
        (with(temperature(), "typed", json!({"a": 1})), "typed"),
        (with(temperature(), "seq", json!(1)), "seq"),
        (with(volume(), "volume_l", json!(0)), "volume_l"),
        (with(volume(), "volume_l", json!(-1)), "volume_l"),
        (with(volume(), "volume_l", json!(2000.5)), "volume_l"),
        (with(volume(), "temperature_c", json!(120)), "temperature_c"),
        (with(volume(), "point", json!("final")), "point"),
        (gravity("hydrometer", 0.979), "reading"),
        (gravity("hydrometer", 1.201), "reading"),
        (gravity("hydrometer", 1046.0), "reading"),
        (gravity("refractometer", -0.1), "reading"),
        (gravity("refractometer", 45.1), "reading"),
        (gravity("spindle", 1.04), "instrument"),
        (ph(1.9), "ph"),
        (ph(12.1), "ph"),
        (kind(json!({"kind": "addition", "what": "Hop", "mass_kg": -0.01})), "mass_kg"),
        (kind(json!({"kind": "addition", "mass_kg": 0.01})), "what"),
        (kind(json!({"kind": "addition", "what": "Hop", "mass_kg": 0.01, "planned": 0.5})), "planned"),
        (kind(json!({"kind": "ice_added", "ice_kg": -1})), "ice_kg"),
        (kind(json!({"kind": "ice_added"})), "ice_kg"),
        (kind(json!({"kind": "cooling_started", "method": "snow"})), "method"),
        (kind(json!({"kind": "cooling_started", "method": "running_water", "flow_l_min": 0})), "flow_l_min"),
        (kind(json!({"kind": "coil_drained", "recovered_l": -0.1})), "recovered_l"),
        (kind(json!({"kind": "check", "item": "", "outcome": "done"})), "item"),
        (kind(json!({"kind": "check", "item": "x", "outcome": "maybe"})), "outcome"),
        (kind(json!({"kind": "pitched"})), "yeast"),
        (kind(json!({"kind": "pitched", "yeast": "Ale", "cells_billion": -1})), "cells_billion"),
        (kind(json!({"kind": "stage_started", "stage": "sleep"})), "stage"),
        (kind(json!({"kind": "boil_started", "stage": "boil"})), "stage"),
        (kind(json!({"kind": "note"})), "note"),
        (kind(json!({"kind": "care", "equipment": 77, "act": "rinsed"})), "equipment"),
        (kind(json!({"kind": "care", "equipment": 1, "act": "weighed"})), "mass_kg"),
        (kind(json!({"kind": "care", "equipment": 1, "act": "kicked"})), "act"),
        (kind(json!({"kind": "amendment", "of": "0190a1b2-0000-7000-8000-000000000000", "void": true})), "of"),
        (kind(json!({"kind": "amendment", "of": "that one", "void": true})), "of"),
        (kind(json!({"kind": "amendment", "of": "0190a1b2-0000-7000-8000-000000000000"})), "replacement"),
        // A wort with yeast in it.
        (with(gravity("refractometer", 6.0), "at", json!(ago(1.0))), "instrument"),
        (with(gravity("refractometer", 6.0), "point", json!("final")), "instrument"),
    ];
    for (body, field) in &cases {
        let receipt = house.append(batch, std::slice::from_ref(body)).await;
        assert_eq!(receipt["accepted"], json!([]), "{body}");
        let refused = receipt["refused"].as_array().unwrap();
        assert_eq!(refused.len(), 1, "one sentence for one fault: {body}: {receipt}");
        assert_eq!(refused[0]["field"], *field, "{body}: {receipt}");
        assert!(refused[0]["why"].as_str().is_some_and(|why| why.ends_with('.')), "{receipt}");
    }
}

#[tokio::test]
async fn what_is_odd_but_possible_is_kept() {
    let (house, batch) = House::brewing().await;
    let edges = [
        wort(9.0, -10.0),
        wort(8.0, 115.0),
        entry(7.0, json!({"kind": "temperature", "place": "mash", "temperature_c": 20})),
        entry(6.0, json!({"kind": "volume", "point": "strike", "volume_l": 2000, "temperature_c": 20})),
        entry(
            5.0,
            json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.2, "temperature_c": 20}),
        ),
        entry(
            4.0,
            json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 0.98, "temperature_c": 20}),
        ),
        entry(
            3.0,
            json!({"kind": "gravity", "point": "first_wort", "instrument": "refractometer", "reading": 45, "temperature_c": 20}),
        ),
        entry(2.0, json!({"kind": "ph", "point": "mash", "ph": 2})),
        entry(1.0, json!({"kind": "addition", "what": "Nothing", "mass_kg": 0})),
        wort(-9.0, 60.0),
    ];
    assert_eq!(house.append(batch, &edges).await["refused"], json!([]));
}

#[tokio::test]
async fn an_amendment_takes_the_place_of_what_it_is_about() {
    let (house, batch) = House::brewing().await;
    let gravity = |reading: f64| json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": reading, "temperature_c": 20});
    let first = entry(9.0, gravity(1.064));
    let amend = |more: Value| {
        let mut body = entry(5.0, json!({"kind": "amendment", "of": first["id"]}));
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        body
    };
    let sg = async || house.summary(batch).await["gravity"]["post_boil_sg"].as_f64();
    // In one post with the entry it is about.
    let replaced = amend(json!({"replacement": gravity(1.046), "why": "digits swapped"}));
    assert_eq!(house.append(batch, &[first.clone(), replaced.clone()]).await["refused"], json!([]));
    assert!((sg().await.unwrap() - 1.046).abs() < 1e-6);
    let undone = entry(4.0, json!({"kind": "amendment", "of": replaced["id"], "void": true}));
    house.append(batch, &[undone]).await;
    assert!((sg().await.unwrap() - 1.064).abs() < 1e-6);
    house.append(batch, &[amend(json!({"void": true}))]).await;
    assert_eq!(sg().await, None);

    for (more, field) in [
        (
            json!({"replacement": {"kind": "temperature", "place": "wort", "temperature_c": 300}}),
            "replacement.temperature_c",
        ),
        (json!({"replacement": {"kind": "amendment", "of": first["id"], "void": true}}), "replacement.kind"),
        (json!({"replacement": {"kind": "note"}}), "replacement.note"),
        (json!({"replacement": gravity(1.05), "void": true}), "void"),
        (json!({"replacement": "later"}), "replacement"),
    ] {
        let receipt = house.append(batch, &[amend(more.clone())]).await;
        assert_eq!(receipt["refused"][0]["field"], field, "{more}: {receipt}");
    }
    let log = house.get(&format!("/api/v1/batches/{batch}/entries")).await.json();
    assert_eq!(log.as_array().map(Vec::len), Some(4), "what was amended stays to be read");

    let other = house.start(json!({})).await;
    let receipt = house.append(other, &[amend(json!({"void": true}))]).await;
    assert_eq!(receipt["refused"][0]["field"], "of", "an amendment stays within its batch");
}

#[tokio::test]
async fn a_clock_that_is_wrong_is_put_right_and_an_older_day_is_left_alone() {
    let (house, batch) = House::brewing().await;
    let path = format!("/api/v1/batches/{batch}/entries");
    let kept_minutes_ago = async |sent_ago: f64, at_ago: f64| {
        let reading = wort(at_ago, 60.0);
        let answer = house.post(&path, &json!({"sent_at": ago(sent_ago), "entries": [reading]})).await;
        assert_eq!(answer.json()["refused"], json!([]), "{}", answer.text);
        let log = house.get(&path).await.json();
        let at = log.as_array().unwrap().last().unwrap()["at"].as_str().unwrap().to_owned();
        let at = time::OffsetDateTime::parse(&at, &time::format_description::well_known::Rfc3339).unwrap();
        (time::OffsetDateTime::now_utc() - at).as_seconds_f64() / 60.0
    };
    let near = |minutes: f64, wanted: f64| (minutes - wanted).abs() < 0.5;
    // Two hours ahead, five minutes ago by its own clock.
    let kept = kept_minutes_ago(-120.0, -115.0).await;
    assert!(near(kept, 5.0), "{kept}");
    // Two hours behind.
    let kept = kept_minutes_ago(120.0, 125.0).await;
    assert!(near(kept, 5.0), "{kept}");
    // On the wrong side of the date line and of summer time.
    let kept = kept_minutes_ago(26.0 * 60.0 - 1.0, 26.0 * 60.0 + 4.0).await;
    assert!(near(kept, 5.0), "{kept}");
    // A day that is brought in later.
    let kept = kept_minutes_ago(26.0 * 60.0 + 1.0, 26.0 * 60.0 + 6.0).await;
    assert!(near(kept, 26.0 * 60.0 + 6.0), "{kept}");

    for sent_at in [json!("yesterday"), json!(7), json!({})] {
        let refused = house.post(&path, &json!({"sent_at": sent_at, "entries": []})).await.problem(422);
        assert_eq!(refused["field"], "sent_at");
    }
    for (body, field) in [
        (json!({}), "entries"),
        (json!({"entries": null}), "entries"),
        (json!({"entries": {}}), "entries"),
        (json!({"entries": [], "batch": 1}), "batch"),
    ] {
        assert_eq!(house.post(&path, &body).await.problem(422)["field"], field, "{body}");
    }
    assert_eq!(house.append(batch, &[]).await, json!({"accepted": [], "held": [], "refused": []}));
}

#[tokio::test]
async fn a_tick_that_cares_for_equipment_is_told_once_however_often_it_is_sent() {
    let house = House::open().await;
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil"})).await["id"].clone();
    let batch = house.start(json!({"equipment": [coil]})).await;
    let tick = entry(1.0, json!({"kind": "check", "item": "coil_cleaned", "outcome": "done"}));
    for _ in 0..2 {
        house.append(batch, std::slice::from_ref(&tick)).await;
    }
    let log = house.get(&format!("/api/v1/batches/{batch}/entries")).await.json();
    let kinds: Vec<&str> = log.as_array().unwrap().iter().map(|entry| entry["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["check", "care"]);
    assert_eq!(house.get(&format!("/api/v1/equipment/{coil}")).await.json()["care"]["condition"], "clean_wet");
}
