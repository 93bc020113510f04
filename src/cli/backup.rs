//! `gylebook backup`: a checked copy of the book.

use std::path::PathBuf;

use super::place::Data;
use super::say;
use crate::store::back_up;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Where to write the copy; an older backup there is replaced.
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    back_up(&args.data.file()?, &args.file).await?;
    say(format_args!("Backed up and checked: {}", args.file.display()))?;
    Ok(())
}
