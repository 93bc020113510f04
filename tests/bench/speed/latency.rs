//! How long a phone waits, at half of what the server could do, while fifty
//! others hold a live page open.

use std::io::Read;
use std::time::Duration;

use super::Live;
use super::asked::{self, Asked};
use super::client::{Ask, Client};
use super::load::{Check, Tail, closed, open, writing};
use super::ratios::Effort;
use super::server::Server;

/// Phones with the batch under way open.
const FOLLOWING: usize = 50;

/// One line of the table.
#[derive(Debug)]
pub(crate) struct Waited {
    pub(crate) name: &'static str,
    pub(crate) rate: f64,
    pub(crate) tail: Tail,
}

/// Every page, then the write beside the bare commit.
pub(crate) fn measure(book: &Server, bare: &Server, pages: &[Asked], live: &Live, effort: Effort) -> Vec<Waited> {
    let (address, lasts) = (book.address, effort.slice * 8);
    follow(book, live.read);
    let mut waited = Vec::new();
    for page in pages {
        let asks: Vec<Ask> = page.paths.iter().map(|path| Ask::get_gzip(address, path)).collect();
        let check = Check::Holds(String::new());
        let rate = closed(book, &asks, &check, effort.slice).rate / 2.0;
        let tail = open(book, |turn| asks[turn % asks.len()].clone(), rate, lasts);
        waited.push(Waited { name: page.name, rate, tail });
    }
    let any = Check::Holds(String::new());
    let rate = writing(bare, || asked::commit(bare.address), &any, effort.slice).rate / 4.0;
    let tail = open(book, |_| asked::reading(address, live.written), rate, lasts);
    waited.push(Waited { name: "entry post", rate, tail });
    let tail = open(bare, |_| asked::commit(bare.address), rate, lasts);
    waited.push(Waited { name: "a bare commit", rate, tail });
    waited
}

/// Opens the streams, and reads them for as long as they come.
fn follow(book: &Server, live: i64) {
    let ask = Ask::get(book.address, &format!("/api/v1/batches/{live}/events"));
    for _ in 0..FOLLOWING {
        let mut stream = Client::to(book.address).follow(&ask);
        std::thread::spawn(move || {
            let mut told = [0_u8; 4096];
            while stream.read(&mut told).is_ok_and(|read| read > 0) {}
        });
    }
    // Each stream reads the day before it waits.
    std::thread::sleep(Duration::from_millis(300));
}
