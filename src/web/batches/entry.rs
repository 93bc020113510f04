//! `/batches/{id}/entries/{entry}`: an entry as it stands, and putting it right.
//!
//! Nothing is overwritten: what is changed here becomes an amendment, and what
//! was written first stays readable.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::brewday::day::{LogLine, Standing};
use crate::brewday::{Body, BrewDay, Entry, Fault};
use crate::web::form::Form;
use crate::web::guard::Caller;
use crate::web::log::{self, Field, LogRow};
use crate::web::strip::BatchHead;
use crate::web::when::{Moment, utc_ms};
use crate::web::{Again, App, AppError, Frame, Page, see_other};

#[derive(Template)]
#[template(path = "batches/entry.html")]
pub(super) struct EntryPage {
    frame: Frame,
    head: BatchHead,
    row: LogRow,
    kind: &'static str,
    fields: Vec<Field>,
    form: Form,
    device: Option<String>,
    received: Moment,
}

pub(super) async fn show(
    State(app): State<App>,
    Path((batch, entry)): Path<(i64, Uuid)>,
    frame: Frame,
) -> Result<Response, AppError> {
    let day = app.store.day(batch).await?.ok_or(AppError::NotFound)?;
    let (line, standing) = found(&day, entry)?;
    let mut body = body_of(line, standing);
    if let Some(fields) = body.as_object_mut() {
        fields.remove("id");
    }
    let form = Form::filled(&frame, &body).with("id", Uuid::now_v7().to_string());
    Ok(Page(page(&day, frame, line, form)?).into_response())
}

pub(super) async fn amend(
    State(app): State<App>,
    Path((batch, entry)): Path<(i64, Uuid)>,
    frame: Frame,
    caller: Caller,
    mut form: Form,
) -> Result<Response, AppError> {
    let day = app.store.day(batch).await?.ok_or(AppError::NotFound)?;
    let (line, standing) = found(&day, entry)?;
    let stood_at = standing.map_or(line.logged.entry.at, |standing| standing.at);
    let kept = form.clone();
    let void = form.take("void").is_some();
    let why = form.take("why").filter(|why| !why.trim().is_empty());
    let now = frame.clock.now;
    let read = form.read(|body| amendment(body, entry, void, why.as_deref(), now));
    let amendment = match read {
        Ok(amendment) => at_its_own_second(amendment, stood_at),
        Err(form) => {
            let form = ["void", "why"].iter().fold(form, |form, name| form.with(name, kept.value(name)));
            return Ok(Again(page(&day, frame, line, form)?).into_response());
        }
    };
    let receipt =
        app.store.append(Some(batch), vec![amendment], caller.name(), now).await?.ok_or(AppError::NotFound)?;
    if let Some((_, fault)) = receipt.refused.into_iter().next() {
        let field = fault.field.trim_start_matches("replacement.").to_owned();
        let form = kept.with_faults(vec![Fault { field, ..fault }]);
        return Ok(Again(page(&day, frame, line, form)?).into_response());
    }
    Ok(see_other(&format!("/batches/{batch}?entry={entry}#entry-{entry}")))
}

fn page(day: &Arc<BrewDay>, frame: Frame, line: &LogLine, form: Form) -> Result<EntryPage, AppError> {
    let id = line.logged.entry.id;
    Ok(EntryPage {
        head: BatchHead::of(day, None),
        row: log::row(day, &frame, id).ok_or(AppError::NotFound)?,
        kind: line.logged.entry.body.kind(),
        fields: log::fields(line.logged.entry.body.kind()),
        device: line.logged.device.clone(),
        received: frame.clock.day_and_time(line.logged.received_at),
        form,
        frame,
    })
}

fn found(day: &BrewDay, id: Uuid) -> Result<(&LogLine, Option<&Standing>), AppError> {
    let line = day.lines.iter().find(|line| line.logged.entry.id == id).ok_or(AppError::NotFound)?;
    Ok((line, day.standing.iter().find(|standing| standing.id == id)))
}

/// The entry as it stands, as a body.
fn body_of(line: &LogLine, standing: Option<&Standing>) -> Value {
    let written = &line.logged.entry;
    let now = standing.map_or_else(
        || written.clone(),
        |standing| Entry {
            id: standing.id,
            at: standing.at,
            body: standing.body.clone(),
            note: standing.note.clone(),
            // What was typed told the entry as first written.
            typed: if standing.amended_by.is_some() { Default::default() } else { written.typed.clone() },
        },
    );
    now.to_body()
}

/// A form tells the time to the minute: one that was left as it stood keeps its seconds.
fn at_its_own_second(mut entry: Entry, stood_at: OffsetDateTime) -> Entry {
    if let Body::Amendment(amendment) = &mut entry.body
        && let Some(replacement) = amendment.replacement.as_mut()
        && replacement
            .at
            .is_some_and(|at| at.second() == 0 && (Duration::ZERO..Duration::MINUTE).contains(&(stood_at - at)))
    {
        replacement.at = Some(stood_at);
    }
    entry
}

/// The amendment a form asks for; faults of its fields are told by their own names.
fn amendment(body: &Value, of: Uuid, void: bool, why: Option<&str>, now: OffsetDateTime) -> Result<Entry, Vec<Fault>> {
    let mut replacement = body.clone();
    let id = replacement.as_object_mut().and_then(|fields| fields.remove("id")).unwrap_or_default();
    let mut asked = json!({
        "id": id, "at": utc_ms(now), "kind": "amendment", "of": of, "why": why,
    });
    if void {
        asked["void"] = json!(true);
    } else {
        asked["replacement"] = replacement;
    }
    Entry::from_body(&asked, now, Duration::ZERO).map_err(|faults| {
        let own = |fault: Fault| Fault { field: fault.field.trim_start_matches("replacement.").to_owned(), ..fault };
        faults.into_iter().map(own).collect()
    })
}
