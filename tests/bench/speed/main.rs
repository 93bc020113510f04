//! How fast it is at ten years of brewing: `cargo bench --bench speed`.
//!
//! One command, one table. Nothing here asserts a time; what is asserted is that
//! every answer was right. It needs Linux, two cores and `taskset`: servers run on
//! one core, the load comes from the other.
//!
//! - `cargo bench --bench speed` – ratios and latency over all three books, some ten minutes.
//! - `cargo bench --bench speed -- growth` – what a page costs as the book grows, five more.
//! - `cargo bench --bench speed -- million` – over one book: `empty`, `years` or `million`.
//! - `short` beside any of them – a third of the time, less sure.
//! - `cargo bench --bench speed -- make FILE BATCHES READINGS` – only a book.
//!
//! Reading order: [`book`] (what is measured on), [`asked`] (what is asked for),
//! [`bare`] (what it is held against), [`ratios`].
#![expect(clippy::print_stdout, reason = "the table is what this is for")]

mod asked;
mod bare;
mod book;
mod client;
mod growth;
mod latency;
mod load;
mod ratios;
mod server;
mod stats;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use book::Shape;
use gylebook::store::Store;
use ratios::{Effort, Measured, Ratio};
use server::Server;
use stats::Median;

const EMPTY: Shape = Shape { batches: 0, readings: 0 };
const TEN_YEARS: Shape = Shape { batches: 500, readings: 2_000 };
const MANY: Shape = Shape { batches: 10_000, readings: 100 };

fn main() {
    let given: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let given: Vec<&str> = given.iter().map(String::as_str).collect();
    match given.as_slice() {
        ["serve-bare", book, own] => bare::serve(book.into(), own.into()),
        ["make", file, batches, readings] => {
            let number = |word: &str| word.parse().expect("a number");
            made(Path::new(file), Shape { batches: number(batches), readings: number(readings) });
        }
        words => {
            let short = words.contains(&"short");
            let effort = if short {
                Effort { rounds: 3, slice: Duration::from_millis(300) }
            } else {
                Effort { rounds: 12, slice: Duration::from_millis(1_000) }
            };
            let wanted = |part: &str| words.contains(&part);
            let all = words.iter().all(|word| *word == "short");
            server::move_to_the_load_core();
            for (part, name, shape) in [
                ("empty", "An empty book", EMPTY),
                ("years", "Ten years", TEN_YEARS),
                ("million", "Many batches", MANY),
            ] {
                if all || wanted(part) {
                    pages_of(name, shape, effort);
                }
            }
            if wanted("growth") {
                growth(effort);
            }
        }
    }
}

/// Ratios, latency and memory over one book.
fn pages_of(name: &str, shape: Shape, effort: Effort) {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, live) = with_two_under_way(shape, 200, folder.path());
    let book = Server::of_the_book(&file);
    let (idle, _) = book.resident_mb();
    let book = book.at_rest();
    let bare = Server::bare(&file, &folder.path().join("own.db"));
    let pages = asked::pages(shape, live.read);
    let before = entries_of(&file, live.written);
    let Measured { lines, row, row_of_still, written } = ratios::measure(&book, &bare, &pages, &live, effort);
    assert_eq!(entries_of(&file, live.written) - before, written, "every entry that was answered is in the log");
    let Shape { batches, readings } = shape;
    println!("\n## {name}: {batches} batches of {readings} readings\n");
    println!("B, the bare row: {:.0}/s, {:.0} µs; {} of a static answer.\n", row.rate, row.cpu_us, sure(&row_of_still));
    println!("| asked for | bytes (gzip) | /s | CPU µs | T (a commit) µs | /s of B (a commit) | of T | goal |");
    println!("|---|---:|---:|---:|---:|---:|---:|---|");
    lines.iter().for_each(line);
    println!("\nAt half of that, with 50 live streams held open:\n");
    println!("| asked for | /s | p50 ms | p99 ms | p99.9 ms |");
    println!("|---|---:|---:|---:|---:|");
    for latency::Waited { name, rate, tail } in latency::measure(&book, &bare, &pages, &live, effort) {
        println!("| {name} | {rate:.0} | {:.2} | {:.2} | {:.2} |", tail.p50_ms, tail.p99_ms, tail.p999_ms);
    }
    let (_, most) = book.resident_mb();
    let program = fs::metadata(server::program()).map_or(0.0, |file| file.len() as f64 / 1e6);
    println!(
        "\nFrom start to listening {:.0} ms; memory {idle:.0} MB idle, {most:.0} MB at most; program {program:.1} MB.",
        book.start.as_secs_f64() * 1e3
    );
}

