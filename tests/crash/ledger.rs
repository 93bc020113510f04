//! What the tests were told is kept, and what they were never answered about.

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::Mutex;

use serde_json::{Value, json};
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection, Row};
use uuid::Uuid;

use crate::chance::Chance;
use crate::client::Client;
use crate::house::reading;

/// The entries of one post: it is taken whole or not at all.
pub(crate) type Post = Vec<Value>;

/// The tests' own book of what was answered.
#[derive(Debug, Default)]
pub(crate) struct Ledger(Mutex<Pages>);

#[derive(Debug, Default)]
struct Pages {
    /// Of the batch under way, by id.
    confirmed: HashMap<Uuid, Value>,
    /// Sent, and the connection broke before the answer.
    unsure: Vec<Post>,
    /// Of the batches before.
    earlier: HashSet<Uuid>,
}

impl Ledger {
    /// Posts a few readings and writes down what came of it. False where no answer came.
    pub(crate) fn send(&self, client: &mut Client, batch: i64, chance: &mut Chance) -> bool {
        let post: Post = (0..=chance.below(3)).map(|_| a_reading(chance)).collect();
        match client.append(batch, &post) {
            Ok(answer) => {
                assert_eq!(answer.status, 200, "{}", answer.text);
                assert_eq!(answer.json(), json!({"accepted": ids(&post), "held": [], "refused": []}));
                self.confirm(&post);
                true
            }
            Err(_) => {
                self.0.lock().expect("nobody panics").unsure.push(post);
                false
            }
        }
    }

    pub(crate) fn confirm(&self, post: &Post) {
        self.0.lock().expect("nobody panics").confirmed.extend(post.iter().map(|entry| (id(entry), entry.clone())));
    }

    /// Holds the log against what was answered: all that was confirmed is there as it was sent, what got
    /// no answer is there whole or not at all, and nothing else is. Then sends again what got no answer,
    /// and some of what did, and sees that each is there once.
    #[track_caller]
    pub(crate) fn settle(&self, client: &mut Client, batch: i64) {
        let log = log(client, batch);
        let unsure = std::mem::take(&mut self.0.lock().expect("nobody panics").unsure);
        {
            let pages = self.0.lock().expect("nobody panics");
            for (id, entry) in &pages.confirmed {
                assert_eq!(log.get(id).map(as_sent), Some(entry.clone()), "LOST: {id} was confirmed");
            }
            let known =
                pages.confirmed.len() + unsure.iter().flatten().filter(|entry| log.contains_key(&id(entry))).count();
            assert_eq!(log.len(), known, "nothing is there that nobody sent");
        }
        for post in unsure {
            let there = post.iter().filter(|entry| log.contains_key(&id(entry))).count();
            assert!(there == 0 || there == post.len(), "HALF: {there} of the {} entries of one post", post.len());
            let answer = client.append(batch, &post).expect("an answer");
            let (accepted, held) = if there == 0 { (ids(&post), json!([])) } else { (json!([]), ids(&post)) };
            assert_eq!(answer.json(), json!({"accepted": accepted, "held": held, "refused": []}));
            self.confirm(&post);
        }
        let repeat: Post = self.0.lock().expect("nobody panics").confirmed.values().take(3).cloned().collect();
        let answer = client.append(batch, &repeat).expect("an answer");
        assert_eq!(answer.json(), json!({"accepted": [], "held": ids(&repeat), "refused": []}));
    }

    /// As [`Ledger::settle`] for what got no answer, by what is in the file.
    #[track_caller]
    pub(crate) fn settle_by_file(&self, book: &Path) {
        let there: HashSet<Uuid> = ids_in(book).into_iter().collect();
        let mut pages = self.0.lock().expect("nobody panics");
        for post in std::mem::take(&mut pages.unsure) {
            let found = post.iter().filter(|entry| there.contains(&id(entry))).count();
            assert!(found == 0 || found == post.len(), "HALF: {found} of the {} entries of one post", post.len());
            pages.earlier.extend(post.iter().take(found).map(id));
        }
    }

    /// How many entries the batch under way has.
    pub(crate) fn length(&self) -> usize {
        self.0.lock().expect("nobody panics").confirmed.len()
    }

    /// Another batch is under way from here on.
    pub(crate) fn turn_the_page(&self) {
        let mut pages = self.0.lock().expect("nobody panics");
        let ids: Vec<_> = std::mem::take(&mut pages.confirmed).into_keys().collect();
        pages.earlier.extend(ids);
    }

    /// Holds the whole file against what was answered, past the server.
    #[track_caller]
    pub(crate) fn hold_against(&self, book: &Path) -> usize {
        let there: HashSet<Uuid> = ids_in(book).into_iter().collect();
        let pages = self.0.lock().expect("nobody panics");
        let lost = pages.earlier.iter().chain(pages.confirmed.keys()).filter(|id| !there.contains(id)).count();
        assert_eq!(lost, 0, "LOST");
        assert_eq!(there.len(), pages.earlier.len() + pages.confirmed.len(), "nothing is there that nobody sent");
        there.len()
    }
}

/// A reading that is like no other.
pub(crate) fn a_reading(chance: &mut Chance) -> Value {
    let id = Uuid::from_u64_pair(chance.next(), chance.next());
    let tenths = u32::try_from(chance.below(1100)).expect("below 110 °C");
    reading(id, f64::from(tenths) / 10.0)
}

/// The log of a batch by id.
#[track_caller]
pub(crate) fn log(client: &mut Client, batch: i64) -> HashMap<Uuid, Value> {
    let log = client.get(&format!("/api/v1/batches/{batch}/entries")).expect("an answer").json();
    let log = log.as_array().expect("a list").clone();
    let by_id: HashMap<_, _> = log.iter().map(|entry| (id(entry), entry.clone())).collect();
    assert_eq!(by_id.len(), log.len(), "TWICE");
    by_id
}

/// A logged entry without what the server adds.
fn as_sent(logged: &Value) -> Value {
    let mut sent = logged.clone();
    for added in ["seq", "received_at", "device"] {
        sent.as_object_mut().expect("an entry").remove(added);
    }
    sent
}

pub(crate) fn id(entry: &Value) -> Uuid {
    entry["id"].as_str().and_then(|id| id.parse().ok()).expect("an id")
}

fn ids(post: &Post) -> Value {
    post.iter().map(|entry| entry["id"].clone()).collect()
}

/// Every entry in a data file, read by a connection of our own.
pub(crate) fn ids_in(book: &Path) -> Vec<Uuid> {
    ask(book, "select entry_id from entry").iter().map(|row| row.get(0)).collect()
}

/// Asks the data file itself.
pub(crate) fn ask(book: &Path, question: &'static str) -> Vec<sqlx::sqlite::SqliteRow> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        let mut connection = SqliteConnectOptions::new().filename(book).connect().await.expect("it opens");
        let rows = sqlx::query(question).fetch_all(&mut connection).await.expect("it can be read");
        connection.close().await.expect("closed");
        rows
    })
}
