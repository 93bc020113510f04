//! Sent eight times, answered never, sent again after a restart: there once, and answered the same.

use std::sync::Barrier;
use std::thread::scope;

use serde_json::{Value, json};
use uuid::Uuid;

use crate::chance::{Chance, times};
use crate::client::{Answer, Client};
use crate::form::Form;
use crate::house::{House, Server, another_batch, begin_batch, reading};
use crate::ledger::{a_reading, ask, id, log};
use crate::ways::{Asked, EVERY_WAY, furnish, is_done, rows};

/// Phones, or impatient taps, at the same time.
const TAPS: usize = 8;

/// Sends the same eight times at once.
fn all_at_once(clients: &mut [Client], send: impl Fn(&mut Client) -> Answer + Sync) -> Vec<Answer> {
    let (barrier, send) = (Barrier::new(clients.len()), &send);
    scope(|scope| {
        let sent = clients.iter_mut().map(|client| {
            let barrier = &barrier;
            scope.spawn(move || {
                barrier.wait();
                send(client)
            })
        });
        let sent: Vec<_> = sent.collect();
        sent.into_iter().map(|sent| sent.join().expect("sent")).collect()
    })
}

/// The form of a reading of the wort, with an id made for it.
fn wort_form(client: &mut Client, batch: i64, id: Uuid) -> Form {
    let page = client.get(&format!("/batches/{batch}/chill")).expect("an answer");
    let form = "form:has([name='kind'][value='temperature']):has([name='place'][value='wort'])";
    Form::on(&page, form).with("id", &id.to_string()).with("temperature_c", "61,5")
}

#[test]
fn eight_identical_posts_at_once_are_one_entry_and_get_one_answer() {
    let (posts, mut chance) = (times("GYLEBOOK_POSTS", 60), Chance::new("eight at once"));
    let house = House::new();
    let server = house.serve();
    let mut clients: Vec<_> = (0..TAPS).map(|_| server.client()).collect();
    let mut batch = begin_batch(&mut clients[0]);
    let mut written = 0;
    for post in 1..=posts {
        let entry = a_reading(&mut chance);
        let answers =
            all_at_once(&mut clients, |client| client.append(batch, std::slice::from_ref(&entry)).expect("an answer"));
        let said = |kind: &str| answers.iter().filter(|answer| answer.json()[kind] == json!([entry["id"]])).count();
        assert_eq!((said("accepted"), said("held")), (1, TAPS - 1), "{answers:?}");

        let id = Uuid::from_u64_pair(chance.next(), chance.next());
        let form = wort_form(&mut clients[0], batch, id);
        let answers = all_at_once(&mut clients, |client| form.send(client).expect("an answer"));
        let here = format!("/batches/{batch}/chill?saved={id}");
        assert!(answers.iter().all(|answer| answer.status == 303 && answer.header("location") == Some(&here)));
        written += 2;
        if post % 50 == 0 || post == posts {
            assert_eq!(log(&mut clients[0], batch).len(), written);
            (batch, written) = (another_batch(&mut clients[0], 1), 0);
        }
    }
    println!("{posts} × {TAPS} identical posts by script and by form: one entry each, one answer each");
}

#[test]
fn an_answer_that_was_lost_is_given_again_across_a_restart() {
    let (posts, mut chance) = (times("GYLEBOOK_POSTS", 60) / 4, Chance::new("lost answers"));
    let house = House::new();
    let mut server = house.serve();
    let batch = begin_batch(&mut server.client());
    for post in 0..posts {
        let entry = a_reading(&mut chance);
        let path = format!("/api/v1/batches/{batch}/entries");
        let body = json!({ "entries": [entry] }).to_string();
        let mut gone = server.client();
        gone.begin("POST", &path, "application/json", &body).expect("sent");
        let mut client = server.client();
        if chance.once_in(2) {
            // Committed for certain before it is sent again.
            while !log(&mut client, batch).contains_key(&id(&entry)) {}
            drop(gone);
            if chance.once_in(5) {
                restart(&house, &mut server);
                client = server.client();
            }
            let answer = client.append(batch, std::slice::from_ref(&entry)).expect("an answer");
            assert_eq!(answer.json(), json!({"accepted": [], "held": [entry["id"]], "refused": []}));
        } else {
            // Perhaps under way at this moment, perhaps never begun.
            drop(gone);
            let answer = client.append(batch, std::slice::from_ref(&entry)).expect("an answer").json();
            assert!(answer["accepted"] == json!([entry["id"]]) || answer["held"] == json!([entry["id"]]), "{answer}");
        }
        assert_eq!(log(&mut client, batch).len() as u64, post + 1);
    }
    // A form is answered with the same address, before and after a restart.
    let form = wort_form(&mut server.client(), batch, Uuid::from_u128(5));
    let first = form.send(&mut server.client()).expect("an answer");
    restart(&house, &mut server);
    let again = form.send(&mut server.client()).expect("an answer");
    assert_eq!((first.status, first.header("location")), (again.status, again.header("location")));
}

