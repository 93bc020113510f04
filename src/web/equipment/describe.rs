//! `/equipment/new` and `/equipment/{id}/edit`: a piece described, or anew.
//!
//! What is asked depends on the kind, so without scripts choosing it is a first
//! step of its own: `/equipment/new?kind=coil`.

use askama::Template;
use axum::{
    Router,
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;

use super::kinds::{self, Need};
use crate::brewday::{
    Equipment,
    choices::{Choice, EquipmentKind},
};
use crate::web::{Again, App, AppError, Frame, Page, form::Form, guard::Sent, see_other};

pub(super) fn router() -> Router<App> {
    Router::new().route("/equipment/new", get(start).post(create)).route("/equipment/{id}/edit", get(edit).post(update))
}

#[derive(Template)]
#[template(path = "equipment/kind.html")]
struct KindPage {
    frame: Frame,
}

#[derive(Template)]
#[template(path = "equipment/describe.html")]
struct DescribePage {
    frame: Frame,
    form: Form,
    kind: EquipmentKind,
    /// The piece described anew; none for a new one.
    id: Option<i64>,
}

impl DescribePage {
    fn title(&self) -> String {
        let kind = self.kind.label().to_lowercase();
        if self.id.is_some() { format!("Describe this {kind} anew") } else { format!("A new {kind}") }
    }

    fn action(&self) -> String {
        self.id.map_or_else(|| "/equipment/new".into(), |id| format!("/equipment/{id}/edit"))
    }

    fn back(&self) -> String {
        self.id.map_or_else(|| "/equipment/new".into(), |id| format!("/equipment/{id}"))
    }

    /// What its kind is asked for, and whatever else it already holds.
    fn needs(&self) -> Vec<Need> {
        let held = kinds::beyond(self.kind).filter(|need| !self.form.value(need.name).is_empty());
        kinds::needs(self.kind).iter().chain(held).copied().collect()
    }
}

#[derive(Deserialize)]
struct Asked {
    kind: Option<String>,
}

async fn start(frame: Frame, Query(asked): Query<Asked>) -> Response {
    match asked.kind.as_deref().and_then(EquipmentKind::from_key) {
        None => Page(KindPage { frame }).into_response(),
        Some(kind) => {
            let form = Form::empty(&frame).with("kind", kind.key());
            Page(DescribePage { frame, form, kind, id: None }).into_response()
        }
    }
}

async fn create(State(app): State<App>, frame: Frame, Sent(mark): Sent, form: Form) -> Result<Response, AppError> {
    let Some(kind) = EquipmentKind::from_key(form.value("kind")) else { return Ok(see_other("/equipment/new")) };
    let equipment = match form.read(Equipment::from_body) {
        Ok(equipment) => equipment,
        Err(form) => return Ok(Again(DescribePage { frame, form, kind, id: None }).into_response()),
    };
    let id = app.store.once(mark).add_equipment(&equipment, frame.clock.now).await?;
    Ok(see_other(&format!("/equipment/{id}")))
}

async fn edit(State(app): State<App>, frame: Frame, Path(id): Path<i64>) -> Result<Response, AppError> {
    let equipment = app.store.equipment(id).await?.ok_or(AppError::NotFound)?.record.equipment;
    let form = Form::filled(&frame, &serde_json::to_value(&equipment).map_err(AppError::internal)?);
    Ok(Page(DescribePage { frame, form, kind: equipment.kind, id: Some(id) }).into_response())
}

async fn update(State(app): State<App>, frame: Frame, Path(id): Path<i64>, form: Form) -> Result<Response, AppError> {
    let kind = app.store.equipment(id).await?.ok_or(AppError::NotFound)?.record.equipment.kind;
    // Its kind stays: its figures and its care were written down for it.
    let equipment = match form.with("kind", kind.key()).read(Equipment::from_body) {
        Ok(equipment) => equipment,
        Err(form) => return Ok(Again(DescribePage { frame, form, kind, id: Some(id) }).into_response()),
    };
    app.store.change_equipment(id, &equipment, frame.clock.now).await?;
    Ok(see_other(&format!("/equipment/{id}")))
}
