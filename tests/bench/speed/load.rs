//! Load from a few phones: as fast as they are answered, or at a fixed rate.

use std::sync::Mutex;
use std::time::{Duration, Instant};

use super::client::{Answer, Ask, Client};
use super::server::Server;
use super::stats::quantile;

/// Phones that ask at once.
const PHONES: usize = 4;

/// One answer of so many is read to its end: more, and a large page would be
/// asked for no faster than it is read.
const LOOKED_THROUGH: usize = 8;

/// What a page's answers must be.
#[derive(Clone, Debug)]
pub(crate) enum Check {
    /// The same bytes each time, for each question.
    Same,
    /// These words in it: what else it says changes with the clock.
    Holds(String),
}

/// How a server did.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Did {
    /// Answers in all.
    pub(crate) answers: usize,
    /// Answers per second.
    pub(crate) rate: f64,
    /// Time its threads ran for each, µs.
    pub(crate) cpu_us: f64,
}

/// Asks the questions in turn, each phone as soon as it has its last answer.
pub(crate) fn closed(server: &Server, asks: &[Ask], check: &Check, lasts: Duration) -> Did {
    let first: Mutex<Vec<Option<u64>>> = Mutex::new(vec![None; asks.len()]);
    driven(server, lasts, |phone| {
        let first = &first;
        let (mut at, mut turn) = (phone * asks.len() / PHONES, 0);
        move |client| {
            (at, turn) = ((at + 1) % asks.len(), turn + 1);
            let answer = client.ask(&asks[at]);
            if turn % LOOKED_THROUGH == 1 {
                see(check, answer, &mut first.lock().expect("every answer was right")[at]);
            } else {
                assert_eq!(answer.status, 200);
            }
        }
    })
}

/// Writes something new each time, each phone as soon as the last is on disk.
pub(crate) fn writing(server: &Server, ask: impl Fn() -> Ask + Sync, check: &Check, lasts: Duration) -> Did {
    driven(server, lasts, |_| |client: &mut Client| see(check, client.ask(&ask()), &mut None))
}

fn driven<Turn: FnMut(&mut Client)>(server: &Server, lasts: Duration, phone: impl Fn(usize) -> Turn + Sync) -> Did {
    let (began, cpu) = (Instant::now(), server.cpu());
    let answers: usize = std::thread::scope(|scope| {
        let phones: Vec<_> = (0..PHONES)
            .map(|number| {
                let phone = &phone;
                scope.spawn(move || {
                    let (mut client, mut turn, mut asked) = (Client::to(server.address), phone(number), 0);
                    while began.elapsed() < lasts {
                        turn(&mut client);
                        asked += 1;
                    }
                    asked
                })
            })
            .collect();
        phones.into_iter().map(|phone| phone.join().expect("every answer was right")).sum()
    });
    let (took, ran) = (began.elapsed(), server.cpu() - cpu);
    let answered = answers as f64;
    Did { answers, rate: answered / took.as_secs_f64(), cpu_us: ran.as_secs_f64() * 1e6 / answered }
}

fn see(check: &Check, answer: &Answer, first: &mut Option<u64>) {
    assert_eq!(answer.status, 200, "{}", String::from_utf8_lossy(&answer.body));
    match check {
        Check::Same => assert_eq!(*first.get_or_insert(answer.hash()), answer.hash(), "one page, two answers"),
        Check::Holds(words) => assert!(answer.holds(words), "an answer without {words:?}"),
    }
}

/// How long answers took, counted from when they were due.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tail {
    pub(crate) p50_ms: f64,
    pub(crate) p99_ms: f64,
    pub(crate) p999_ms: f64,
}

/// Asks at a fixed rate whatever the server does. A question that had to wait for
/// the one before is counted from when it was due, so a stall is seen by all it
/// held up (coordinated omission).
pub(crate) fn open(server: &Server, asks: impl Fn(usize) -> Ask + Sync, rate: f64, lasts: Duration) -> Tail {
    let began = Instant::now() + Duration::from_millis(20);
    let mut took: Vec<f64> = std::thread::scope(|scope| {
        let phones: Vec<_> = (0..PHONES)
            .map(|phone| {
                let asks = &asks;
                scope.spawn(move || {
                    let mut client = Client::to(server.address);
                    let mut took = Vec::new();
                    for turn in (phone..).step_by(PHONES) {
                        let ask = asks(turn);
                        let due = began + Duration::from_secs_f64(turn as f64 / rate);
                        if due.duration_since(began) > lasts {
                            return took;
                        }
                        wait_until(due);
                        assert_eq!(client.ask(&ask).status, 200);
                        took.push(due.elapsed().as_secs_f64() * 1e3);
                    }
                    took
                })
            })
            .collect();
        phones.into_iter().flat_map(|phone| phone.join().expect("every answer was right")).collect()
    });
    took.sort_by(f64::total_cmp);
    Tail { p50_ms: quantile(&took, 0.5), p99_ms: quantile(&took, 0.99), p999_ms: quantile(&took, 0.999) }
}

/// Sleeps close to the moment. Waking up late is counted against the server: it
/// is some 60 µs here, and small beside what is asked of it.
fn wait_until(due: Instant) {
    let now = Instant::now();
    if due > now {
        std::thread::sleep(due - now);
    }
}
