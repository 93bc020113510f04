//! `/equipment/{id}/care`: what was done for a piece outside a brew day, and its
//! corrections.
//!
//! These are entries of the house's own log. Their ids are made in the form, so
//! sending one twice changes nothing; a correction is an entry of its own. Care
//! written down in a batch is corrected there.

use askama::Template;
use axum::{
    Router,
    extract::{Path, State},
    response::{IntoResponse, Response},
    routing::{get, post},
};
use serde_json::{Map, Value, json};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::piece::PiecePage;
use crate::brewday::{
    Body, Entry, Fault,
    choices::{CareAct, Choice},
};
use crate::store::CareWritten;
use crate::web::{
    Again, App, AppError, Frame, Page,
    form::{Form, options},
    guard::Caller,
    see_other, when,
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/equipment/{id}/care", post(create))
        .route("/equipment/{id}/care/{entry}", get(edit).post(amend))
        .route("/equipment/{id}/care/{entry}/strike", post(strike))
}

#[derive(Template)]
#[template(path = "equipment/amend.html")]
struct AmendPage {
    frame: Frame,
    form: Form,
    id: i64,
    entry: Uuid,
    name: String,
}

/// The acts to choose from: key and label.
#[must_use]
pub fn acts() -> Vec<(&'static str, &'static str)> {
    options::<CareAct>()
}

/// An empty care form, with the id its entry will have.
pub(super) fn blank(frame: &Frame) -> Form {
    Form::empty(frame).with("id", Uuid::now_v7().to_string())
}

async fn create(
    State(app): State<App>,
    frame: Frame,
    caller: Caller,
    Path(id): Path<i64>,
    form: Form,
) -> Result<Response, AppError> {
    let now = frame.clock.now;
    let entry = match form.read(|body| Entry::from_body(&care(id, body, Some(now)), now, Duration::ZERO)) {
        Ok(entry) => entry,
        Err(form) => return Ok(Again(PiecePage::read(&app, frame, id, form, false).await?).into_response()),
    };
    let kept = entry.id;
    keep(&app, &caller, entry, now).await?;
    Ok(see_other(&format!("/equipment/{id}?kept={kept}")))
}

async fn edit(
    State(app): State<App>,
    frame: Frame,
    Path((id, entry)): Path<(i64, Uuid)>,
) -> Result<Response, AppError> {
    let (name, written) = of_the_house(&app, id, entry).await?;
    let form = Form::filled(&frame, &as_it_stands(&written)).with("id", Uuid::now_v7().to_string());
    Ok(Page(AmendPage { frame, form, id, entry, name }).into_response())
}

async fn amend(
    State(app): State<App>,
    frame: Frame,
    caller: Caller,
    Path((id, entry)): Path<(i64, Uuid)>,
    form: Form,
) -> Result<Response, AppError> {
    let (name, _) = of_the_house(&app, id, entry).await?;
    let now = frame.clock.now;
    let amendment = match form.read(|body| amendment(id, entry, body, now)) {
        Ok(amendment) => amendment,
        Err(form) => return Ok(Again(AmendPage { frame, form, id, entry, name }).into_response()),
    };
    keep(&app, &caller, amendment, now).await?;
    Ok(see_other(&format!("/equipment/{id}?kept={entry}")))
}

async fn strike(
    State(app): State<App>,
    frame: Frame,
    caller: Caller,
    Path((id, entry)): Path<(i64, Uuid)>,
    form: Form,
) -> Result<Response, AppError> {
    of_the_house(&app, id, entry).await?;
    let now = frame.clock.now;
    let body = json!({
        "id": form.value("id"), "at": when::utc(now), "kind": "amendment", "of": entry, "void": true,
        "why": form.value("why"),
    });
    let amendment = Entry::from_body(&body, now, Duration::ZERO).map_err(AppError::Faults)?;
    keep(&app, &caller, amendment, now).await?;
    Ok(see_other(&format!("/equipment/{id}?kept={entry}")))
}

/// Keeps an entry in the house's own log; one that is held already is kept.
async fn keep(app: &App, caller: &Caller, entry: Entry, now: OffsetDateTime) -> Result<(), AppError> {
    let receipt = app.store.append(None, vec![entry], caller.name(), now).await?.unwrap_or_default();
    match receipt.refused.into_iter().next() {
        Some((_, fault)) => Err(AppError::Conflict(fault.why.to_string())),
        None => Ok(()),
    }
}

/// The name of a piece, and an entry of its care that is kept outside any batch.
async fn of_the_house(app: &App, id: i64, entry: Uuid) -> Result<(String, CareWritten), AppError> {
    let piece = app.store.equipment(id).await?.ok_or(AppError::NotFound)?;
    let written = app.store.care_entry(id, entry).await?.ok_or(AppError::NotFound)?;
    if let Some(batch) = written.batch {
        let why = format!("This was written down on a brew day and is corrected there, in batch {batch}.");
        return Err(AppError::Conflict(why));
    }
    Ok((piece.record.equipment.name, written))
}

/// A care form's body as the body of an entry; a time left empty is `now`.
fn care(id: i64, body: &Value, now: Option<OffsetDateTime>) -> Value {
    let mut body = body.clone();
    body["kind"] = "care".into();
    body["equipment"] = id.into();
    if let (None, Some(now)) = (body.get("at"), now) {
        body["at"] = when::utc(now).into();
    }
    body
}

/// Reads the amendment that puts a form's care in the place of an entry. Its
/// faults are told under the form's own names.
fn amendment(id: i64, of: Uuid, body: &Value, now: OffsetDateTime) -> Result<Entry, Vec<Fault>> {
    const WITHIN: &str = "replacement.";
    let mut replacement = care(id, body, None);
    let mut take = |name: &str| replacement.as_object_mut().and_then(|fields| fields.remove(name));
    let typed = take("typed").and_then(|typed| typed.as_object().cloned()).unwrap_or_default();
    let typed: Map<_, _> = typed.into_iter().map(|(name, text)| (format!("{WITHIN}{name}"), text)).collect();
    let body = json!({
        "id": take("id"), "at": when::utc(now), "kind": "amendment", "of": of, "why": take("why"),
        "replacement": replacement, "typed": typed,
    });
    Entry::from_body(&body, now, Duration::ZERO).map_err(|faults| {
        let own = |fault: Fault| match fault.field.strip_prefix(WITHIN) {
            Some(field) => Fault { field: field.to_owned(), ..fault },
            None => fault,
        };
        // What is wrong within also leaves the amendment without its replacement.
        faults.into_iter().filter(|fault| fault.field != "replacement").map(own).collect()
    })
}

/// What a form is filled with: the entry as it stands, or as it was written where it was struck out.
fn as_it_stands(care: &CareWritten) -> Value {
    let written = &care.written.entry;
    let (at, body, note) = match &care.stands {
        Some(stands) => (stands.at, &stands.body, &stands.note),
        None => (written.at, &written.body, &written.note),
    };
    let Body::Care(done) = body else { return json!({}) };
    json!({ "act": done.act.key(), "mass_kg": done.mass_kg, "where": done.place, "at": when::utc(at), "note": note })
}
