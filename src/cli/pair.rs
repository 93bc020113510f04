//! `gylebook pair`: lets another device in.

use anyhow::bail;

use super::invitation;
use super::place::Data;
use crate::store::Store;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let file = args.data.file()?;
    let Some(store) = Store::open_beside(&file).await? else {
        bail!("{} is not being served, so no device could reach it. Run `gylebook serve --lan` first.", file.display());
    };
    let done = invite(&store).await;
    store.close().await;
    done
}

async fn invite(store: &Store) -> anyhow::Result<()> {
    let Some(address) = store.address().await? else {
        bail!("The book is served to this computer alone. Stop it and run `gylebook serve --lan` to let devices in.");
    };
    invitation::print(store, &address, true).await
}
