//! Chill: is this reading true, when am I there, what now, is it enough ice.

use askama::Template;

use super::frame::StageFrame;
use crate::brewday::choices::Choice;
use crate::web::{App, AppError, Frame, Page};

#[derive(Template)]
#[template(path = "stages/chill.html")]
pub(super) struct ChillPage {
    frame: Frame,
    page: StageFrame,
}

pub(super) async fn page(_app: &App, page: StageFrame) -> Result<Page<ChillPage>, AppError> {
    Ok(Page(ChillPage { frame: page.frame.clone(), page }))
}
