//! What a page costs beside the stack's own limit, in one run.
//!
//! Each round asks every target for a moment, in an order of its own; a ratio is
//! taken within a round, so that what slows the machine slows both. Once a round
//! something is written, and has to show on the page at once.

use std::time::Duration;

use super::Live;
use super::asked::{self, Asked};
use super::client::{Ask, Client};
use super::load::{Check, Did, closed, writing};
use super::server::Server;
use super::stats::Median;

/// Targets that are no pages: row, commit, entry and static answer.
const FIXED: usize = 4;

/// What a book is measured to.
#[derive(Debug)]
pub(crate) struct Measured {
    /// A line for each page and the write.
    pub(crate) lines: Vec<Ratio>,
    /// The bare row.
    pub(crate) row: Did,
    /// It against the static answer.
    pub(crate) row_of_still: Median,
    /// Entries that were said to be on disk.
    pub(crate) written: usize,
}

/// How long and how often.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Effort {
    pub(crate) rounds: usize,
    pub(crate) slice: Duration,
}

/// One line of the table.
#[derive(Debug)]
pub(crate) struct Ratio {
    pub(crate) name: &'static str,
    pub(crate) bytes: usize,
    pub(crate) gzip_bytes: usize,
    pub(crate) rate: Median,
    pub(crate) cpu_us: Median,
    /// Of what it is held against in size: the template, or the bare commit.
    pub(crate) bare_us: Median,
    pub(crate) of_row: Median,
    /// Against the template of this size; none for a write.
    pub(crate) of_page: Option<Median>,
    pub(crate) goal: String,
}

enum Target<'a> {
    Still,
    Row,
    Commit,
    Entry,
    Page(&'a Asked),
    Padded(usize),
}

/// Measures every page, and the write, in the same rounds.
pub(crate) fn measure(book: &Server, bare: &Server, pages: &[Asked], live: &Live, effort: Effort) -> Measured {
    let bytes: Vec<(usize, usize)> = pages.iter().map(|page| sizes(book, page)).collect();
    let mut targets = vec![Target::Row, Target::Commit, Target::Entry, Target::Still];
    targets.extend(pages.iter().map(Target::Page));
    targets.extend(bytes.iter().map(|(bytes, _)| Target::Padded(*bytes)));
    let mut did: Vec<Vec<Did>> = vec![Vec::new(); targets.len()];
    let (mut seed, mut written) = (7_u64, 0);
    for round in 0..=effort.rounds {
        let mut order: Vec<usize> = (0..targets.len()).collect();
        order.sort_by_key(|_| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            seed >> 33
        });
        for index in order {
            let one = run(book, bare, &targets[index], live, effort.slice);
            if matches!(targets[index], Target::Entry) {
                written += one.answers;
            }
            // The first round warms both up.
            if round > 0 {
                did[index].push(one);
            }
        }
        a_write_shows(book, live.read, round);
    }
    let ratio = |of: usize, to: usize| {
        Median::of(&did[of].iter().zip(&did[to]).map(|(of, to)| of.rate / to.rate).collect::<Vec<_>>())
    };
    let rate = |of: usize| Median::of(&did[of].iter().map(|did| did.rate).collect::<Vec<_>>());
    let cpu_us = |of: usize| Median::of(&did[of].iter().map(|did| did.cpu_us).collect::<Vec<_>>());
    let mut lines = vec![Ratio {
        name: "entry post",
        bytes: 0,
        gzip_bytes: 0,
        rate: rate(2),
        cpu_us: cpu_us(2),
        bare_us: cpu_us(1),
        of_row: ratio(2, 1),
        of_page: None,
        goal: "≥ 0.8 of a bare commit".into(),
    }];
    lines.extend(pages.iter().enumerate().map(|(index, page)| Ratio {
        name: page.name,
        bytes: bytes[index].0,
        gzip_bytes: bytes[index].1,
        rate: rate(FIXED + index),
        cpu_us: cpu_us(FIXED + index),
        bare_us: cpu_us(FIXED + pages.len() + index),
        of_row: ratio(FIXED + index, 0),
        of_page: Some(ratio(FIXED + index, FIXED + pages.len() + index)),
        goal: page.of_row.map_or_else(|| "≥ 0.8 T".into(), |goal| format!("≥ {goal} B, ≥ 0.8 T")),
    }));
    Measured {
        lines,
        row_of_still: ratio(0, 3),
        row: Did { answers: 0, rate: rate(0).value, cpu_us: cpu_us(0).value },
        written,
    }
}

fn run(book: &Server, bare: &Server, target: &Target<'_>, live: &Live, lasts: Duration) -> Did {
    match target {
        Target::Still => closed(bare, &[Ask::get(bare.address, "/still")], &Check::Same, lasts),
        Target::Row => closed(bare, &[Ask::get(bare.address, &format!("/row/{}", live.read))], &Check::Same, lasts),
        Target::Padded(bytes) => {
            closed(bare, &[Ask::get(bare.address, &format!("/page/{bytes}/{}", live.read))], &Check::Same, lasts)
        }
        Target::Commit => writing(bare, || asked::commit(bare.address), &Check::Holds(String::new()), lasts),
        Target::Entry => {
            writing(book, || asked::reading(book.address, live.written), &Check::Holds(asked::NONE_HELD.into()), lasts)
        }
        Target::Page(page) => {
            let asks: Vec<Ask> = page.paths.iter().map(|path| Ask::get(book.address, path)).collect();
            closed(book, &asks, &page.check, lasts)
        }
    }
}

/// Bytes of a page, plain and compressed.
fn sizes(book: &Server, page: &Asked) -> (usize, usize) {
    let mut client = Client::to(book.address);
    let plain = client.ask(&Ask::get(book.address, &page.paths[0])).body.len();
    (plain, client.ask(&Ask::get_gzip(book.address, &page.paths[0])).body.len())
}

/// No stale page may win: what was just written is on the next one.
fn a_write_shows(book: &Server, live: i64, round: usize) {
    let mut client = Client::to(book.address);
    let words = format!("Seen in round {round}");
    assert_eq!(client.ask(&asked::remark(book.address, live, &words)).status, 200);
    assert!(client.ask(&Ask::get(book.address, &format!("/batches/{live}"))).holds(&words), "a stale page");
}
