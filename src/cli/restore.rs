//! `gylebook restore`: puts a backup in the place of the book.

use std::path::PathBuf;

use time::OffsetDateTime;

use super::place::Data;
use super::say;
use crate::store::restore;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The backup.
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let data = args.data.file()?;
    let kept = restore(&args.file, &data, OffsetDateTime::now_utc()).await?;
    say(format_args!("Restored: {}", data.display()))?;
    if let Some(kept) = kept {
        say(format_args!("The book that was there is kept as {}", kept.display()))?;
    }
    Ok(())
}
