//! The chill plan of a batch: what if, and the one that is kept.
//!
//! The form is asked with GET, so every "what if" is a link of its own; only
//! keeping a plan is a POST. The same request is planned for each aim, side by
//! side.

use std::sync::Arc;

use askama::Template;
use axum::{
    Router,
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
    routing::get,
};

use super::form::Form;
use super::strip::BatchHead;
use super::{Again, App, AppError, Frame, Page, see_other};
use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan, WhatIf};
use crate::brewday::choices::{Aim, Choice, Stage};
use crate::brewday::{BrewDay, Summary};

mod batch;
mod defaults;
mod table;
mod told;
mod went;

pub(super) use batch::BatchPlan;
use table::what_if_rows;
pub(super) use table::{PlanRow, PlanTable};
use told::{AimTold, KeptTold};
pub(super) use went::WentTold;

/// Blank baths after the ones that are filled in.
const SPARE_BATHS: usize = 1;

pub(crate) fn router() -> Router<App> {
    Router::new().route("/batches/{id}/chill-plan", get(show).post(keep))
}

#[derive(Template)]
#[template(path = "chill_plan.html")]
struct ChillPlanPage {
    frame: Frame,
    head: BatchHead,
    form: Form,
    /// A plan for each aim; none while the form needs another look.
    plans: Vec<AimTold>,
    /// What one change would do to the plan for the least time.
    what_if: Vec<PlanRow>,
    /// The day beside the plan that is kept.
    went: Option<WentTold>,
    /// What all the plans rest on.
    assumptions: Vec<String>,
    /// What the coil passes where the form doesn't say.
    coil: String,
    kept: Option<KeptTold>,
    just_kept: bool,
    /// Whether it is known how warm the tap runs.
    has_tap: bool,
}

async fn show(
    State(app): State<App>,
    Path(batch): Path<i64>,
    Query(mut asked): Query<Vec<(String, String)>>,
    frame: Frame,
) -> Result<Response, AppError> {
    let (day, summary) = loaded(&app, batch).await?;
    let just_kept = asked.iter().any(|(name, _)| name == "kept");
    asked.retain(|(name, _)| name != "kept");
    let history = history(&app, &day).await?;
    if asked.is_empty() {
        let habits = app.store.habits_of(&day.batch).await?;
        let form = defaults::form(&frame, &day, &summary, habits);
        let kept = day.batch.chill_plan.as_ref().map(KeptPlan::coil);
        let page = match planned(form.clone(), kept, &history).await {
            // Something has no default: the form stands there to be filled in.
            Err(_) => ChillPlanPage::new(frame, &day, &summary, form, &history),
            Ok((form, plans)) => ChillPlanPage::new(frame, &day, &summary, form, &history).with(&plans),
        };
        return Ok(Page(ChillPlanPage { just_kept, ..page }).into_response());
    }
    let form = Form::typed(&frame, asked).with("coil", coil_id(&day));
    Ok(match planned(form, None, &history).await {
        Ok((form, plans)) => {
            Page(ChillPlanPage::new(frame, &day, &summary, form, &history).with(&plans)).into_response()
        }
        Err(form) => Again(ChillPlanPage::new(frame, &day, &summary, form, &history)).into_response(),
    })
}

async fn keep(State(app): State<App>, Path(batch): Path<i64>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let (day, summary) = loaded(&app, batch).await?;
    let history = history(&app, &day).await?;
    let request = match form.with("coil", coil_id(&day)).read(ChillPlanRequest::from_body) {
        Ok(request) => request,
        Err(form) => {
            return Ok(Again(ChillPlanPage::new(frame, &day, &summary, form, &history)).into_response());
        }
    };
    let coil = request.coil_passes(history);
    let plan = aside(move || KeptPlan::of(request, &coil)).await?;
    app.store.keep_chill_plan(batch, &plan, frame.clock.now).await?;
    Ok(see_other(&format!("/batches/{batch}/chill-plan?kept")))
}

