//! A server under load, killed again and again on one growing file.

use std::thread::{scope, sleep};
use std::time::Duration;

use sqlx::Row;

use crate::chance::{Chance, times};
use crate::client::Client;
use crate::house::{House, Server, another_batch, begin_batch, recipe};
use crate::ledger::{Ledger, ask};

/// Phones that write at the same time.
const PHONES: usize = 3;
/// Entries of a batch before the next one is begun.
const LONG_DAY: usize = 150;

#[test]
fn a_killed_server_has_lost_nothing_it_confirmed() {
    let (kills, mut chance) = (times("GYLEBOOK_KILLS", 200), Chance::new("kills"));
    let full_check_every = (kills / 40).max(40);
    let (house, ledger) = (House::new(), Ledger::default());
    let mut server = house.serve();
    let mut batch = begin_batch(&mut server.client());
    let mut revision = Revision { confirmed: 0, sent: 0 };
    for kill in 1..=kills {
        load_and_kill(&mut server, batch, &ledger, &mut revision, &mut chance);
        if chance.once_in(2) {
            // The next to open the file may be anybody: whoever it is recovers it.
            summaries_know_the_last_entry(&house);
        }
        while chance.once_in(5) {
            // Killed while it is opening the book.
            let mut early = house.spawn(None);
            sleep(Duration::from_millis(chance.below(60)));
            early.kill();
        }
        if kill % full_check_every == 0 || kill == kills {
            house.check();
            summaries_know_the_last_entry(&house);
        }
        server = house.serve();
        let mut client = server.client();
        ledger.settle(&mut client, batch);
        revision.settle(&mut client);
        if kill % full_check_every == 0 {
            println!("{kill} kills: {} entries, all as confirmed", ledger.hold_against(&house.book));
        }
        if ledger.length() > LONG_DAY {
            ledger.turn_the_page();
            batch = another_batch(&mut client, 1);
        }
    }
    server.stop();
    house.check();
    let entries = ledger.hold_against(&house.book);
    println!("{kills} kills, {entries} entries confirmed, 0 lost, 0 half, 0 twice");
    assert!(!house.log().contains("panicked"), "{}", house.log());
}

/// Several phones write until the server is gone.
fn load_and_kill(server: &mut Server, batch: i64, ledger: &Ledger, revision: &mut Revision, chance: &mut Chance) {
    let lives = Duration::from_micros(2_000 + chance.below(60_000));
    scope(|scope| {
        for _ in 0..PHONES {
            let (mut client, mut chance) = (server.client(), chance.split());
            scope.spawn(move || while ledger.send(&mut client, batch, &mut chance) {});
        }
        let mut client = server.client();
        scope.spawn(move || while revision.send(&mut client) {});
        sleep(lives);
        server.kill();
    });
}

/// Revisions of recipe 1, each named by its number.
struct Revision {
    confirmed: u64,
    sent: u64,
}

impl Revision {
    fn send(&mut self, client: &mut Client) -> bool {
        self.sent = self.confirmed + 1;
        let mut body = recipe();
        body["name"] = self.sent.to_string().into();
        let Ok(answer) = client.put("/api/v1/recipes/1", &body) else { return false };
        assert_eq!(answer.status, 200, "{}", answer.text);
        self.confirmed = self.sent;
        // A brewer's hand is slower than a disk.
        sleep(Duration::from_millis(10));
        true
    }

    fn settle(&mut self, client: &mut Client) {
        let name = client.get("/api/v1/recipes/1").expect("an answer").json()["name"].clone();
        if self.sent == 0 {
            return;
        }
        let found = name.as_str().and_then(|name| name.parse().ok()).unwrap_or(0);
        assert!(
            found == self.confirmed || found == self.sent,
            "{found} is neither {} nor {}",
            self.confirmed,
            self.sent
        );
        self.confirmed = found;
    }
}

/// An entry and what was computed from it are there together or not at all.
fn summaries_know_the_last_entry(house: &House) {
    let half = "
        select summary.batch_id from summary
        where seq <> (select coalesce(max(seq), 0) from entry where entry.batch_id = summary.batch_id)
        union all select batch_id from batch where batch_id not in (select batch_id from summary)
    ";
    let half: Vec<i64> = ask(&house.book, half).iter().map(|row| row.get(0)).collect();
    assert_eq!(half, [0; 0], "HALF: batches whose summary is not of their last entry");
}
