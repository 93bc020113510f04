//! `gylebook import`: takes in a batch, or a whole book, that was exported as JSON.

use std::fs;
use std::path::PathBuf;

use anyhow::{anyhow, bail};
use serde_json::Value;
use time::OffsetDateTime;

use super::place::Data;
use super::say;
use crate::brewday::Fault;
use crate::brewday::carried::{Carried, CarriedBook};
use crate::store::Store;

/// The most faults that are told at once.
const FAULTS_TOLD: usize = 5;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The exported batch or book.
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let file = args.file.display();
    let text = fs::read_to_string(&args.file)
        .map_err(|why| anyhow!("{file} can't be read ({why}). Name a file that `gylebook export` wrote."))?;
    let body: Value = serde_json::from_str(&text)
        .map_err(|why| anyhow!("{file} is not JSON ({why}). Name a file that `gylebook export --as json` wrote."))?;
    let now = OffsetDateTime::now_utc();
    let taken = if CarriedBook::is_one(&body) {
        let book = CarriedBook::from_body(&body, now).map_err(|faults| refused(&args, &faults))?;
        let store = Store::open(args.data.file()?).await?;
        let taken = store.carry_book_in(book).await;
        store.close().await;
        taken.map(|taken| {
            taken.map(|batches| {
                format!("Imported a book of {batches} {}", if batches == 1 { "batch" } else { "batches" })
            })
        })
    } else {
        let carried = Carried::from_body(&body, now).map_err(|faults| refused(&args, &faults))?;
        let store = Store::open(args.data.file()?).await?;
        let taken = store.carry_in(carried).await;
        store.close().await;
        taken.map(|taken| taken.map(|batch| format!("Imported as batch {batch}")))
    };
    match taken {
        Ok(Ok(done)) => Ok(say(done)?),
        Ok(Err(faults)) => Err(refused(&args, &faults)),
        Err(why) => bail!("{file} was not imported: {why}. Nothing was changed; try again when that is mended."),
    }
}

fn refused(args: &Args, faults: &[Fault]) -> anyhow::Error {
    let told: Vec<_> = faults.iter().take(FAULTS_TOLD).map(|fault| format!("{}: {}", fault.field, fault.why)).collect();
    let more = match faults.len().saturating_sub(FAULTS_TOLD) {
        0 => String::new(),
        more => format!(" And {more} more."),
    };
    anyhow!("{} was not imported, and nothing was changed. {}{more}", args.file.display(), told.join(" "))
}
