//! `/batches/{id}/sheet`: the record of a batch, on paper.

use std::collections::HashSet;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};

use super::PaperHead;
use super::checks::{self, ListTold};
use super::equipment::{self, Piece};
use super::readings::{self, Series};
use super::recipe::RecipeTold;
use super::wort::WortTable;
use crate::brewday::choices::{Choice, Cooling, Stage};
use crate::brewday::plausible::Dimension;
use crate::brewday::summary::FlushFigures;
use crate::brewday::{Body, BrewDay, Summary};
use crate::web::chart::Picture;
use crate::web::chill_plan::WentTold;
use crate::web::clearance::{self, ClearanceTold};
use crate::web::day_pictures as pictures;
use crate::web::figures::{self, FigureGroup, Unknown};
use crate::web::instruments;
use crate::web::log::{self, LogRow};
use crate::web::stage_labels::stage_labels;
use crate::web::strip::BatchHead;
use crate::web::{App, AppError, Frame, Page};

/// A log longer than this runs over onto a second sheet.
const LINES_OF_ONE_SHEET: usize = 60;

/// A log with more temperatures than this is told without each of them, even where it is told whole.
const READINGS_OF_A_REPORT: usize = 2000;

#[derive(Template)]
#[template(path = "sheet/record.html")]
struct RecordPage {
    frame: Frame,
    head: BatchHead,
    paper: PaperHead,
    record: Record,
}

/// All that was written of a batch, and what it comes to.
pub(super) struct Record {
    pub(super) recipe: RecipeTold,
    pub(super) equipment: Vec<Piece>,
    pub(super) groups: Vec<FigureGroup>,
    pub(super) unknown: Vec<Unknown>,
    /// Glossary key, name and verdict.
    pub(super) verdicts: Vec<(&'static str, &'static str, String)>,
    pub(super) wort: WortTable,
    pub(super) stages: Vec<StageTold>,
    pub(super) went: Option<WentTold>,
    pub(super) spans: Vec<Span>,
    pub(super) cooling: Option<Picture>,
    pub(super) whole_day: Option<Picture>,
    pub(super) log: Vec<LogRow>,
    pub(super) readings: Vec<Series>,
    pub(super) lists: Vec<ListTold>,
    pub(super) clearance: Vec<ClearanceTold>,
    /// What was taken off the readings.
    pub(super) instruments: Vec<String>,
}

/// How much of the log a record holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LogLength {
    /// What stands nowhere else on the sheet.
    ForPaper,
    /// Every line.
    Whole,
}

/// A stage of the day, from when to when.
pub(super) struct Span {
    pub(super) name: &'static str,
    /// Empty where the log doesn't say.
    pub(super) from: String,
    pub(super) until: String,
}

/// A cooling stage in figures.
pub(super) struct StageTold {
    pub(super) name: String,
    /// Minutes and wort at the end, as planned; empty without a plan.
    pub(super) planned: [String; 2],
    pub(super) minutes: String,
    pub(super) wort: String,
    pub(super) conductance: String,
    pub(super) limit: String,
}

pub(super) async fn show(State(app): State<App>, Path(id): Path<i64>, frame: Frame) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let summary = app.store.summary_of(&day).await?.ok_or(AppError::NotFound)?;
    let frame = frame.on(day.brewed_at());
    Ok(Page(RecordPage {
        head: BatchHead::of(&day, None),
        paper: paper(&day, &frame),
        record: Record::of(&day, &summary, &frame, LogLength::ForPaper),
        frame,
    })
    .into_response())
}

/// The head of a record: how far it goes.
pub(super) fn paper(day: &BrewDay, frame: &Frame) -> PaperHead {
    PaperHead::of(format!("Record, {}", day.state().label().to_lowercase()), day, frame)
}

impl Record {
    /// Whether a second sheet of paper is needed anyway, so that the picture of
    /// the whole day costs none.
    pub(super) fn is_long(&self) -> bool {
        self.log.len() > LINES_OF_ONE_SHEET
    }

    pub(super) fn of(day: &BrewDay, summary: &Summary, frame: &Frame, length: LogLength) -> Self {
        let groups = figures::groups(summary, frame);
        let unknown = figures::unknown(&groups);
        let (wort, groups) = WortTable::taken_from(groups, frame);
        let temperatures = day.standing.iter().filter(|entry| matches!(entry.body, Body::Temperature { .. })).count();
        let in_the_log = length == LogLength::Whole && temperatures <= READINGS_OF_A_REPORT;
        let readings = if in_the_log { Vec::new() } else { readings::series(day, frame) };
        let went = WentTold::of(frame, day, summary);
        Self {
            recipe: RecipeTold::of(&day.batch.scaled_recipe(), frame),
            equipment: equipment::pieces(day),
            unknown,
            wort,
            groups: figures::known(groups),
            verdicts: verdicts(summary, frame),
            stages: stages(summary, went.as_ref(), frame),
            went,
            spans: spans(day, frame),
            cooling: pictures::cooling(day, frame),
            whole_day: pictures::whole_day(day, frame),
            log: lines(day, frame, &readings, length),
            readings,
            lists: checks::lists(day, frame),
            clearance: clearance::told(day, summary, frame),
            instruments: instruments::notes(day, frame),
        }
    }
}

