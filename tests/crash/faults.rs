//! A disk that is full, broken or read-only, at every single write.

use scraper::{Html, Selector};

use crate::chance::Chance;
use crate::client::Answer;
use crate::form::Form;
use crate::house::{House, begin_batch};
use crate::ledger::Ledger;
use crate::shim::{DATA, Disk, EIO, ENOSPC, EROFS};
use crate::ways::{Asked, EVERY_WAY, furnish, is_done, rows};

/// How a disk fails: with what, and whether it goes on failing.
const FAULTS: [(&str, i64, bool); 4] =
    [("full", ENOSPC, true), ("broken once", EIO, false), ("full once", ENOSPC, false), ("read-only", EROFS, true)];

#[test]
fn a_failing_disk_is_told_plainly_and_costs_nothing() {
    let (house, mut n) = (House::new(), 0);
    let disk = Disk::of(&house);
    let server = house.serve_on(Some(&disk));
    let mut client = furnish(&server);
    let (mut points, mut refusals) = (0, 0);
    for way in EVERY_WAY {
        // Every fault for a reading, by script and by form; two of them for the rest.
        let faults =
            if way.name.contains("/1/entries") || way.name.contains("/chill") { &FAULTS[..] } else { &FAULTS[..2] };
        for &(fault, errno, lasts) in faults {
            for after in 0.. {
                n += 1;
                let what = format!("{} {}, disk {fault} after {after} operations", way.name, n);
                let asked = way.ready(&mut client, n);
                let before = rows(&house);
                disk.strike(after, errno, lasts);
                let answer = asked.send(&mut client).expect("an answer");
                if disk.struck() == 0 {
                    disk.spare();
                    assert!(is_done(&answer), "{what}: {answer:?}");
                    // Two writes and a sync are the least there is to a commit.
                    assert!(after >= 3, "{what}: nothing was written, so nothing could fail");
                    break;
                }
                points += 1;
                // Reading goes on, while the disk is as it is.
                assert_eq!(client.get("/recipes").expect("an answer").status, 200, "{what}");
                disk.spare();
                if is_done(&answer) {
                    // It struck where nothing depended on it.
                    continue;
                }
                refusals += 1;
                assert!(matches!(answer.status, 503 | 507), "{what}: {answer:?}");
                assert_eq!(rows(&house), before, "HALF: {what}");
                let again = match &asked {
                    Asked::Json(..) => {
                        told_to_a_script(&answer);
                        asked.send(&mut client)
                    }
                    Asked::Form(form) => told_to_a_brewer(&answer, form).send(&mut client),
                };
                let again = again.expect("an answer");
                assert!(is_done(&again), "{what}, sent again: {again:?}");
            }
        }
    }
    house.check();
    drop(server);
    house.serve().stop();
    house.check();
    println!("{} ways to write, {points} failing operations, {refusals} refusals", EVERY_WAY.len());
    assert!(!house.log().contains("panicked"), "{}", house.log());
}

#[track_caller]
fn told_to_a_script(answer: &Answer) {
    assert_eq!(answer.header("content-type"), Some("application/problem+json"));
    let detail = answer.json()["detail"].as_str().unwrap_or_default().to_owned();
    assert!(detail.contains("disk") && detail.ends_with('.'), "{detail}");
}

/// The refusal says what is wrong and holds all that was sent. Gives its form.
#[track_caller]
fn told_to_a_brewer(answer: &Answer, sent: &Form) -> Form {
    let html = Html::parse_document(&answer.text);
    let said = |selector| {
        let selector = Selector::parse(selector).expect("a selector");
        html.select(&selector).flat_map(|found| found.text()).collect::<String>()
    };
    assert!(said("main p").contains("disk"), "{}", answer.text);
    let again = Form::on(answer, "main form");
    assert_eq!((&again.action, &again.fields), (&sent.action, &sent.fields));
    for name in ["name", "note", "temperature_c", "house"] {
        for (_, text) in sent.fields.iter().filter(|(known, text)| known == name && !text.is_empty()) {
            assert!(said("main dl").contains(text), "what was typed is shown: {text}");
        }
    }
    again
}

#[test]
fn folding_the_wal_onto_a_failing_disk_loses_nothing() {
    let (house, ledger, mut chance) = (House::new(), Ledger::default(), Chance::new("faults while folding"));
    let disk = Disk::of(&house);
    let mut server = house.serve_on(Some(&disk));
    let mut client = server.client();
    for errno in [ENOSPC, EIO, EROFS] {
        let batch = begin_batch(&mut client);
        disk.strike_at(0, errno, true, 1 << DATA);
        // The -wal grows until it would be folded, which fails and is tried again with each post.
        for _ in 0..2000 {
            assert!(ledger.send(&mut client, batch, &mut chance), "the -wal still takes it");
            if disk.struck() > 20 {
                break;
            }
            if ledger.length() > 150 {
                ledger.turn_the_page();
                break;
            }
        }
        while disk.struck() == 0 {
            let batch = begin_batch(&mut client);
            for _ in 0..40 {
                assert!(ledger.send(&mut client, batch, &mut chance), "the -wal still takes it");
            }
            ledger.turn_the_page();
        }
        ledger.turn_the_page();
        server.kill();
        disk.spare();
        house.check();
        ledger.hold_against(&house.book);
        server = house.serve_on(Some(&disk));
        client = server.client();
    }
}

#[test]
fn a_book_is_opened_on_a_failing_disk_or_refused_in_a_sentence() {
    let mut points = 0;
    for (fault, errno, lasts) in [FAULTS[0], FAULTS[1]] {
        for after in 0.. {
            let house = House::new();
            let disk = Disk::of(&house);
            disk.strike(after, errno, lasts);
            let mut server = house.spawn(Some(&disk));
            let ready = server.is_ready();
            let struck = disk.struck();
            if !ready {
                let log = house.log();
                assert!(log.trim_end().ends_with('.') && log.lines().count() == 1, "{fault} after {after}: {log}");
            }
            server.kill();
            if struck == 0 {
                assert!(ready);
                break;
            }
            points += 1;
            disk.spare();
            // Whatever it left behind is in nobody's way.
            house.serve().stop();
        }
    }
    println!("{points} failing operations while a book is begun");
    assert!(points > 100, "{points} is too few to be all");
}

#[test]
fn health_is_whether_the_book_can_be_written() {
    let house = House::new();
    let disk = Disk::of(&house);
    let server = house.serve_on(Some(&disk));
    let mut client = server.client();
    assert_eq!(client.get("/healthz").expect("an answer").status, 200);
    for errno in [EROFS, ENOSPC, EIO] {
        disk.strike(0, errno, true);
        let answer = client.get("/healthz").expect("an answer");
        assert!(disk.struck() > 0, "it writes, or it could not know");
        assert!(matches!(answer.status, 503 | 507), "{answer:?}");
        disk.spare();
        assert_eq!(client.get("/healthz").expect("an answer").status, 200, "{}", house.log());
    }
}
