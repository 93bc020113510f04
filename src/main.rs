//! Gylebook: one binary that serves a brew space over its own network.

use std::process::ExitCode;

fn main() -> ExitCode {
    gylebook::cli::run()
}
