//! What a page costs as the book grows: with its batches, and with the readings
//! of one batch. Time of the server's threads for each answer, µs.

use std::path::Path;

use super::Live;
use super::asked;
use super::book::Shape;
use super::client::{Ask, Client};
use super::load::{Check, closed, writing};
use super::ratios::Effort;
use super::server::Server;

/// What is followed along.
pub(crate) const PAGES: [&str; 8] =
    ["batch", "chill page", "ledger", "ledger by ABV", "find", "compare 5", "summary JSON", "entry post"];

/// One row of the table.
#[derive(Debug)]
pub(crate) struct Grown {
    pub(crate) size: u32,
    pub(crate) cpu_us: Vec<f64>,
}

/// Measures a book with `live` under way.
pub(crate) fn measure(file: &Path, shape: Shape, live: &Live, size: u32, effort: Effort) -> Grown {
    let book = Server::of_the_book(file).at_rest();
    let read = live.read;
    let newest: Vec<String> = (0..5).map(|back| format!("batch={}", read - back)).collect();
    let any = 1 + shape.batches / 2;
    let paths = [
        format!("/batches/{read}"),
        format!("/batches/{read}/chill"),
        "/".to_owned(),
        "/?sort=abv_pct".to_owned(),
        format!("/?find=no.%20{}", any / 7),
        format!("/compare?{}", newest.join("&")),
        format!("/api/v1/batches/{read}"),
    ];
    let check = Check::Holds(String::new());
    let mut cpu_us: Vec<f64> = paths
        .iter()
        .map(|path| {
            let ask = Ask::get(book.address, path);
            // The first answer may have to read a log; what follows is the page's own.
            assert_eq!(Client::to(book.address).ask(&ask).status, 200, "{path}");
            closed(&book, &[ask], &check, effort.slice).cpu_us
        })
        .collect();
    let none_held = Check::Holds(asked::NONE_HELD.into());
    cpu_us.push(writing(&book, || asked::reading(book.address, live.written), &none_held, effort.slice).cpu_us);
    Grown { size, cpu_us }
}
