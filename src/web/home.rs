//! `/`: the batches. A newcomer is taken to the first choices instead.

use askama::Template;
use axum::{
    Router,
    response::{IntoResponse, Response},
    routing::get,
};

use super::{App, Frame, Page, see_other};

pub(crate) fn router() -> Router<App> {
    Router::new().route("/", get(index))
}

#[derive(Template)]
#[template(path = "home.html")]
struct HomePage {
    frame: Frame,
}

async fn index(frame: Frame) -> Response {
    if !frame.settings.welcomed {
        return see_other("/welcome");
    }
    Page(HomePage { frame }).into_response()
}
