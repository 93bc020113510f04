//! `/api/v1/recipes`.

use std::collections::BTreeMap;

use axum::{
    Json,
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Serialize;
use time::OffsetDateTime;
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{
    App, AppError,
    asked::{Id, Part, Sent},
    created, schema,
};
use crate::{
    brewday::{
        Recipe, Units,
        plan::{Basis, DayPlan, Expected, Habits, Water},
    },
    store,
    web::units,
};

const PATH: &str = "/api/v1/recipes";

/// What a recipe's answer holds beside the recipe: a PUT takes it back unread.
const ANSWERED: [&str; 6] = ["id", "revision", "created_at", "changed_at", "retired", "predicted"];

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(index, create)).routes(routes!(show, update))
}

/// A recipe as it stands, at its newest revision.
#[derive(Serialize, ToSchema)]
struct RecipeRecord {
    /// The same for all revisions.
    id: i64,
    #[serde(flatten)]
    recipe: Recipe,
    /// Counted from 1.
    revision: i64,
    /// When the first revision was written.
    #[serde(with = "time::serde::rfc3339")]
    created_at: OffsetDateTime,
    /// When this revision was written.
    #[serde(with = "time::serde::rfc3339")]
    changed_at: OffsetDateTime,
    /// Whether it was put away.
    retired: bool,
    predicted: Predicted,
}

/// What a recipe alone is predicted on. A recipe names no vessel, so nobody's
/// batches tell how it behaves; a batch's own plan knows its equipment.
const ALONE: &str = "A recipe names no equipment: what it doesn't say is common practice, at sea level. \
                     A batch of it is planned with what your own batches on its equipment have shown.";

/// What the recipe should give, before any of it is measured: on no equipment
/// of anybody's, so with common practice wherever equipment would tell better.
#[derive(Serialize, ToSchema)]
struct Predicted {
    original_sg: Option<f64>,
    original_plato: Option<f64>,
    bitterness_ibu: Option<f64>,
    colour_ebc: Option<f64>,
    cells_needed_billion: Option<f64>,
    /// After the boil, at 20 °C.
    post_boil_l: Option<f64>,
    water: Option<Water>,
    /// What the figures take for granted, in sentences.
    assumptions: Vec<String>,
    /// For each figure that can't be told, the reason.
    missing: BTreeMap<&'static str, String>,
}

/// The recipes in use, in the order they were added.
#[utoipa::path(get, path = PATH, tag = "Recipes", operation_id = "list_recipes",
    params(schema::Paging, schema::Retired), responses((status = 200, body = Vec<RecipeRecord>)))]
async fn index(State(app): State<App>, part: Part) -> Result<Response, AppError> {
    let mut all = app.store.recipes("", part.retired).await?;
    all.sort_by_key(|record| record.id);
    let records = part.of(all, |record| record.id).into_iter().map(RecipeRecord::of).collect();
    Ok(part.answer(PATH, records, |record| record.id))
}

/// Adds a recipe.
#[utoipa::path(post, path = PATH, tag = "Recipes", operation_id = "add_recipe",
    request_body = schema::NewRecipe, responses((status = 201, body = RecipeRecord)))]
async fn create(State(app): State<App>, Sent(body): Sent) -> Result<Response, AppError> {
    let recipe = Recipe::from_body(&body).map_err(AppError::Faults)?;
    let id = app.store.add_recipe(&recipe, app.now()).await?;
    let record = app.store.recipe(id).await?.ok_or(AppError::NotFound)?;
    Ok(created(format!("{PATH}/{id}"), RecipeRecord::of(record)))
}

/// One recipe.
#[utoipa::path(get, path = "/api/v1/recipes/{id}", tag = "Recipes", operation_id = "get_recipe",
    params(schema::ById), responses((status = 200, body = RecipeRecord)))]
async fn show(State(app): State<App>, Id(id): Id) -> Result<Response, AppError> {
    let record = app.store.recipe(id).await?.ok_or(AppError::NotFound)?;
    Ok(Json(RecipeRecord::of(record)).into_response())
}

/// Writes a recipe's next revision. Batches keep the one they were started with.
#[utoipa::path(put, path = "/api/v1/recipes/{id}", tag = "Recipes", operation_id = "revise_recipe",
    params(schema::ById), request_body = schema::NewRecipe, responses((status = 200, body = RecipeRecord)))]
async fn update(State(app): State<App>, Id(id): Id, Sent(body): Sent) -> Result<Response, AppError> {
    let recipe = Recipe::from_body(&super::without(body, &ANSWERED)).map_err(AppError::Faults)?;
    app.store.revise_recipe(id, &recipe, app.now()).await?.ok_or(AppError::NotFound)?;
    show(State(app), Id(id)).await
}

impl RecipeRecord {
    fn of(record: store::RecipeRecord) -> Self {
        let store::RecipeRecord { id, revision, recipe, created_at, changed_at, retired } = record;
        Self { id, predicted: Predicted::of(&recipe), recipe, revision, created_at, changed_at, retired }
    }
}

impl Predicted {
    fn of(recipe: &Recipe) -> Self {
        let plan = DayPlan::of(recipe, &[], None, Habits::default());
        let mut missing = BTreeMap::new();
        let mut keep = |name, figure: Result<f64, String>| {
            let figure = figure.and_then(|figure| {
                if figure.is_finite() { Ok(figure) } else { Err("The recipe's amounts are out of proportion.".into()) }
            });
            figure.map_err(|why| missing.insert(name, why)).ok()
        };
        let Expected { original_sg, original_plato, bitterness_ibu, colour_ebc, cells_needed_billion, .. } =
            plan.expected;
        Self {
            original_sg: keep("original_sg", Ok(original_sg)),
            original_plato: keep("original_plato", Ok(original_plato)),
            bitterness_ibu: keep("bitterness_ibu", bitterness_ibu),
            colour_ebc: keep("colour_ebc", colour_ebc),
            cells_needed_billion: keep("cells_needed_billion", cells_needed_billion),
            post_boil_l: keep("post_boil_l", Ok(plan.expected.post_boil_l)),
            water: plan.water.map_err(|why| missing.insert("water", why.to_string())).ok(),
            assumptions: std::iter::once(ALONE.to_owned()).chain(plan.assumed.iter().map(told)).collect(),
            missing,
        }
    }
}

fn told(assumed: &crate::brewday::plan::Assumed) -> String {
    let value = units::show(assumed.value, assumed.dimension, &Units::default());
    let basis = match assumed.basis {
        Basis::Recipe => "as the recipe says".to_owned(),
        Basis::Equipment => "as the equipment says".to_owned(),
        Basis::Batches(batches) => format!("the median of {batches} batches"),
        Basis::CommonPractice => "common practice".to_owned(),
    };
    format!("{}: {value}, {basis}.", assumed.what)
}
