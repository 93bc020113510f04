//! `/batches/new`: a recipe, a volume, the equipment, and today's tap.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use crate::brewday::batch::NewBatch;
use crate::brewday::choices::Choice;
use crate::store::StoredEquipment;
use crate::web::care::CareTold;
use crate::web::form::Form;
use crate::web::guard::Sent;
use crate::web::{Again, App, AppError, Frame, Page, see_other};

#[derive(Template)]
#[template(path = "batches/new.html")]
pub(super) struct NewBatchPage {
    frame: Frame,
    form: Form,
    recipes: Vec<(String, String)>,
    equipment: Vec<StoredEquipment>,
}

impl NewBatchPage {
    async fn load(app: &App, frame: Frame, form: Form) -> Result<Self, AppError> {
        let recipes = app.store.recipes("", false).await?;
        let recipes = recipes.into_iter().map(|record| (record.id.to_string(), record.recipe.name));
        Ok(Self { frame, form, recipes: recipes.collect(), equipment: app.store.equipment_list(None, false).await? })
    }

    /// The field a piece of equipment is ticked in: each has a place of its own.
    fn tick(&self, index: &usize) -> String {
        format!("equipment.{index}")
    }

    /// What a piece is, and how clean where that is kept: "coil, stored clean and dry".
    fn about(&self, one: &StoredEquipment) -> String {
        let kind = one.record.equipment.kind;
        let care = CareTold::new(&one.record, &self.frame.clock);
        if kind.is_cared_for() { format!("{}, {}", kind.label(), care.words) } else { kind.label().to_owned() }
    }

    /// Whether a piece is ticked; on a new form all of them are.
    fn is_ticked(&self, id: &i64) -> bool {
        let wanted = id.to_string();
        let ticked = |index: usize| self.form.value(&format!("equipment.{index}")) == wanted;
        !self.form.is_faulty() || (0..self.equipment.len()).any(ticked)
    }
}

#[derive(Deserialize)]
pub(super) struct Asked {
    recipe: Option<i64>,
}

pub(super) async fn show(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    frame: Frame,
) -> Result<Response, AppError> {
    let mut form = Form::empty(&frame);
    if let Some(recipe) = asked.recipe {
        form = form.with("recipe", recipe.to_string());
    }
    if let Some(altitude_m) = frame.settings.altitude_m {
        form = form.with("altitude_m", altitude_m.to_string());
    }
    Ok(Page(NewBatchPage::load(&app, frame, form).await?).into_response())
}

pub(super) async fn create(
    State(app): State<App>,
    frame: Frame,
    Sent(mark): Sent,
    form: Form,
) -> Result<Response, AppError> {
    let kept = form.clone();
    let new = match form.read(NewBatch::from_body) {
        Ok(new) => new,
        Err(form) => return Ok(Again(NewBatchPage::load(&app, frame, form).await?).into_response()),
    };
    match app.store.once(mark).start_batch(&new, frame.clock.now).await? {
        Ok(id) => Ok(see_other(&format!("/batches/{id}/prepare"))),
        Err(faults) => {
            let page = NewBatchPage::load(&app, frame, kept.with_faults(faults)).await?;
            Ok(Again(page).into_response())
        }
    }
}
