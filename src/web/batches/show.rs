//! `/batches/{id}`: the whole day on one page, every figure computed.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use crate::brewday::choices::Choice;
use crate::brewday::fields::Reader;
use crate::brewday::plausible::NAME_CHARS;
use crate::brewday::{Body, BrewDay};
use crate::web::chill_plan::WentTold;
use crate::web::figures::{self, FigureGroup};
use crate::web::form::Form;
use crate::web::log::{self, LogRow};
use crate::web::strip::BatchHead;
use crate::web::when::Moment;
use crate::web::{Again, App, AppError, Frame, Page, see_other};

/// Lines of the log the page shows unless all are asked for: a thermometer's own log has thousands.
const LINES_SHOWN: usize = 500;

#[derive(Template)]
#[template(path = "batches/show.html")]
pub(super) struct BatchPage {
    frame: Frame,
    head: BatchHead,
    day: Arc<BrewDay>,
    groups: Vec<FigureGroup>,
    went: Option<WentTold>,
    helped: Option<String>,
    log: Vec<LogRow>,
    /// How many lines the log has, shown or not.
    lines: usize,
    brewed: Moment,
    form: Form,
}

impl BatchPage {
    async fn load(app: &App, id: i64, frame: Frame, form: Option<Form>, most: usize) -> Result<Self, AppError> {
        let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
        let summary = app.store.summary(id).await?.ok_or(AppError::NotFound)?;
        let log = log::rows(&day, &frame, None, most);
        let lines = day.lines.iter().filter(|line| !matches!(line.logged.entry.body, Body::Amendment(_))).count();
        Ok(Self {
            head: BatchHead::of(&day, None),
            groups: figures::groups(&summary, &frame),
            went: WentTold::of(&frame, &day, &summary),
            helped: figures::would_help(&summary),
            lines,
            log,
            brewed: frame.clock.date(day.brewed_at()),
            form: form.unwrap_or_else(|| Form::empty(&frame).with("name", day.batch.name.clone())),
            day,
            frame,
        })
    }
}

/// How much of the log is asked for.
#[derive(Deserialize)]
pub(super) struct Asked {
    log: Option<String>,
}

pub(super) async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
    frame: Frame,
) -> Result<Response, AppError> {
    let most = if asked.log.as_deref() == Some("whole") { usize::MAX } else { LINES_SHOWN };
    Ok(Page(BatchPage::load(&app, id, frame, None, most).await?).into_response())
}

pub(super) async fn rename(
    State(app): State<App>,
    Path(id): Path<i64>,
    frame: Frame,
    form: Form,
) -> Result<Response, AppError> {
    let name = form.read(|body| {
        let mut read = Reader::new(body);
        let name = read.text("name", NAME_CHARS);
        read.finish(name)
    });
    match name {
        Ok(name) if app.store.rename_batch(id, &name).await? => Ok(see_other(&format!("/batches/{id}"))),
        Ok(_) => Err(AppError::NotFound),
        Err(form) => Ok(Again(BatchPage::load(&app, id, frame, Some(form), LINES_SHOWN).await?).into_response()),
    }
}