fn sure(median: &Median) -> String {
    format!("{:.2} [{:.2}–{:.2}]", median.value, median.low, median.high)
}

fn line(line: &Ratio) {
    println!(
        "| {} | {} ({}) | {:.0} | {:.0} | {:.0} | {} | {} | {} |",
        line.name,
        line.bytes,
        line.gzip_bytes,
        line.rate.value,
        line.cpu_us.value,
        line.bare_us.value,
        sure(&line.of_row),
        line.of_page.as_ref().map(sure).unwrap_or_default(),
        line.goal
    );
}

/// The two tables of growth: along the batches, and along the readings of one.
fn growth(effort: Effort) {
    let row = |shape: Shape, readings: u32, size: u32| {
        let folder = tempfile::tempdir().expect("a folder");
        let (file, live) = with_two_under_way(shape, readings, folder.path());
        let grown = growth::measure(&file, shape, &live, size, effort);
        let cells: Vec<String> = grown.cpu_us.iter().map(|cpu_us| format!("{cpu_us:.0}")).collect();
        println!("| {} | {} |", grown.size, cells.join(" | "));
    };
    let head = |of: &str| {
        println!("\n| {of} | {} |\n|---:|{}", growth::PAGES.join(" | "), "---:|".repeat(growth::PAGES.len()));
    };
    println!("\n## Growth, CPU µs for each answer");
    head("batches");
    for batches in [10, 100, 1_000, 10_000] {
        row(Shape { batches, readings: 100 }, 200, batches);
    }
    head("readings in the batch");
    for readings in [100, 1_000, 10_000, 100_000] {
        row(Shape { batches: 100, readings: 100 }, readings, readings);
    }
}

/// Two batches in the middle of their chill: one is read, the other is written to.
#[derive(Clone, Copy, Debug)]
struct Live {
    read: i64,
    written: i64,
}

/// A copy of the book of a shape with two batches under way, each read so often.
fn with_two_under_way(shape: Shape, readings: u32, folder: &Path) -> (PathBuf, Live) {
    let kept = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{}x{}.db", shape.batches, shape.readings));
    if !kept.exists() {
        made(&kept, shape);
    }
    let file = folder.join("book.db");
    fs::copy(&kept, &file).expect("room for a copy");
    let now = time::OffsetDateTime::now_utc();
    let live = runtime().block_on(async {
        let store = Store::open(&file).await.expect("a book");
        let live = Live {
            written: book::under_way(&store, readings, 21.0, now).await,
            read: book::under_way(&store, readings, 20.0, now).await,
        };
        store.close().await;
        live
    });
    (file, live)
}

/// How many entries are on disk, beside the server.
fn entries_of(file: &Path, batch: i64) -> usize {
    runtime().block_on(async {
        let store = Store::open_to_read(file).await.expect("a book");
        let entries = store.entries(batch, 0).await.expect("a log").len();
        store.close().await;
        entries
    })
}

fn made(file: &Path, shape: Shape) {
    let began = Instant::now();
    runtime().block_on(book::make(file, shape));
    let Shape { batches, readings } = shape;
    println!("made {batches} batches of {readings} readings in {:.0} s", began.elapsed().as_secs_f64());
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime")
}
