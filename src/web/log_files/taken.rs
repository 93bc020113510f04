//! Taking a file in, how far it is, and taking it out again.

use std::time::Duration;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use tokio::time::timeout;
use uuid::Uuid;

use super::{address, back_to, found, preview};
use crate::brewday::BrewDay;
use crate::store::{LogFile, StoreError};
use crate::web::form::Form;
use crate::web::strip::BatchHead;
use crate::web::{App, AppError, Frame};

/// A file that is in by then is told of at once; a larger one is followed on its page.
const AT_ONCE: Duration = Duration::from_secs(2);

#[derive(Template)]
#[template(path = "log_files/taken.html")]
pub(super) struct TakenPage {
    frame: Frame,
    head: BatchHead,
    file: LogFile,
    state: Stands,
}

/// How far a file is.
enum Stands {
    /// It is coming in, or going out.
    UnderWay { out: bool },
    /// The server was stopped before all was in.
    Stopped,
    /// All of it is in.
    In,
    /// All of it was taken out.
    Out,
}

impl TakenPage {
    fn action(&self) -> String {
        address(self.file.batch, self.file.id)
    }

    fn readings(&self) -> String {
        readings(self.file.total)
    }

    fn is_under_way(&self) -> bool {
        matches!(self.state, Stands::UnderWay { .. })
    }
}

pub(super) async fn create(
    State(app): State<App>,
    Path((id, file)): Path<(i64, Uuid)>,
    frame: Frame,
    form: Form,
) -> Result<Response, AppError> {
    let file = found(&app, id, file).await?;
    // Sent twice, or once too often: what was to be done is done.
    if file.finished_at.is_some() || app.store.is_under_way(file.id) {
        return Ok(back_to(id, file.id));
    }
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let (_, looked) = preview::look(&app, &file, day, frame.clone(), form).await?;
    let missing = || AppError::Conflict("It isn't said which column is what. Go back and choose.".into());
    let (mapping, found) = (looked.mapping.ok_or_else(missing)?, looked.found);
    let (store, now, batch_file) = (app.store.clone(), frame.clock.now, file.clone());
    see_to(async move { store.take_log_file(&batch_file, &mapping, &found.readings, now).await }).await?;
    Ok(back_to(id, file.id))
}

pub(super) async fn undo(
    State(app): State<App>,
    Path((id, file)): Path<(i64, Uuid)>,
    frame: Frame,
) -> Result<Response, AppError> {
    let file = found(&app, id, file).await?;
    if file.undone_at.is_none() {
        let (store, now, file) = (app.store.clone(), frame.clock.now, file.clone());
        see_to(async move { store.undo_log_file(&file, now).await }).await?;
    }
    Ok(back_to(id, file.id))
}

/// Sees something through, and waits for it unless it takes long.
async fn see_to(work: impl Future<Output = Result<(), StoreError>> + Send + 'static) -> Result<(), AppError> {
    let work = tokio::spawn(async move {
        let done = work.await;
        if let Err(why) = &done {
            tracing::warn!("a log file was cut off: {why}");
        }
        done
    });
    match timeout(AT_ONCE, work).await {
        Ok(done) => Ok(done.map_err(AppError::internal)??),
        Err(_) => Ok(()),
    }
}

pub(super) fn page(app: &App, day: &BrewDay, file: LogFile, frame: Frame) -> TakenPage {
    let state = match &file {
        _ if app.store.is_under_way(file.id) => Stands::UnderWay { out: file.finished_at.is_some() },
        LogFile { undone_at: Some(_), .. } => Stands::Out,
        LogFile { finished_at: Some(_), .. } => Stands::In,
        _ => Stands::Stopped,
    };
    TakenPage { head: BatchHead::of(day, None), file, state, frame }
}

/// `1 reading`, `12,000 readings`.
pub(super) fn readings(many: usize) -> String {
    if many == 1 { "1 reading".to_owned() } else { format!("{} readings", grouped(many)) }
}

/// A count with its thousands set apart.
fn grouped(many: usize) -> String {
    let digits = many.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::readings;

    #[test]
    fn readings_are_counted_in_words() {
        let told = [0, 1, 12, 999, 1000, 100_000].map(readings);
        assert_eq!(
            told,
            ["0 readings", "1 reading", "12 readings", "999 readings", "1,000 readings", "100,000 readings"]
        );
    }
}
