//! `gylebook export`: one batch on standard output.

use std::io::{self, Write};

use anyhow::{Context, anyhow, bail};
use clap::ValueEnum;

use super::place::Data;
use crate::brewday::readings::readings_csv;
use crate::store::{Store, StoreError};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The batch's number, as it stands in its address.
    batch: i64,
    /// As what to write it.
    #[arg(long = "as", value_name = "FORM")]
    form: Form,
    #[command(flatten)]
    data: Data,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Form {
    /// Everything, for `gylebook import` and for scripts.
    Json,
    /// The readings, for a spreadsheet.
    Csv,
    /// The record, for people.
    Html,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let store = Store::open_to_read(args.data.file()?).await?;
    let written = write(&store, args.batch, args.form).await;
    store.close().await;
    let text = written?;
    io::stdout().lock().write_all(text.as_bytes()).context("The batch could not be written to standard output.")
}

async fn write(store: &Store, batch: i64, form: Form) -> anyhow::Result<String> {
    let missing = || anyhow!("There is no batch {batch} in {}. The page / lists them.", store.path().display());
    match form {
        Form::Json => {
            let carried = store.carry_out(batch).await.map_err(unreadable)?.ok_or_else(missing)?;
            Ok(serde_json::to_string_pretty(&carried)? + "\n")
        }
        Form::Csv => {
            let day = store.day(batch).await.map_err(unreadable)?.ok_or_else(missing)?;
            Ok(readings_csv(&day))
        }
        Form::Html => bail!("Writing the record as HTML is not built yet. Use --as json, or print the batch's sheet."),
    }
}

fn unreadable(why: StoreError) -> anyhow::Error {
    anyhow!("The batch could not be read: {why}. Run `gylebook check`.")
}