impl ChillPlanPage {
    fn new(frame: Frame, day: &BrewDay, summary: &Summary, form: Form, history: &[f64]) -> Self {
        let coil = CoilPasses::learned(history.iter().copied());
        let coil =
            coil.map_or_else(|| "a usual figure for so much wort (common practice)".to_owned(), |coil| coil.in_short());
        Self {
            head: BatchHead::of(day, Some(Stage::Prepare)),
            coil: format!("Left empty: {coil}."),
            kept: KeptTold::of(&frame, day),
            plans: Vec::new(),
            what_if: Vec::new(),
            went: WentTold::of(&frame, day, summary),
            assumptions: Vec::new(),
            just_kept: false,
            has_tap: day.batch.tap_c.is_some(),
            form,
            frame,
        }
    }

    fn with(mut self, plans: &Plans) -> Self {
        self.assumptions = told::assumptions(&self.frame, &plans.aims);
        self.plans = plans.aims.iter().map(|plan| AimTold::of(&self.frame, plan)).collect();
        let quickest = plans.aims.first().filter(|kept| kept.plan.reaches_target).map(|kept| kept.plan.minutes);
        self.what_if = what_if_rows(&self.frame, &plans.what_if, quickest);
        self
    }

    /// The rows of the baths, one blank one after them.
    fn baths(&self) -> Vec<String> {
        self.form.rows("baths", SPARE_BATHS)
    }

    /// What a form that keeps a plan carries along.
    fn carried(&self) -> Vec<(String, String)> {
        let fields = [
            "wort_l",
            "wort_plato",
            "wort_c",
            "target_c",
            "conductance_w_per_k",
            "pass_min",
            "ice_available_kg",
            "change_min",
        ];
        let baths = self.form.rows("baths", 0);
        let of_bath = |bath: &String| ["water_l", "water_c", "ice_kg"].map(|field| format!("{bath}.{field}"));
        let names = fields.iter().map(|name| (*name).to_owned()).chain(baths.iter().flat_map(of_bath));
        names
            .map(|name| (name.clone(), self.form.value(&name).to_owned()))
            .filter(|(_, text)| !text.is_empty())
            .collect()
    }
}

async fn loaded(app: &App, batch: i64) -> Result<(Arc<BrewDay>, Arc<Summary>), AppError> {
    let day = app.store.day(batch).await?.ok_or(AppError::NotFound)?;
    let summary = app.store.summary_of(&day).await?.ok_or(AppError::NotFound)?;
    Ok((day, summary))
}

/// What the coil's other batches say of it in baths, W/K, newest first.
async fn history(app: &App, day: &BrewDay) -> Result<Vec<f64>, AppError> {
    let Some(coil) = day.batch.chiller() else { return Ok(Vec::new()) };
    let runs = app.store.coil_tells(coil.id).await?;
    let others = runs.iter().filter(|run| run.batch != day.batch.id && run.of_baths);
    Ok(others.map(|run| run.conductance_w_per_k).collect())
}

fn coil_id(day: &BrewDay) -> String {
    // Any number will do where there is no coil: the usual figure stands in for it.
    day.batch.chiller().map_or_else(|| "0".to_owned(), |coil| coil.id.to_string())
}

/// A request planned.
#[derive(Default)]
struct Plans {
    /// For each aim.
    aims: Vec<KeptPlan>,
    /// With one change each, for the least time.
    what_if: Vec<WhatIf>,
}

/// The request planned for each aim, with the coil as a kept plan took it where
/// this is that plan, or the form with its faults.
async fn planned(form: Form, kept_coil: Option<CoilPasses>, history: &[f64]) -> Result<(Form, Plans), Form> {
    let kept = form.clone();
    let request = form.read(ChillPlanRequest::from_body)?;
    let coil = kept_coil.unwrap_or_else(|| request.coil_passes(history.iter().copied()));
    let all = aside(move || {
        let with = |aim: &Aim| ChillPlanRequest { aim: *aim, ..request.clone() };
        Plans {
            aims: Aim::ALL.iter().map(|aim| KeptPlan::of(with(aim), &coil)).collect(),
            what_if: WhatIf::all(&with(&Aim::Time), &coil),
        }
    });
    Ok((kept, all.await.unwrap_or_default()))
}

/// Works something out that takes a while, where it holds up no other request.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, AppError> {
    tokio::task::spawn_blocking(work).await.map_err(AppError::internal)
}
