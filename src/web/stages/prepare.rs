//! Prepare: targets, equipment and its care, the sanitation list, the chill plan.

use askama::Template;

use super::frame::StageFrame;
use crate::brewday::choices::Choice;
use crate::web::{App, AppError, Frame, Page};

#[derive(Template)]
#[template(path = "stages/prepare.html")]
pub(super) struct PreparePage {
    frame: Frame,
    page: StageFrame,
}

pub(super) async fn page(_app: &App, page: StageFrame) -> Result<Page<PreparePage>, AppError> {
    Ok(Page(PreparePage { frame: page.frame.clone(), page }))
}
