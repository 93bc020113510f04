//! Kept busy for long: memory, the write-ahead log, and its own log stay small.

use std::fs;
use std::thread::scope;

use serde_json::{Value, json};

use crate::chance::{Chance, times};
use crate::client::Client;
use crate::form::Form;
use crate::house::{House, another_batch, begin_batch, recipe};
use crate::ledger::a_reading;

/// Phones and probes at the same time.
const PHONES: u64 = 4;
/// Entries of a batch before the next one is begun.
const LONG_DAY: u64 = 200;
/// What a server may use, and what it may grow by once its caches are full: SQLite keeps 2 MB of pages for
/// each of five connections, so that takes some tens of thousands of requests.
const MEMORY_MOST: u64 = 64 * 1024 * 1024;
const GROWTH_MOST: u64 = 5 * 1024 * 1024;
const WARM_AFTER: u64 = 30_000;
const WAL_MOST: u64 = 8 * 1024 * 1024;

/// Times as a phone with a wandering clock tells them: leap days, both changes of
/// summer time in Berlin and New York, the first second, a leap second, and nonsense.
const TIMES: [&str; 12] = [
    "2026-03-29T01:59:59+01:00",
    "2026-03-29T02:30:00+01:00",
    "2026-10-25T02:30:00+02:00",
    "2026-10-25T02:30:00+01:00",
    "2026-03-08T02:30:00-05:00",
    "2026-11-01T01:30:00-04:00",
    "2024-02-29T23:59:59Z",
    "1970-01-01T00:00:00Z",
    "2016-12-31T23:59:60Z",
    "2026-06-31T00:00:00Z",
    "9999-12-31T23:59:59Z",
    "yesterday",
];

const PAGES: [&str; 22] = [
    "/",
    "/recipes",
    "/recipes/1",
    "/recipes/1/edit",
    "/equipment",
    "/equipment/new?kind=coil",
    "/compare",
    "/compare?batch=1&batch=2",
    "/settings",
    "/settings/lists",
    "/glossary",
    "/healthz",
    "/api/v1/batches",
    "/api/v1/recipes?limit=3",
    "/api/v1/openapi.json",
    "/api/v1/batches/1",
    "/api/v1/batches/1/readings.csv",
    "/nothing/here",
    "/batches/999999",
    "/batches/1/sheet",
    "/?sort=nonsense&skip=-1",
    "/api/v1/batches?limit=no",
];

#[test]
fn a_server_kept_busy_stays_small_and_never_fails() {
    let (requests, mut chance) = (times("GYLEBOOK_REQUESTS", 4000), Chance::new("soak"));
    let house = House::new();
    let server = house.serve();
    begin_batch(&mut server.client());
    another_batch(&mut server.client(), 1);
    busy(&server.address, (requests / 5).max(WARM_AFTER.min(requests / 2)), &mut chance);
    let warm = server.memory();
    let wal = house.book.with_extension("db-wal");
    let (mut most, mut wal_most) = (warm, 0);
    let rounds = 20;
    for round in 1..=rounds {
        busy(&server.address, requests * 4 / 5 / rounds, &mut chance);
        most = most.max(server.memory());
        wal_most = wal_most.max(fs::metadata(&wal).map_or(0, |wal| wal.len()));
        println!("{round}/{rounds}: {} kB resident, {wal_most} bytes of -wal at most", server.memory() / 1024);
    }
    let growth = server.memory().saturating_sub(warm);
    println!(
        "{requests} requests: {} kB warm, {} kB more at the end, -wal {wal_most} bytes at most",
        warm / 1024,
        growth / 1024
    );
    assert!(most < MEMORY_MOST, "{most} bytes");
    // A short run ends before it is warm.
    assert!(growth < GROWTH_MOST || requests / 5 < WARM_AFTER, "{growth} bytes more than when it was warm");
    assert!(wal_most <= WAL_MOST, "{wal_most} bytes of -wal");
    let log = house.log();
    assert!(!log.contains("panicked") && !log.contains("ERROR"), "{log}");
    server.stop();
    house.check();
}

fn busy(address: &str, requests: u64, chance: &mut Chance) {
    scope(|scope| {
        for _ in 0..PHONES {
            let mut chance = chance.split();
            scope.spawn(move || {
                let mut client = Client::of(address);
                let mut batch = another_batch(&mut client, 1);
                for request in 1..=requests / PHONES {
                    let answer = ask(&mut client, batch, &mut chance);
                    assert!(answer < 500, "{answer}");
                    if request % LONG_DAY == 0 {
                        batch = another_batch(&mut client, 1);
                    }
                }
            });
        }
    });
}

/// One request of any kind; gives its status.
fn ask(client: &mut Client, batch: i64, chance: &mut Chance) -> u16 {
    let answer = match chance.below(16) {
        0..6 => client.append(batch, &[a_reading(chance)]),
        6 => {
            let mut entry = a_reading(chance);
            entry["at"] = json!(chance.one_of(&TIMES));
            let body = json!({ "sent_at": chance.one_of(&TIMES), "entries": [entry] });
            client.post(&format!("/api/v1/batches/{batch}/entries"), &body)
        }
        7 => client.append(batch, &[odd(chance)]),
        8 => client.get(&format!("/batches/{batch}/chill")),
        9 => {
            let stage = chance.one_of(&["prepare", "mash", "boil", "pitch", "clean", "sheet", "chill-plan"]);
            client.get(&format!("/batches/{batch}/{stage}"))
        }
        10 => {
            let page = client.get(&format!("/batches/{batch}/chill")).expect("an answer");
            let form = Form::on(&page, "form:has([name='kind'][value='note'])");
            form.with("note", "Steam, and a word about it.").with("at", chance.one_of::<&str>(&TIMES)).send(client)
        }
        11 if chance.once_in(50) => client.put("/api/v1/recipes/1", &recipe()),
        12 => client.post("/api/v1/chill-plan", &plan(chance)),
        _ => client.get(chance.one_of::<&str>(&PAGES)),
    };
    answer.expect("an answer").status
}

/// An entry that may be refused, but by a sentence.
fn odd(chance: &mut Chance) -> Value {
    let mut entry = a_reading(chance);
    let field = *chance.one_of(&["at", "kind", "place", "temperature_c", "note", "of"]);
    entry[field] =
        chance.one_of(&[json!(null), json!(1e300), json!("NaN"), json!(-0.0), json!([1]), json!("")]).clone();
    entry
}

fn plan(chance: &mut Chance) -> Value {
    let water = json!(chance.below(40));
    json!({
        "wort_l": 20, "wort_plato": 12, "wort_c": 98, "target_c": 19, "conductance_w_per_k": 150, "aim": "time",
        "baths": [{ "water_l": 17, "water_c": 12, "ice_kg": 0 }, { "water_l": water, "water_c": 12, "ice_kg": 5 }],
    })
}
