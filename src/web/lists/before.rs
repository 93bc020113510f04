//! How the check lists were before each change, and the way back to that.

use axum::{Form, Router, extract::State, response::Response, routing::post};
use serde::Deserialize;

use crate::store::{LISTS_KEPT_FOR, ListsBefore};
use crate::web::{App, AppError, Frame, see_other, when::Moment};

pub(super) fn router() -> Router<App> {
    Router::new().route("/settings/lists/before", post(put_back))
}

/// How the lists were before a change.
pub(super) struct Before {
    pub(super) number: i64,
    pub(super) until: Moment,
    /// "3 lists, 24 lines"
    pub(super) about: String,
}

/// For how many days a change can be taken back at least.
pub(super) fn kept_days() -> i64 {
    LISTS_KEPT_FOR.whole_days()
}

/// Every change that can be taken back, the latest first.
pub(super) async fn all(app: &App, frame: &Frame) -> Result<Vec<Before>, AppError> {
    let before = app.store.check_lists_before().await?;
    Ok(before.iter().map(|before| Before::of(before, frame)).collect())
}

#[derive(Deserialize)]
struct PutBack {
    number: i64,
}

async fn put_back(State(app): State<App>, Form(wanted): Form<PutBack>) -> Result<Response, AppError> {
    let before = app.store.check_lists_before().await?.into_iter().find(|before| before.number == wanted.number);
    app.store.save_check_lists(&before.ok_or(AppError::NotFound)?.lists, app.now()).await?;
    Ok(see_other("/settings/lists?kept=before"))
}

impl Before {
    fn of(before: &ListsBefore, frame: &Frame) -> Self {
        let (lists, lines) = (before.lists.0.len(), before.lists.0.iter().map(|list| list.items.len()).sum());
        let counted = |many: usize, what: &str| if many == 1 { format!("1 {what}") } else { format!("{many} {what}s") };
        Self {
            number: before.number,
            until: frame.clock.day_and_time(before.until),
            about: format!("{}, {}", counted(lists, "list"), counted(lines, "line")),
        }
    }
}
