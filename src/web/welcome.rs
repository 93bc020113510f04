//! `/welcome`: a newcomer's first choices.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};

use super::{Again, App, AppError, Frame, Page, form::Form, see_other, settings, when};
use crate::brewday::Settings;

pub(crate) fn router() -> Router<App> {
    Router::new().route("/welcome", get(show).post(update))
}

#[derive(Template)]
#[template(path = "welcome.html")]
struct WelcomePage {
    frame: Frame,
    form: Form,
}

impl WelcomePage {
    fn zones(&self) -> Vec<String> {
        when::zone_names()
    }
}

async fn show(frame: Frame) -> Response {
    let form = settings::filled(&frame);
    Page(WelcomePage { frame, form }).into_response()
}

async fn update(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let settings = match form.read(|body| settings::read(body, &frame.settings)) {
        Ok(settings) => Settings { welcomed: true, ..settings },
        Err(form) => return Ok(Again(WelcomePage { frame, form }).into_response()),
    };
    app.store.save_settings(&settings).await?;
    Ok(see_other("/"))
}
