//! The commands. Each is one file; what they share is here.
//!
//! Exit status: 0 done, 1 failed (one sentence on standard error: what, why,
//! what to do), 2 wrong usage.

mod backup;
mod certificate;
mod check;
mod export;
mod import;
mod invitation;
mod network;
mod pair;
mod place;
mod restore;
mod serve;

use std::fmt::Display;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// The brew-day record: serves a brew space over its own network.
#[derive(Debug, Parser)]
#[command(name = "gylebook", version, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Open the book to browsers until Ctrl-C.
    Serve(serve::Args),
    /// Let another device in, by a one-time link.
    Pair(pair::Args),
    /// Write a checked copy of the book, also while it is being served.
    Backup(backup::Args),
    /// Put a backup in the place of the book; the book that was there is kept.
    Restore(restore::Args),
    /// Look the whole book through and compute every figure anew.
    Check(check::Args),
    /// Write one batch, or the whole book, to standard output.
    Export(export::Args),
    /// Take in a batch or a book that was exported as JSON.
    Import(import::Args),
}

/// Runs the command that was given.
#[must_use]
pub fn run() -> ExitCode {
    // Wrong usage ends here, with status 2 and what would be right.
    let cli = Cli::parse();
    let done = tokio::runtime::Runtime::new().map_err(anyhow::Error::from).and_then(|runtime| {
        runtime.block_on(async {
            match cli.command {
                Command::Serve(args) => serve::run(args).await,
                Command::Pair(args) => pair::run(args).await,
                Command::Backup(args) => backup::run(args).await,
                Command::Restore(args) => restore::run(args).await,
                Command::Check(args) => check::run(args).await,
                Command::Export(args) => export::run(args).await,
                Command::Import(args) => import::run(args).await,
            }
        })
    });
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            let _ = writeln!(io::stderr().lock(), "{why}");
            ExitCode::FAILURE
        }
    }
}

/// Prints a line on standard output.
fn say(line: impl Display) -> io::Result<()> {
    writeln!(io::stdout().lock(), "{line}")
}
