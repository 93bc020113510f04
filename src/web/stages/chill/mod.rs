//! Chill: is this reading true, when am I there, what now, is it enough ice.
//!
//! [`told`] puts the chill at this moment into [`words`], [`picture`] draws it,
//! [`calls`] are the small forms behind the bar's buttons. What is live stands
//! in two parts of the page that are also answered alone, at `/chill/now`.

mod calls;
mod picture;
mod told;
mod words;

use askama::Template;
use axum::{
    Router,
    extract::{Path, State},
    routing::get,
};

use super::frame::StageFrame;
use super::panel::Panel;
use crate::brewday::chill_now::{self, ChillNow};
use crate::brewday::choices::{Choice, Stage};
use crate::brewday::day::StageState;
use crate::science::chilling::Estimate;
use crate::web::{App, AppError, Frame, Page};
use calls::{Call, Drained};
use picture::PictureTold;
use told::{NowTold, StageTold};

pub(super) use calls::only_what_the_method_needs;

pub(super) fn router() -> Router<App> {
    Router::new().route("/batches/{id}/chill/now", get(show_now))
}

#[derive(Template)]
#[template(path = "stages/chill.html")]
pub(super) struct ChillPage {
    frame: Frame,
    page: StageFrame,
    now: NowTold,
    picture: PictureTold,
    stages: Vec<StageTold>,
    new_bath: Call,
    calls: Vec<Call>,
    drained: Drained,
    flame_out: Panel,
}

/// The live parts alone.
#[derive(Template)]
#[template(path = "stages/_chill_parts.html")]
struct ChillParts {
    page: StageFrame,
    now: NowTold,
    picture: PictureTold,
    stages: Vec<StageTold>,
}

pub(super) async fn page(app: &App, page: StageFrame) -> Result<Page<ChillPage>, AppError> {
    let now = chill_now(app, &page).await?;
    let new_bath = calls::new_bath(&page, now.as_ref());
    Ok(Page(ChillPage {
        now: NowTold::of(&page, now.as_ref()),
        picture: PictureTold::of(&page, now.as_ref()),
        stages: told::stages(&page),
        calls: calls::others(&page),
        drained: calls::drained(&page),
        flame_out: calls::flame_out(&page),
        new_bath,
        frame: page.frame.clone(),
        page,
    }))
}

async fn show_now(
    State(app): State<App>,
    Path(batch): Path<i64>,
    frame: Frame,
) -> Result<Page<impl Template>, AppError> {
    let page = StageFrame::load(&app, batch, Stage::Chill, frame).await?;
    let now = chill_now(&app, &page).await?;
    Ok(Page(ChillParts {
        now: NowTold::of(&page, now.as_ref()),
        picture: PictureTold::of(&page, now.as_ref()),
        stages: told::stages(&page),
        page,
    }))
}

impl ChillPage {
    /// Whether anything of the chill has happened.
    fn has_begun(&self) -> bool {
        !self.stages.is_empty() || self.now.reading.is_some()
    }

    fn is_over(&self) -> bool {
        self.page.state() == StageState::Finished
    }
}

/// The chill at this moment, with what the coil does on other days.
async fn chill_now(app: &App, page: &StageFrame) -> Result<Option<ChillNow>, AppError> {
    let usual = match page.day.batch.chiller() {
        Some(coil) => usual(app, coil.id, page.day.batch.id).await?,
        None => None,
    };
    Ok(ChillNow::of(&page.day, usual, page.frame.clock.now))
}

/// What a coil does on other days than this batch's.
async fn usual(app: &App, coil: i64, batch: i64) -> Result<Option<Estimate>, AppError> {
    let history = app.store.coil_tells(coil).await?;
    Ok(chill_now::usual(history.iter().filter(|run| run.batch != batch).map(|run| run.conductance_w_per_k)))
}
