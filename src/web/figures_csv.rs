//! Batches as a file: one row each, every figure under its published name, which
//! holds its unit.

use std::collections::BTreeSet;

use serde_json::Value;
use time::OffsetDateTime;

use super::chart::{Column, Table};
use super::when::utc;
use crate::brewday::Summary;

/// What a row begins with, in words.
const WORDS: [&str; 5] = ["batch", "name", "recipe", "recipe_revision", "brewed_at"];

/// A batch and its figures.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Its number.
    pub batch: i64,
    /// What the brewer calls it.
    pub name: &'a str,
    /// The recipe's name.
    pub recipe: &'a str,
    /// Which revision of the recipe.
    pub recipe_revision: i64,
    /// When the day began.
    pub brewed_at: OffsetDateTime,
    /// The figures.
    pub summary: &'a Summary,
}

/// Comma-separated values [RFC 4180], SI as in the summary. Words that a
/// spreadsheet would take for a formula are made harmless by [`Table::csv`].
#[must_use]
pub fn figures_csv(batches: &[Row<'_>]) -> String {
    let summaries: Vec<Value> =
        batches.iter().map(|batch| serde_json::to_value(batch.summary).unwrap_or_default()).collect();
    let names: BTreeSet<String> = summaries.iter().flat_map(names).collect();
    let column = |head: &str| Column { head: head.to_owned(), figures: false };
    let table = Table {
        caption: String::new(),
        columns: WORDS.into_iter().chain(names.iter().map(String::as_str)).map(column).collect(),
        rows: batches.iter().zip(&summaries).map(|(batch, summary)| row(batch, summary, &names)).collect(),
    };
    table.csv()
}

fn row(batch: &Row<'_>, summary: &Value, names: &BTreeSet<String>) -> Vec<String> {
    let words = [
        batch.batch.to_string(),
        batch.name.to_owned(),
        batch.recipe.to_owned(),
        batch.recipe_revision.to_string(),
        utc(batch.brewed_at),
    ];
    words.into_iter().chain(names.iter().map(|name| cell(at(summary, name)))).collect()
}

/// `chill.standard_chill_min` and all the others that are one figure or one word.
fn names(summary: &Value) -> Vec<String> {
    let groups = summary.as_object().into_iter().flatten().filter(|(group, _)| *group != "missing");
    let figures = groups.flat_map(|(group, figures)| {
        let single = figures.as_object().into_iter().flatten().filter(|(_, value)| !value.is_array());
        single.map(move |(name, _)| format!("{group}.{name}"))
    });
    figures.collect()
}

fn at<'a>(summary: &'a Value, name: &str) -> &'a Value {
    name.split('.').fold(summary, |value, part| &value[part])
}

fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(word) => word.clone(),
        other => other.to_string(),
    }
}
