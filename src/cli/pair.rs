//! `gylebook pair`: lets another device in.

use anyhow::bail;

use super::place::Data;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    data: Data,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let file = args.data.file()?;
    bail!("No device can be paired with {} yet: that is not built. Use it on this machine meanwhile.", file.display())
}
