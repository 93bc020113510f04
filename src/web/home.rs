//! `/`: the ledger of batches. A newcomer is taken to the first choices instead.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::{Router, routing::get};
use serde::Deserialize;

use super::chart::{Picture, Point, Spark};
use super::form::options;
use super::shelf::lasting;
use super::when::Moment;
use super::{App, AppError, Frame, Page, see_other};
use crate::brewday::BatchState;
use crate::brewday::choices::Choice;
use crate::brewday::plausible::Dimension;
use crate::store::{LedgerColumn, LedgerQuery, LedgerRow};

/// Rows of the ledger on one page.
const ROWS: u32 = 25;
/// The curves of all rows share one frame, so that they can be compared by eye:
/// an hour from the boil down to a cold cellar.
const CURVE_MINUTES: f64 = 60.0;
const CURVE_C: (f64, f64) = (5.0, 100.0);

pub(crate) fn router() -> Router<App> {
    Router::new().route("/", get(index))
}

#[derive(Template)]
#[template(path = "home.html")]
struct HomePage {
    frame: Frame,
    asked: Asked,
    lines: Vec<Line>,
    total: i64,
    columns: Vec<Column>,
}

/// What the address asks for.
#[derive(Clone, Deserialize, Default)]
#[serde(default)]
struct Asked {
    find: String,
    sort: String,
    order: String,
    page: u32,
}

/// A batch in the ledger.
struct Line {
    batch: i64,
    name: String,
    recipe: String,
    state: BatchState,
    brewed: Moment,
    curve: Picture,
    original: String,
    volume: String,
    abv: String,
    settled: String,
    standard: String,
    /// What is known of it in one line, for a narrow screen.
    brief: String,
}

/// A column's heading, and where it sorts to.
struct Column {
    label: &'static str,
    href: String,
    /// `aria-sort`, where the ledger is sorted by it.
    sorted: Option<&'static str>,
    is_number: bool,
}

async fn index(State(app): State<App>, Query(asked): Query<Asked>, frame: Frame) -> Result<Response, AppError> {
    if !frame.settings.welcomed {
        return Ok(see_other("/welcome"));
    }
    let ledger = app.store.ledger(&asked.query()).await?;
    Ok(lasting(Page(HomePage {
        lines: ledger.rows.into_iter().map(|row| Line::of(row, &frame)).collect(),
        total: ledger.total,
        columns: asked.columns(),
        asked,
        frame,
    })))
}

impl Asked {
    fn column(&self) -> LedgerColumn {
        LedgerColumn::from_key(&self.sort).unwrap_or(LedgerColumn::Brewed)
    }

    /// Newest and largest first, unless asked otherwise; names from A.
    fn is_descending(&self) -> bool {
        match self.order.as_str() {
            "up" => false,
            "down" => true,
            _ => !matches!(self.column(), LedgerColumn::Name | LedgerColumn::Recipe),
        }
    }

    fn query(&self) -> LedgerQuery {
        LedgerQuery {
            search: self.find.clone(),
            sort: self.column(),
            descending: self.is_descending(),
            skip: self.page.saturating_mul(ROWS),
            take: ROWS,
        }
    }

    fn href(&self, sort: LedgerColumn, descending: bool, page: u32) -> String {
        let order = if descending { "down" } else { "up" };
        let page = page.to_string();
        let query = [("find", self.find.as_str()), ("sort", sort.key()), ("order", order), ("page", &page)];
        format!("/?{}", form_urlencoded::Serializer::new(String::new()).extend_pairs(query).finish())
    }

    fn columns(&self) -> Vec<Column> {
        LedgerColumn::ALL
            .iter()
            .map(|&column| {
                let here = column == self.column();
                let is_number = !matches!(
                    column,
                    LedgerColumn::Brewed | LedgerColumn::Name | LedgerColumn::Recipe | LedgerColumn::State
                );
                Column {
                    label: column.label(),
                    href: self.href(column, if here { !self.is_descending() } else { is_number }, 0),
                    sorted: here.then_some(if self.is_descending() { "descending" } else { "ascending" }),
                    is_number,
                }
            })
            .collect()
    }
}

impl HomePage {
    fn sorts(&self) -> Vec<(&'static str, &'static str)> {
        options::<LedgerColumn>()
    }

    fn is_sort(&self, key: &str) -> bool {
        self.asked.column().key() == key
    }

    /// Which rows these are: "26 to 50 of 120".
    fn span(&self) -> String {
        let first = i64::from(self.asked.page) * i64::from(ROWS) + 1;
        let last = first + i64::try_from(self.lines.len()).unwrap_or_default() - 1;
        format!("{first} to {last} of {}", self.total)
    }

    fn newer(&self) -> Option<String> {
        let page = self.asked.page.checked_sub(1)?;
        Some(self.asked.href(self.asked.column(), self.asked.is_descending(), page))
    }

    fn older(&self) -> Option<String> {
        let shown = (i64::from(self.asked.page) + 1) * i64::from(ROWS);
        let next = self.asked.page + 1;
        (shown < self.total).then(|| self.asked.href(self.asked.column(), self.asked.is_descending(), next))
    }
}

impl Line {
    fn of(row: LedgerRow, frame: &Frame) -> Self {
        let show = |value: Option<f64>, dimension| {
            value.map_or_else(|| "–".to_owned(), |value| frame.show_computed(value, dimension).to_string())
        };
        let degrees = |celsius: f64| frame.degrees(celsius);
        let points: Vec<Point> =
            row.curve.iter().map(|&(minutes, celsius)| Point::new(minutes, degrees(celsius))).collect();
        let title = format!("Chill of batch {}", row.batch);
        let curve = Spark {
            title: &title,
            unit: frame.degree_unit(),
            readings: &points,
            fit: Some((CURVE_MINUTES, (degrees(CURVE_C.0), degrees(CURVE_C.1)))),
            ..Spark::default()
        };
        Self {
            batch: row.batch,
            brief: brief(&row, frame),
            curve: curve.svg(),
            brewed: frame.clock.short_date(row.brewed_at),
            original: show(row.original_sg, Dimension::Gravity),
            volume: show(row.into_fermenter_l, Dimension::Volume),
            abv: show(row.abv_pct, Dimension::Percent),
            settled: show(row.minutes_to_settled, Dimension::Minutes),
            standard: show(row.standard_chill_min, Dimension::Minutes),
            name: row.name,
            recipe: row.recipe,
            state: row.state,
        }
    }
}

/// What is known of a batch: "1.051 SG · 20.0 L · 5.3 % · settled in 31.9 min".
fn brief(row: &LedgerRow, frame: &Frame) -> String {
    let known = [
        (row.original_sg, Dimension::Gravity, "", ""),
        (row.into_fermenter_l, Dimension::Volume, "", ""),
        (row.abv_pct, Dimension::Percent, "", " ABV"),
        (row.minutes_to_settled, Dimension::Minutes, "settled in ", ""),
        (row.standard_chill_min, Dimension::Minutes, "standard chill ", ""),
    ];
    let told = known.into_iter().filter_map(|(value, dimension, before, after)| {
        Some(format!("{before}{}{after}", frame.show_computed(value?, dimension)))
    });
    told.collect::<Vec<_>>().join(" · ")
}
