//! `gylebook check`: looks the whole book through.

use anyhow::{anyhow, bail};

use super::place::Data;
use super::say;
use crate::store::{Checked, OpenError, Store, StoreError};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let file = args.data.file()?;
    // Looking at a book does not begin one, and does not bring an old one up to date.
    let store = Store::open_to_read(&file).await?;
    let looked = look(&store).await;
    store.close().await;
    let different = looked?;
    if different.is_empty() {
        return Ok(());
    }
    let list = different.iter().map(i64::to_string).collect::<Vec<_>>().join(", ");
    match Store::open(&file).await {
        Ok(store) => {
            let rebuilt = store.rebuild_summaries().await;
            store.close().await;
            rebuilt.map_err(unreadable)?;
            say(format_args!("  rebuilt    the summaries of batches {list} were not what their logs say"))?;
            Ok(())
        }
        Err(OpenError::InUse(_)) => bail!(
            "The summaries of batches {list} are not what their logs say. Stop the server and check again: that rebuilds them."
        ),
        Err(why) => Err(why.into()),
    }
}

/// Prints what was checked and gives the batches whose summaries differ.
async fn look(store: &Store) -> anyhow::Result<Vec<i64>> {
    say(store.path().display())?;
    let found = store.check_file().await.map_err(unreadable)?;
    if !found.is_empty() {
        bail!("The data file is damaged: {}. Restore a backup with `gylebook restore`.", found.join("; "));
    }
    say("  file       sound: every page, index and reference")?;
    let Checked { batches, entries, different } = store.check_summaries().await.map_err(unreadable)?;
    let verdict = match different.len() {
        0 => "all as kept".to_owned(),
        some => format!("{some} not as kept"),
    };
    let count = |many: usize, one: &str, more: &str| format!("{many} {}", if many == 1 { one } else { more });
    let (batches, entries) = (count(batches, "batch", "batches"), count(entries, "entry", "entries"));
    say(format_args!("  summaries  {batches}, {entries} computed anew: {verdict}"))?;
    Ok(different)
}

fn unreadable(why: StoreError) -> anyhow::Error {
    anyhow!("The check could not be finished: {why}. If that stays, restore a backup with `gylebook restore`.")
}
