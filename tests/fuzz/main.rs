//! Whatever is sent, typed or imported: a value or a sentence, and never a panic.
//!
//! Inputs are bent out of sound ones ([`bend`]), since bytes at random rarely get
//! past a parser's first line. `GYLEBOOK_INPUTS` says how many each parser gets
//! (3000 in the gate); the slow ones, which go through the whole server, get a
//! share of that. Each prints how many it has had.
#![expect(clippy::print_stdout, reason = "how many inputs each parser has had")]

mod bend;
mod edge;
mod logfile;
mod records;
mod typed;

use proptest::strategy::Strategy;
use proptest::test_runner::{Config, FailurePersistence, TestCaseError, TestRunner};

/// Gives a parser its inputs and prints how many there were; `share` 100 is one in a hundred.
#[track_caller]
fn fuzz<S: Strategy>(parser: &str, share: u32, inputs: S, parse: impl Fn(S::Value)) {
    let usual = 3000;
    let cases = std::env::var("GYLEBOOK_INPUTS").map_or(usual, |many| many.parse().expect("a number"));
    let cases = (cases / share).max(20);
    let persistence: Option<Box<dyn FailurePersistence>> = None;
    let config = Config { cases, failure_persistence: persistence, max_shrink_iters: 2000, ..Config::default() };
    let tried = TestRunner::new(config).run(&inputs, |input| {
        parse(input);
        Ok::<(), TestCaseError>(())
    });
    if let Err(why) = tried {
        panic!("{parser}: {why}");
    }
    println!("{parser}: {cases} inputs, 0 panics");
}
