//! What a file's columns are taken for, and what would come in.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::response::{IntoResponse, Response};
use uuid::Uuid;

use super::columns::{FIELDS, Looked, apart_choices, columns};
use super::taken::{self, readings};
use super::{address, found};
use crate::brewday::BrewDay;
use crate::brewday::choices::{Choice, Place};
use crate::brewday::logfile::{DateOrder, Degrees, LogReadings, LogTable, Mapping, TimeForm};
use crate::brewday::plausible::Dimension;
use crate::store::LogFile;
use crate::web::chart::{Column, Day, Picture, Point, Table, Trace};
use crate::web::form::{Form, options};
use crate::web::page::csv_file;
use crate::web::strip::BatchHead;
use crate::web::{App, AppError, Frame, Page, when};

/// Rows shown as they stand in the file.
const ROWS_SHOWN: usize = 6;
/// Refused rows shown; the file has all of them.
const REFUSED_SHOWN: usize = 8;
/// A log this far from the brew day is more likely to have been misread.
const FAR: time::Duration = time::Duration::days(30);
/// A picture along the clock gets unreadable beyond this.
const DRAWN_MOST: time::Duration = time::Duration::hours(72);

#[derive(Template)]
#[template(path = "log_files/preview.html")]
struct PreviewPage {
    frame: Frame,
    head: BatchHead,
    file: LogFile,
    form: Form,
    columns: Vec<(String, String)>,
    asks_order: bool,
    needs_start: bool,
    rows: Vec<RowTold>,
    summary: Summary,
    picture: Option<Picture>,
    refused: Vec<Refused>,
    query: String,
}

/// A row of the file beside what was read of it.
struct RowTold {
    line: usize,
    cells: Vec<String>,
    at: String,
    temperature: String,
}

/// A row that does not come in.
struct Refused {
    line: usize,
    why: String,
    text: String,
}

/// What would come in, in words.
struct Summary {
    /// Readings that would come in.
    many: usize,
    told: String,
    beside: Vec<String>,
    far: Option<String>,
    refused: usize,
}

pub(super) async fn show(
    State(app): State<App>,
    Path((id, file)): Path<(i64, Uuid)>,
    RawQuery(query): RawQuery,
    frame: Frame,
) -> Result<Response, AppError> {
    let file = found(&app, id, file).await?;
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    if app.store.is_under_way(file.id) || file.mapping.is_some() {
        return Ok(Page(taken::page(&app, &day, file, frame)).into_response());
    }
    let typed = typed(&frame, query.as_deref());
    let (table, looked) = look(&app, &file, Arc::clone(&day), frame.clone(), typed).await?;
    Ok(Page(page(&table, looked, &day, file, frame)).into_response())
}

pub(super) async fn refused(
    State(app): State<App>,
    Path((id, file)): Path<(i64, Uuid)>,
    RawQuery(query): RawQuery,
    frame: Frame,
) -> Result<Response, AppError> {
    let file = found(&app, id, file).await?;
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let typed = typed(&frame, query.as_deref());
    let (_, looked) = look(&app, &file, day, frame, typed).await?;
    let column = |head: &str, figures| Column { head: head.to_owned(), figures };
    let rows = looked.found.refused.into_iter();
    let table = Table {
        caption: String::new(),
        columns: vec![column("line", true), column("why", false), column("text", false)],
        rows: rows.map(|row| vec![row.line.to_string(), row.why, row.text]).collect(),
    };
    Ok(csv_file("refused-rows.csv", table.csv()))
}

/// Reads a file that was brought, on a thread of its own: a large one takes a while.
pub(super) async fn look(
    app: &App,
    file: &LogFile,
    day: Arc<BrewDay>,
    frame: Frame,
    typed: Form,
) -> Result<(LogTable, Looked), AppError> {
    let gone = || {
        let why = "The readings of this file are in the log already, and the file itself was let go of.";
        AppError::Conflict(why.into())
    };
    let body = app.store.log_file_body(file.id).await?.ok_or_else(gone)?;
    let kept = file.mapping.clone();
    let read = tokio::task::spawn_blocking(move || {
        let (table, guess) = LogTable::read(&body)?;
        let looked = match kept {
            // It was stopped half way: it goes on as it began.
            Some(mapping) => Looked::again(&table, mapping, &day, &frame),
            None => Looked::at(&table, &guess, &day, &frame, &typed),
        };
        Ok((table, looked))
    });
    read.await.map_err(AppError::internal)?.map_err(AppError::Conflict)
}

fn typed(frame: &Frame, query: Option<&str>) -> Form {
    Form::typed(frame, form_urlencoded::parse(query.unwrap_or_default().as_bytes()).into_owned().collect())
}

fn page(table: &LogTable, looked: Looked, day: &BrewDay, file: LogFile, frame: Frame) -> PreviewPage {
    let Looked { form, mapping, found, held, asks_order } = looked;
    let pairs = FIELDS.iter().map(|name| (*name, form.value(name)));
    let query = form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish();
    let refused = found.refused.iter().take(REFUSED_SHOWN);
    PreviewPage {
        head: BatchHead::of(day, None),
        columns: columns(table),
        asks_order: asks_order || !form.value("order").is_empty(),
        needs_start: mapping.as_ref().is_some_and(|mapping| mapping.form.needs_start()),
        rows: rows(table, mapping.as_ref(), &found, &frame),
        summary: Summary::of(&found, held, day, &frame),
        picture: mapping.as_ref().and_then(|mapping| picture(&found, mapping, &file.name, &frame)),
        refused: refused.map(|row| Refused { line: row.line, why: row.why.clone(), text: row.text.clone() }).collect(),
        query,
        file,
        form,
        frame,
    }
}

