//! Killed at every single operation, and at the four boundaries of the write-ahead log.

use std::thread::{scope, sleep};
use std::time::Duration;

use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{ConnectOptions, Connection};
use tokio::runtime::Runtime;

use crate::chance::{Chance, times};
use crate::house::{House, begin_batch};
use crate::ledger::Ledger;
use crate::shim::{DATA, Disk, KILL, KILL_HALF_WAY};
use crate::ways::{EVERY_WAY, furnish, is_done, rows};

#[test]
fn killed_at_each_operation_of_a_write_it_is_there_whole_or_not_at_all() {
    let (house, mut n, mut kills, mut kept) = (House::new(), 0, 0, 0);
    let disk = Disk::of(&house);
    let mut server = house.serve_on(Some(&disk));
    let mut client = furnish(&server);
    // A script's entries, a batch with its plan and lists, and a form.
    for way in EVERY_WAY.iter().filter(|way| {
        ["/api/v1/batches/1/entries", "/api/v1/batches", "/batches/1/entries/00000000-0000-0000-0000-0000000007e1"]
            .contains(&way.name)
    }) {
        for action in [KILL, KILL_HALF_WAY] {
            for after in 0.. {
                n += 1;
                let asked = way.ready(&mut client, n);
                let before = rows(&house);
                disk.strike(after, action, false);
                let answer = asked.send(&mut client);
                if let Ok(answer) = answer {
                    disk.spare();
                    assert!(is_done(&answer), "{answer:?}");
                    break;
                }
                kills += 1;
                disk.spare();
                server.kill();
                server = house.serve_on(Some(&disk));
                client = server.client();
                let found = rows(&house);
                let again = asked.send(&mut client).expect("an answer");
                assert!(is_done(&again), "{}: {again:?}", way.name);
                let after_all = rows(&house);
                kept += u64::from(found != before);
                // What an entry brings comes all at once. (A batch has no id of its own, so it may be there twice.)
                assert!(found == before || found == after_all || way.name == "/api/v1/batches", "HALF: {found:?}");
            }
        }
    }
    drop(server);
    house.check();
    println!("killed at each of {kills} operations; {kept} writes were there all the same");
    assert!(kills > 60, "{kills} is too few to be all");
}

/// A connection of somebody else's, a backup's say.
async fn stranger(house: &House) -> SqliteConnection {
    let options = SqliteConnectOptions::new().filename(&house.book).busy_timeout(Duration::from_millis(200));
    options.connect().await.expect("it opens")
}

async fn count(reader: &mut SqliteConnection) -> i64 {
    sqlx::query_scalar("select count(*) from entry").fetch_one(reader).await.expect("it can be read")
}

/// Kills a server with somebody else on the same file, and sees that nothing confirmed is lost.
fn beside(name: &str, with: impl Fn(&Runtime, &House, &Ledger, &mut Chance)) {
    let times = (times("GYLEBOOK_KILLS", 200) / 40).clamp(5, 100);
    let (house, ledger, mut chance) = (House::new(), Ledger::default(), Chance::new(name));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    for _ in 0..times {
        with(&runtime, &house, &ledger, &mut chance);
        house.check();
        ledger.hold_against(&house.book);
    }
    println!("{name}: {times} kills, 0 lost");
}

#[test]
fn a_reader_that_stays_sees_its_own_time_and_keeps_nothing_from_being_saved() {
    beside("pinned reader", |runtime, house, ledger, chance| {
        let mut server = house.serve();
        let mut client = server.client();
        let batch = begin_batch(&mut client);
        assert!(ledger.send(&mut client, batch, chance));
        let mut reader = runtime.block_on(stranger(house));
        runtime.block_on(async { sqlx::query("begin").execute(&mut reader).await }).expect("begun");
        let seen = runtime.block_on(count(&mut reader));
        for _ in 0..20 {
            assert!(ledger.send(&mut client, batch, chance));
        }
        server.kill();
        let mut server = house.serve();
        assert_eq!(runtime.block_on(count(&mut reader)), seen, "its own time");
        ledger.settle(&mut server.client(), batch);
        server.kill();
        runtime.block_on(reader.close()).expect("closed");
        ledger.turn_the_page();
    });
}

#[test]
fn a_server_killed_while_others_fold_its_wal_has_lost_nothing() {
    for mode in ["pragma wal_checkpoint(restart)", "pragma wal_checkpoint(passive)", "pragma wal_checkpoint(truncate)"]
    {
        beside(mode, |runtime, house, ledger, chance| {
            let mut server = house.serve();
            let mut client = server.client();
            let batch = begin_batch(&mut client);
            // Somebody reads, so that a restart has to wait.
            let mut reader = runtime.block_on(stranger(house));
            runtime.block_on(async { sqlx::query("begin").execute(&mut reader).await }).expect("begun");
            runtime.block_on(count(&mut reader));
            let (lives, mut phone) = (Duration::from_millis(5 + chance.below(60)), chance.split());
            scope(|scope| {
                scope.spawn(move || while ledger.send(&mut client, batch, &mut phone) {});
                scope.spawn(move || {
                    let runtime = Runtime::new().expect("a runtime");
                    let mut folder = runtime.block_on(stranger(house));
                    for _ in 0..3 {
                        // Busy is an answer too.
                        let _ = runtime.block_on(async { sqlx::query(mode).execute(&mut folder).await });
                    }
                });
                sleep(lives);
                server.kill();
            });
            runtime.block_on(reader.close()).expect("closed");
            let server = house.serve();
            ledger.settle(&mut server.client(), batch);
            server.stop();
            ledger.turn_the_page();
        });
    }
}

#[test]
fn killed_while_it_folds_its_own_wal_it_has_lost_nothing() {
    let (house, ledger, mut chance) = (House::new(), Ledger::default(), Chance::new("folding"));
    let disk = Disk::of(&house);
    for kill in 0..times("GYLEBOOK_KILLS", 200) / 40 {
        let mut server = house.serve_on(Some(&disk));
        let mut client = server.client();
        let action = if kill % 2 == 0 { KILL } else { KILL_HALF_WAY };
        disk.strike_at(i64::try_from(chance.below(60)).expect("a few"), action, false, 1 << DATA);
        'writing: while let Ok(answer) = client.post("/api/v1/batches", &serde_json::json!({ "recipe": 1 })) {
            let batch = if answer.status == 201 { answer.id() } else { begin_batch(&mut client) };
            for _ in 0..40 {
                if !ledger.send(&mut client, batch, &mut chance) {
                    break 'writing;
                }
            }
            ledger.turn_the_page();
        }
        assert!(server.has_ended() || disk.struck() > 0);
        server.kill();
        disk.spare();
        house.check();
        ledger.settle_by_file(&house.book);
        ledger.hold_against(&house.book);
    }
}
