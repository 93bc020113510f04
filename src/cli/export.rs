//! `gylebook export`: one batch, or the whole book, on standard output.

use std::io::{self, Write};

use anyhow::{Context, anyhow, bail};
use clap::ValueEnum;

use super::place::Data;
use crate::brewday::readings::{BookReadings, readings_csv};
use crate::store::{Store, StoreError};
use crate::web::{Frame, sheet};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The batch's number, as it stands in its address, or `all` for the whole book.
    #[arg(value_parser = what)]
    batch: What,
    /// As what to write it.
    #[arg(long = "as", value_name = "FORM")]
    form: Form,
    #[command(flatten)]
    data: Data,
}

/// What is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum What {
    Batch(i64),
    Book,
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
    io::stdout()
        .lock()
        .write_all(text.as_bytes())
        .context("What was asked for could not be written to standard output.")
}

async fn write(store: &Store, what: What, form: Form) -> anyhow::Result<String> {
    match what {
        What::Batch(batch) => write_batch(store, batch, form).await,
        What::Book => write_book(store, form).await,
    }
}

async fn write_batch(store: &Store, batch: i64, form: Form) -> anyhow::Result<String> {
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
        Form::Html => {
            let day = store.day(batch).await.map_err(unreadable)?.ok_or_else(missing)?;
            let summary = store.summary(batch).await.map_err(unreadable)?.ok_or_else(missing)?;
            let frame = Frame::of(store.settings().await.map_err(unreadable)?);
            Ok(sheet::report(&day, summary, &frame)?)
        }
    }
}

async fn write_book(store: &Store, form: Form) -> anyhow::Result<String> {
    match form {
        Form::Json => {
            let book = store.carry_book_out().await.map_err(unreadable)?;
            Ok(serde_json::to_string_pretty(&book)? + "\n")
        }
        Form::Csv => {
            let mut table = BookReadings::default();
            for batch in store.batch_ids().await.map_err(unreadable)? {
                if let Some(day) = store.day(batch).await.map_err(unreadable)? {
                    table.add(&day);
                }
            }
            Ok(table.take())
        }
        Form::Html => bail!("A report is about one batch, not about all. Name its number."),
    }
}

fn what(text: &str) -> Result<What, String> {
    match text.parse() {
        Ok(batch) => Ok(What::Batch(batch)),
        Err(_) if text == "all" => Ok(What::Book),
        Err(_) => Err("the number of a batch is needed, or `all`".to_owned()),
    }
}

fn unreadable(why: StoreError) -> anyhow::Error {
    anyhow!("The book could not be read: {why}. Run `gylebook check`.")
}
