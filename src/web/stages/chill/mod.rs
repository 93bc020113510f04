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
use crate::brewday::{BrewDay, changes};
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
    stand: Panel,
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

pub(super) async fn page(app: &App, mut page: StageFrame) -> Result<Page<ChillPage>, AppError> {
    let now = chill_now(app, &page).await?;
    if let Some(told) = to_go_moved(app, &page, now.as_ref()).await?
        && let Some(moved) = page.just_saved.as_mut().and_then(|saved| saved.moved.as_mut())
    {
        moved.lead_with(told);
    }
    let new_bath = calls::new_bath(&page, now.as_ref());
    Ok(Page(ChillPage {
        now: NowTold::of(&page, now.as_ref()),
        picture: PictureTold::of(&page, now.as_ref()),
        stages: told::stages(&page),
        calls: calls::others(&page),
        drained: calls::drained(&page),
        flame_out: calls::flame_out(&page),
        stand: calls::stand(&page),
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

/// What a late entry or a correction that was just saved made of the time to go.
async fn to_go_moved(app: &App, page: &StageFrame, now: Option<&ChillNow>) -> Result<Option<String>, AppError> {
    let has_moved = page.just_saved.as_ref().is_some_and(|saved| saved.moved.is_some());
    let Some(id) = page.saved_id.filter(|_| has_moved) else { return Ok(None) };
    let Some((before, _)) = changes::around(&page.day, id) else { return Ok(None) };
    let before = ChillNow::of(&before, usual_of(app, &page.day).await?, page.frame.clock.now);
    Ok(words::to_go_moved(before.as_ref(), now))
}

/// The chill at this moment, with what the coil does on other days.
async fn chill_now(app: &App, page: &StageFrame) -> Result<Option<ChillNow>, AppError> {
    Ok(ChillNow::of(&page.day, usual_of(app, &page.day).await?, page.frame.clock.now))
}

/// What the batch's coil does on other days.
async fn usual_of(app: &App, day: &BrewDay) -> Result<Option<Estimate>, AppError> {
    let Some(coil) = day.batch.chiller() else { return Ok(None) };
    let history = app.store.coil_tells(coil.id).await?;
    // What running water passes says nothing of a bath.
    let others = history.iter().filter(|run| run.of_baths && run.batch != day.batch.id);
    Ok(chill_now::usual(others.map(|run| run.conductance_w_per_k)))
}
