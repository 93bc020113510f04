//! `/welcome`: a newcomer's first choices, one step a page: units, equipment, a
//! recipe, a batch. Each can be passed over.

mod equipment;
mod first;

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::{get, post},
};

use super::{Again, App, AppError, Frame, Page, form::Form, see_other, settings, when};
use crate::brewday::Settings;

/// A step on the way in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The units, and the name over the door.
    Units,
    /// A set of equipment.
    Equipment,
    /// The first recipe.
    Recipe,
    /// The first batch.
    Batch,
}

/// A step in the row of them that stands on each page.
#[derive(Debug)]
pub struct StepLink {
    /// Its page.
    pub href: &'static str,
    /// Its word.
    pub label: &'static str,
    /// Whether this is the page being looked at.
    pub here: bool,
}

/// Every step, in order.
#[must_use]
pub fn steps(here: &Step) -> [StepLink; 4] {
    [
        (Step::Units, "/welcome", "Units"),
        (Step::Equipment, "/welcome/equipment", "Equipment"),
        (Step::Recipe, "/welcome/recipe", "Recipe"),
        (Step::Batch, "/welcome/batch", "Batch"),
    ]
    .map(|(step, href, label)| StepLink { href, label, here: step == *here })
}

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/welcome", get(show).post(update))
        .route("/welcome/skip", post(skip))
        .merge(equipment::router())
        .merge(first::router())
}

#[derive(Template)]
#[template(path = "welcome/units.html")]
struct UnitsPage {
    frame: Frame,
    form: Form,
}

impl UnitsPage {
    fn zones(&self) -> Vec<String> {
        when::zone_names()
    }
}

async fn show(frame: Frame) -> Response {
    let form = settings::filled(&frame);
    Page(UnitsPage { frame, form }).into_response()
}

async fn update(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let settings = match form.read(|body| settings::read(body, &frame.settings)) {
        Ok(settings) => Settings { welcomed: true, ..settings },
        Err(form) => return Ok(Again(UnitsPage { frame, form }).into_response()),
    };
    app.store.save_settings(&settings).await?;
    Ok(see_other("/welcome/equipment"))
}

/// Litres, kilograms and degrees Celsius will do.
async fn skip(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    app.store.save_settings(&Settings { welcomed: true, ..frame.settings }).await?;
    Ok(see_other("/welcome/equipment"))
}