/// What is judged rather than measured.
fn verdicts(summary: &Summary, frame: &Frame) -> Vec<(&'static str, &'static str, String)> {
    let helped =
        figures::would_help(summary).map(|sentence| ("chill.would_help", "Would have helped the chill most", sentence));
    let mut verdicts = vec![
        ("flush.verdict", "Hot flush", flush(&summary.flush, frame)),
        ("chill.verdict", "Chill", summary.chill.verdict.label().to_owned()),
        ("chill.limited_by", "Chill held back by", summary.chill.limited_by.label().to_owned()),
    ];
    verdicts.extend(helped);
    verdicts
}

fn flush(flush: &FlushFigures, frame: &Frame) -> String {
    let mut told = flush.verdict.label().to_owned();
    if let (Some(seconds), Some(celsius)) = (flush.seconds, flush.temperature_c) {
        told = format!("{told}: {seconds:.0}\u{a0}s at {}", frame.show(celsius, Dimension::Temperature));
    }
    told
}

/// The stages as they went, each beside its plan where one is kept; then what was
/// planned and not done.
fn stages(summary: &Summary, went: Option<&WentTold>, frame: &Frame) -> Vec<StageTold> {
    let labels = stage_labels(summary.chill.stages.iter().map(|stage| stage.method));
    let degrees = |celsius: Option<f64>| {
        celsius.map_or_else(|| "–".to_owned(), |celsius| frame.show(celsius, Dimension::Temperature).text)
    };
    let mut plans = went.map(|went| went.rows.as_slice()).unwrap_or_default().iter();
    let mut planned = |method| {
        let row = (method != Cooling::Air).then(|| plans.next()).flatten();
        row.map(|row| [row.cells[0].0.clone(), row.cells[1].0.clone()]).unwrap_or_default()
    };
    let told = summary.chill.stages.iter().zip(labels).map(|(stage, name)| StageTold {
        name,
        planned: planned(stage.method),
        minutes: stage.minutes.map_or_else(|| "–".to_owned(), |min| frame.show(min, Dimension::Minutes).text),
        wort: format!("{} to {}", degrees(stage.wort_start_c), degrees(stage.wort_end_c)),
        conductance: match (stage.conductance_w_per_k, stage.conductance_se_w_per_k) {
            (Some(value), Some(se)) => frame.say_measured(value, se, Dimension::Plain),
            (Some(value), None) => format!("{value:.0}"),
            (None, _) => "–".to_owned(),
        },
        limit: degrees(stage.limit_c),
    });
    let mut told: Vec<StageTold> = told.collect();
    told.extend(plans.map(|row| StageTold {
        name: format!("{}, planned only", row.bath.to_lowercase()),
        planned: [row.cells[0].0.clone(), row.cells[1].0.clone()],
        minutes: "–".to_owned(),
        wort: "–".to_owned(),
        conductance: "–".to_owned(),
        limit: "–".to_owned(),
    }));
    told
}

/// The stages that the log says anything of.
fn spans(day: &BrewDay, frame: &Frame) -> Vec<Span> {
    let at = |body: Body| {
        let found = day.standing.iter().rev().find(|entry| entry.body == body);
        found.map(|entry| frame.clock.short(entry.at).text).unwrap_or_default()
    };
    let span = |stage: &Stage| Span {
        name: stage.label(),
        from: at(Body::StageStarted { stage: *stage }),
        until: at(Body::StageFinished { stage: *stage }),
    };
    Stage::ALL.iter().map(span).filter(|span| !(span.from.is_empty() && span.until.is_empty())).collect()
}

/// Whether an entry only says that a stage began or ended.
fn is_span(body: &Body) -> bool {
    matches!(body, Body::StageStarted { .. } | Body::StageFinished { .. })
}

/// The log from the first line to the last, without what stands elsewhere on the
/// sheet: readings in a table, ticks on a list, stages with their times. A line with anything to say
/// beyond its value (a note, a correction, an oddity) stays. A log told whole is
/// only without the readings of a table.
fn lines(day: &BrewDay, frame: &Frame, readings: &[Series], length: LogLength) -> Vec<LogRow> {
    let by_lists = log::told_by_lists(day);
    let spans: HashSet<_> = day.standing.iter().filter(|entry| is_span(&entry.body)).map(|entry| entry.id).collect();
    let elsewhere = |row: &LogRow| {
        let on_paper = spans.contains(&row.id) || by_lists.contains(&row.id);
        on_paper && length == LogLength::ForPaper || readings.iter().any(|series| series.holds(row.id))
    };
    let mut rows = log::rows(day, frame, None, usize::MAX);
    rows.retain(|row| !(row.is_plain() && elsewhere(row)));
    rows.reverse();
    rows
}