impl PreviewPage {
    fn action(&self) -> String {
        address(self.file.batch, self.file.id)
    }

    fn fields(&self) -> [&'static str; 10] {
        FIELDS
    }

    fn optional_columns(&self) -> Vec<(String, String)> {
        [(String::new(), "In the same column".to_owned())].into_iter().chain(self.columns.clone()).collect()
    }

    fn forms(&self) -> Vec<(&'static str, &'static str)> {
        options::<TimeForm>()
    }

    fn orders(&self) -> Vec<(&'static str, &'static str)> {
        options::<DateOrder>()
    }

    fn scales(&self) -> Vec<(&'static str, &'static str)> {
        options::<Degrees>()
    }

    fn places(&self) -> Vec<(&'static str, &'static str)> {
        options::<Place>()
    }

    fn apart(&self) -> &'static [(&'static str, &'static str)] {
        apart_choices()
    }

    fn zones(&self) -> Vec<(String, String)> {
        let own = self
            .frame
            .clock
            .zone_name()
            .map_or_else(|| "The house’s own".to_owned(), |zone| format!("The house’s own ({zone})"));
        let all = when::zone_names().into_iter().map(|zone| (zone.clone(), zone));
        [(String::new(), own)].into_iter().chain(all).collect()
    }

    fn button(&self) -> String {
        format!("Bring in {}", readings(self.summary.many))
    }
}

impl Summary {
    fn of(found: &LogReadings, held: usize, day: &BrewDay, frame: &Frame) -> Self {
        let many = found.readings.len();
        let degrees = |celsius: f64| frame.show(celsius, Dimension::Temperature).to_string();
        let first = found.readings.iter().min_by_key(|reading| reading.at);
        let last = found.readings.iter().max_by_key(|reading| reading.at);
        let told = match first.zip(last) {
            Some((first, last)) => {
                let range = |pick: fn(f64, f64) -> f64, from| {
                    found.readings.iter().map(|one| one.temperature_c).fold(from, pick)
                };
                let (low, high) = (range(f64::min, f64::INFINITY), range(f64::max, f64::NEG_INFINITY));
                format!(
                    "{} from {} to {}, between {} and {}.",
                    capital(&readings(many)),
                    frame.clock.day_and_time(first.at),
                    frame.clock.day_and_time(last.at),
                    degrees(low),
                    degrees(high),
                )
            }
            None => "No reading would come in as it stands. Look at the columns again.".to_owned(),
        };
        let count = |many: usize, words: &str| (many > 0).then(|| format!("{} {words}", capital(&readings(many))));
        let beside = [
            count(held, "left out: they are in the log already, or twice in the file."),
            count(found.thinned, "left out: closer together than was asked for."),
        ];
        let far = first.filter(|first| (first.at - day.brewed_at()).abs() > FAR).map(|_| {
            let brewed = frame.clock.date(day.brewed_at());
            format!("That is far from the brew day, {brewed}: is the date read the right way round?")
        });
        Self { many, told, beside: beside.into_iter().flatten().collect(), far, refused: found.refused.len() }
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The first rows from where readings begin, headings before them included.
fn rows(table: &LogTable, mapping: Option<&Mapping>, found: &LogReadings, frame: &Frame) -> Vec<RowTold> {
    let first = found.readings.first().map_or(0, |reading| reading.line);
    let begin = table.rows.iter().position(|row| row.line >= first).unwrap_or(0).saturating_sub(2);
    let width = table.width();
    table.rows[begin..]
        .iter()
        .take(ROWS_SHOWN)
        .map(|row| {
            let read = found
                .readings
                .iter()
                .take(ROWS_SHOWN * 2)
                .find(|reading| reading.line == row.line)
                .filter(|_| mapping.is_some());
            let mut cells = row.cells.clone();
            cells.resize(width, String::new());
            RowTold {
                line: row.line,
                cells,
                at: read.map(|reading| frame.clock.day_and_second(reading.at).text).unwrap_or_default(),
                temperature: read
                    .map(|reading| frame.show(reading.temperature_c, Dimension::Temperature).to_string())
                    .unwrap_or_default(),
            }
        })
        .collect()
}

fn picture(found: &LogReadings, mapping: &Mapping, name: &str, frame: &Frame) -> Option<Picture> {
    let first = found.readings.iter().map(|reading| reading.at).min()?;
    let last = found.readings.iter().map(|reading| reading.at).max()?;
    if last - first > DRAWN_MOST {
        return None;
    }
    let from = frame.clock.minute_of_day(first);
    let point = |at: time::OffsetDateTime, celsius: f64| {
        Point::new(from + (at - first).as_seconds_f64() / 60.0, frame.degrees(celsius))
    };
    let points: Vec<Point> = found.readings.iter().map(|reading| point(reading.at, reading.temperature_c)).collect();
    let label = mapping.place.label().to_lowercase();
    let title = format!("What {name} would bring in");
    let traces = [Trace { label: &label, readings: &points }];
    Some(Day { title: &title, unit: frame.degree_unit(), traces: &traces, events: &[] }.svg())
}
