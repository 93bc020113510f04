//! `/batches/{id}`: the whole day on one page, every figure computed.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};

use crate::brewday::BrewDay;
use crate::brewday::choices::Choice;
use crate::brewday::day::BatchState;
use crate::brewday::fields::Reader;
use crate::brewday::plausible::NAME_CHARS;
use crate::web::chart::Picture;
use crate::web::chill_plan::WentTold;
use crate::web::day_pictures;
use crate::web::figures::{self, FigureGroup, Unknown};
use crate::web::form::Form;
use crate::web::log;
use crate::web::shelf::lasting;
use crate::web::strip::BatchHead;
use crate::web::when::Moment;
use crate::web::{Again, App, AppError, Frame, Page, see_other};

#[derive(Template)]
#[template(path = "batches/show.html")]
pub(super) struct BatchPage {
    frame: Frame,
    head: BatchHead,
    day: Arc<BrewDay>,
    groups: Vec<FigureGroup>,
    unknown: Vec<Unknown>,
    whole_day: Option<Picture>,
    cooling: Option<Picture>,
    went: Option<WentTold>,
    helped: Option<String>,
    log: log::Part,
    brewed: Moment,
    form: Form,
}

impl BatchPage {
    fn is_closed(&self) -> bool {
        self.day.state() == BatchState::Closed
    }

    async fn load(app: &App, id: i64, frame: Frame, asked: &log::Asked, form: Option<Form>) -> Result<Self, AppError> {
        let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
        let summary = app.store.summary_of(&day).await?.ok_or(AppError::NotFound)?;
        let groups = figures::groups(&summary, &frame);
        let that_day = frame.on(day.brewed_at());
        Ok(Self {
            head: BatchHead::of(&day, None),
            unknown: figures::unknown(&groups),
            groups: figures::known(groups),
            whole_day: day_pictures::whole_day(&day, &that_day),
            cooling: day_pictures::cooling(&day, &that_day),
            went: WentTold::of(&frame, &day, &summary),
            helped: figures::would_help(&summary),
            log: log::Part::of(&day, &frame, asked),
            brewed: frame.clock.date(day.brewed_at()),
            form: form.unwrap_or_else(|| Form::empty(&frame).with("name", day.batch.name.clone())),
            day,
            frame,
        })
    }
}

pub(super) async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<log::Asked>,
    frame: Frame,
) -> Result<Response, AppError> {
    Ok(lasting(Page(BatchPage::load(&app, id, frame, &asked, None).await?)))
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
        Err(form) => {
            Ok(Again(BatchPage::load(&app, id, frame, &log::Asked::default(), Some(form)).await?).into_response())
        }
    }
}
