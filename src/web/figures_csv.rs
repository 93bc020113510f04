//! Batches as a file: one row each, every figure under its published name, which
//! holds its unit.

use std::collections::BTreeSet;

use serde_json::Value;

use super::chart::{Column, Table};
use super::figures;
use super::when::utc;
use crate::brewday::Summary;
use crate::store::Compared;

/// What a row begins with, in words.
const WORDS: [&str; 7] =
    ["batch", "name", "recipe", "recipe_revision", "brewed_at", "chilled_with", "would_have_helped_most"];

/// Comma-separated values [RFC 4180], SI as in the summary. Words that a
/// spreadsheet would take for a formula are made harmless by [`Table::csv`].
#[must_use]
pub fn figures_csv(batches: &[&Compared]) -> String {
    let summaries: Vec<Value> =
        batches.iter().map(|batch| serde_json::to_value(&batch.summary).unwrap_or_default()).collect();
    let names: BTreeSet<String> = summaries.iter().flat_map(names).collect();
    let column = |head: &str, figures| Column { head: head.to_owned(), figures };
    // A figure below nil begins with a minus sign and is no formula.
    let is_figure = |name: &&String| summaries.iter().any(|summary| at(summary, name).is_number());
    let words = WORDS.iter().map(|head| column(head, false));
    let table = Table {
        caption: String::new(),
        columns: words.chain(names.iter().map(|name| column(name, is_figure(&name)))).collect(),
        rows: batches.iter().zip(&summaries).map(|(batch, summary)| row(batch, summary, &names)).collect(),
    };
    table.csv()
}

/// What would have helped a batch's chill most, or why that can't be told.
#[must_use]
pub fn would_help(summary: &Summary) -> String {
    let why = || summary.missing.get("chill.would_help").cloned().unwrap_or_default();
    figures::would_help(summary).unwrap_or_else(why)
}

fn row(batch: &Compared, summary: &Value, names: &BTreeSet<String>) -> Vec<String> {
    let words = [
        batch.batch.to_string(),
        batch.name.clone(),
        batch.recipe.clone(),
        batch.recipe_revision.to_string(),
        utc(batch.brewed_at),
        batch.chiller.clone().unwrap_or_default(),
        would_help(&batch.summary),
    ];
    words.into_iter().chain(names.iter().map(|name| cell(at(summary, name)))).collect()
}

/// `chill.standard_chill_min` and all the others that are one figure or one word,
/// and those of each cooling stage: `chill.stages.0.conductance_w_per_k`.
fn names(summary: &Value) -> Vec<String> {
    let stages = summary["chill"]["stages"].as_array().into_iter().flatten().enumerate();
    let of_stages = stages.flat_map(|(index, stage)| {
        let figures = stage.as_object().into_iter().flatten();
        figures.map(move |(name, _)| format!("chill.stages.{index}.{name}")).collect::<Vec<_>>()
    });
    let groups = summary.as_object().into_iter().flatten().filter(|(group, _)| *group != "missing");
    let figures = groups.flat_map(|(group, figures)| {
        let single = figures.as_object().into_iter().flatten().filter(|(_, value)| !value.is_array());
        single.map(move |(name, _)| format!("{group}.{name}"))
    });
    figures.chain(of_stages).collect()
}

fn at<'a>(summary: &'a Value, name: &str) -> &'a Value {
    name.split('.').fold(summary, |value, part| match part.parse::<usize>() {
        Ok(index) => &value[index],
        Err(_) => &value[part],
    })
}

fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(word) => word.clone(),
        other => other.to_string(),
    }
}
