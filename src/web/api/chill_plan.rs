//! `/api/v1/chill-plan`.

use axum::{
    Json,
    extract::State,
    response::{IntoResponse, Response},
};
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{App, AppError, asked::Sent, schema};
use crate::brewday::{
    Fault,
    chill_plan::{ChillPlanAnswer, ChillPlanRequest},
    choices::EquipmentKind,
};

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(create))
}

/// Plans a chill. Nothing is kept.
///
/// Give `conductance_w_per_k`, or a `coil` whose own batches tell it: the median of the last five, with its
/// spread. Beside the plan stand the other aims, and what one change to the baths would do.
#[utoipa::path(post, path = "/api/v1/chill-plan", tag = "Chill plan", operation_id = "plan_chill",
    request_body = schema::NewChillPlan, responses((status = 200, body = ChillPlanAnswer)))]
async fn create(State(app): State<App>, Sent(body): Sent) -> Result<Response, AppError> {
    let request = ChillPlanRequest::from_body(&body).map_err(AppError::Faults)?;
    let told = match (request.conductance_w_per_k, request.coil) {
        (None, Some(coil)) => of_coil(&app, coil).await?,
        _ => Vec::new(),
    };
    // A plan for many baths takes a while, and other requests should not wait for it.
    let answer = tokio::task::spawn_blocking(move || {
        let coil = request.coil_passes(told);
        ChillPlanAnswer::of(&request, coil)
    });
    Ok(Json(answer.await.map_err(AppError::internal)?).into_response())
}

/// What a coil's batches say of it, W/K, newest first.
async fn of_coil(app: &App, coil: i64) -> Result<Vec<f64>, AppError> {
    let refused = |why: String| AppError::Faults(vec![Fault::new("coil", why)]);
    let piece = app.store.equipment(coil).await?;
    let piece = piece.ok_or_else(|| refused(format!("There is no equipment {coil} in the book.")))?;
    if !matches!(piece.record.equipment.kind, EquipmentKind::Coil | EquipmentKind::PlateChiller) {
        return Err(refused(format!("Equipment {coil} is neither a coil nor a plate chiller.")));
    }
    let history = app.store.coil_tells(coil).await?;
    Ok(history.iter().filter(|run| run.of_baths).map(|run| run.conductance_w_per_k).collect())
}