#[test]
fn a_form_makes_one_thing_however_often_it_is_sent() {
    let rounds = times("GYLEBOOK_POSTS", 60) / 30;
    let house = House::new();
    let mut server = house.serve();
    furnish(&server);
    let (mut n, mut forms) = (0, 0);
    for way in EVERY_WAY.iter().filter(|way| way.is_a_form()) {
        let mut asked = None;
        for _ in 0..rounds.max(2) {
            let mut clients: Vec<_> = (0..TAPS).map(|_| server.client()).collect();
            let (alone, _) = grows(&house, || sent(&way.ready(&mut clients[0], n), &mut clients[0]));
            let form = way.ready(&mut clients[0], n + 1);
            let (together, answers) = grows(&house, || all_at_once(&mut clients, |client| sent(&form, client)));
            assert_eq!(together, alone, "{}", way.name);
            let told = told(&answers[0]);
            assert!(answers.iter().all(|answer| self::told(answer) == told), "{}: {answers:?}", way.name);
            asked = Some((form, told));
            n += 2;
        }
        forms += 1;
        restart(&house, &mut server);
        let (form, told) = asked.expect("at least one round");
        let (late, answer) = grows(&house, || sent(&form, &mut server.client()));
        assert!(late.iter().all(|more| *more == 0), "{}: {late:?}", way.name);
        assert_eq!(self::told(&answer), told, "{}", way.name);
    }
    println!("{forms} forms × {} × {TAPS} at once and again after a restart: one thing, one answer", rounds.max(2));
}

#[test]
fn a_newcomers_set_is_taken_once() {
    let house = House::new();
    let server = house.serve();
    let mut clients: Vec<_> = (0..TAPS).map(|_| server.client()).collect();
    for (page, counted, many) in [
        ("/welcome/equipment", "select equipment_id from equipment", 11),
        ("/welcome/recipe", "select recipe_id from recipe", 1),
    ] {
        let form = Form::on(&clients[0].get(page).expect("an answer"), "main form");
        let answers = all_at_once(&mut clients, |client| form.send(client).expect("an answer"));
        assert!(answers.iter().all(|answer| answer.status == 303), "{answers:?}");
        assert_eq!(ask(&house.book, counted).len(), many, "{page}");
    }
}

#[track_caller]
fn sent(asked: &Asked, client: &mut Client) -> Answer {
    let answer = asked.send(client).expect("an answer");
    assert!(is_done(&answer), "{answer:?}");
    answer
}

/// By how many rows each table grows; what is summed up over the batches aside.
fn grows<T>(house: &House, by: impl FnOnce() -> T) -> (Vec<i64>, T) {
    let before = rows(house);
    let done = by();
    let mut grown: Vec<_> = rows(house).iter().zip(before).map(|(after, before)| after - before).collect();
    grown.pop();
    (grown, done)
}

/// What an answer says: where to go, or a probe's token.
fn told(answer: &Answer) -> (u16, String) {
    let token = answer.text.split_once("made__token\">").and_then(|(_, after)| after.split('<').next());
    (answer.status, answer.header("location").or(token).unwrap_or_default().to_owned())
}

fn restart(house: &House, server: &mut Server) {
    server.kill();
    *server = house.serve();
}

#[test]
fn what_an_id_said_first_stands() {
    let house = House::new();
    let server = house.serve();
    let mut client = server.client();
    let batch = begin_batch(&mut client);
    let id = Uuid::from_u128(1);
    let said =
        |client: &mut Client, celsius: f64| client.append(batch, &[reading(id, celsius)]).expect("an answer").json();
    assert_eq!(said(&mut client, 60.0)["accepted"], json!([id]));
    assert_eq!(said(&mut client, 20.0), json!({"accepted": [], "held": [id], "refused": []}));
    assert_eq!(log(&mut client, batch)[&id]["temperature_c"], json!(60.0));
}

#[test]
fn two_hands_on_one_entry_are_both_kept_and_both_told() {
    let house = House::new();
    let server = house.serve();
    let mut client = server.client();
    let batch = begin_batch(&mut client);
    let of = Uuid::from_u128(1);
    client.append(batch, &[reading(of, 60.0)]).expect("an answer");
    // Both phones have the page open before either sends.
    let path = format!("/batches/{batch}/entries/{of}");
    let open = |client: &mut Client| Form::on(&client.get(&path).expect("an answer"), "main form");
    let (one, other) = (open(&mut client), open(&mut client));
    for (form, celsius) in [(one, "61"), (other, "62,5")] {
        assert_eq!(form.with("temperature_c", celsius).send(&mut client).expect("an answer").status, 303);
    }
    let log = log(&mut client, batch);
    let mut kept: Vec<Value> = log.values().map(|entry| entry["replacement"]["temperature_c"].clone()).collect();
    kept.sort_by_key(ToString::to_string);
    assert_eq!(kept, [json!(61.0), json!(62.5), Value::Null], "all three are in the log");
    for page in
        [format!("/batches/{batch}/chill"), format!("/batches/{batch}"), path, format!("/batches/{batch}/sheet")]
    {
        let page = client.get(&page).expect("an answer").text;
        let told = page.split_once("Changed twice: at ").map(|(_, after)| after.split('<').next().unwrap_or_default());
        assert!(told.is_some_and(|told| told.contains(", at ") && told.contains("the last one counts.")), "{told:?}");
        assert!(page.contains("62.5"), "the later one is shown");
    }
}
