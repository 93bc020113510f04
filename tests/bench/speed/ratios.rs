//! What a page costs beside the stack's own limit, in one run.
//!
//! Each round asks every target for a moment, in an order of its own; a ratio is
//! taken within a round, so that what slows the machine slows both. Once a round
//! something is written, and has to show on the page at once.

use std::time::Duration;

use super::asked::{self, Asked};
use super::client::{Ask, Client};
use super::load::{Check, Did, closed};
use super::server::Server;
use super::stats::Median;

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
    pub(crate) of_row: Median,
    /// Against the template of this size; none for a write.
    pub(crate) of_page: Option<Median>,
    pub(crate) goal: String,
}

enum Target<'a> {
    Row,
    Commit,
    Entry,
    Page(&'a Asked),
    Padded(usize),
}

/// Measures every page, and the write, in the same rounds.
pub(crate) fn measure(book: &Server, bare: &Server, pages: &[Asked], live: i64, effort: Effort) -> (Vec<Ratio>, Did) {
    let bytes: Vec<(usize, usize)> = pages.iter().map(|page| sizes(book, page)).collect();
    let mut targets = vec![Target::Row, Target::Commit, Target::Entry];
    targets.extend(pages.iter().map(Target::Page));
    targets.extend(bytes.iter().map(|(bytes, _)| Target::Padded(*bytes)));
    let mut did: Vec<Vec<Did>> = vec![Vec::new(); targets.len()];
    let mut seed = 7_u64;
    for round in 0..=effort.rounds {
        let mut order: Vec<usize> = (0..targets.len()).collect();
        order.sort_by_key(|_| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            seed >> 33
        });
        for index in order {
            let one = run(book, bare, &targets[index], live, effort.slice);
            // The first round warms both up.
            if round > 0 {
                did[index].push(one);
            }
        }
        a_write_shows(book, live, round);
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
        of_row: ratio(2, 1),
        of_page: None,
        goal: "≥ 0.8 of a bare commit".into(),
    }];
    lines.extend(pages.iter().enumerate().map(|(index, page)| Ratio {
        name: page.name,
        bytes: bytes[index].0,
        gzip_bytes: bytes[index].1,
        rate: rate(3 + index),
        cpu_us: cpu_us(3 + index),
        of_row: ratio(3 + index, 0),
        of_page: Some(ratio(3 + index, 3 + pages.len() + index)),
        goal: page.of_row.map_or_else(|| "≥ 0.8 T".into(), |goal| format!("≥ {goal} B, ≥ 0.8 T")),
    }));
    (lines, Did { rate: rate(0).value, cpu_us: cpu_us(0).value })
}

fn run(book: &Server, bare: &Server, target: &Target<'_>, live: i64, lasts: Duration) -> Did {
    let changing = Check::Holds(String::new());
    match target {
        Target::Row => closed(bare, &[Ask::get(bare.address, &format!("/row/{live}"))], &Check::Same, lasts),
        Target::Padded(bytes) => {
            closed(bare, &[Ask::get(bare.address, &format!("/page/{bytes}/{live}"))], &Check::Same, lasts)
        }
        // Made beforehand: more than can be asked for in that time.
        Target::Commit => closed(bare, &[asked::commit(bare.address)], &changing, lasts),
        Target::Entry => {
            let many = (lasts.as_secs_f64() * 12_000.0) as usize;
            let asks: Vec<Ask> = (0..many).map(|_| asked::reading(book.address, live)).collect();
            closed(book, &asks, &Check::Holds("accepted".into()), lasts)
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
