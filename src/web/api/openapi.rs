//! `/api/v1/openapi.json`: what there is and how it is asked for, as OpenAPI 3.1.

use std::sync::Arc;

use axum::{
    Extension, Json,
    response::{IntoResponse, Response},
};
use serde_json::Value;
use utoipa::PartialSchema;
use utoipa::openapi::{
    ContentBuilder, HeaderBuilder, Info, ObjectBuilder, OpenApi, Ref, RefOr, ResponseBuilder, Type,
    path::{Operation, ParameterIn},
    security::{ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme},
};
use utoipa_axum::{router::OpenApiRouter, routes};

use super::{App, schema};

const ABOUT: &str = "The brew-day record of this house. SI throughout, with the unit in each field's name; times are \
    RFC 3339; what is refused is told as problem details (RFC 9457) that name the field. On the machine that keeps the \
    book nobody has to prove anything; from the network a paired device's cookie is needed, or a probe's token.";

/// The one thing a probe may ask for.
const PROBES_OWN: &str = "add_temperature";

/// The description, ready to be sent.
#[derive(Clone)]
struct Description(Arc<Value>);

pub(super) fn router() -> OpenApiRouter<App> {
    OpenApiRouter::default().routes(routes!(show))
}

/// This description.
#[utoipa::path(get, path = "/api/v1/openapi.json", tag = "Description", operation_id = "describe",
    responses((status = 200, body = Value)))]
async fn show(Extension(Description(description)): Extension<Description>) -> Response {
    Json(description.as_ref()).into_response()
}

/// Gives the routes their own description.
pub(super) fn layer(described: OpenApi) -> Extension<impl Clone + Send + Sync + 'static> {
    let description = serde_json::to_value(finished(described)).unwrap_or_default();
    Extension(Description(Arc::new(description)))
}

/// The description with what is the same for every route: who is asked, and
/// how a refusal looks.
fn finished(mut described: OpenApi) -> OpenApi {
    described.info = Info::new("Gylebook", env!("CARGO_PKG_VERSION"));
    described.info.description = Some(ABOUT.into());
    for item in described.paths.paths.values_mut() {
        for operation in [&mut item.get, &mut item.post, &mut item.put].into_iter().flatten() {
            add_headers(operation);
            add_refusals(operation);
            add_leave(operation);
        }
    }
    let components = described.components.get_or_insert_default();
    let mut add = |name: &str, schema| components.schemas.insert(name.to_owned(), schema);
    add("NewEntry", schema::NewEntry::schema());
    add("Replacement", schema::Replacement::schema());
    add("Problem", schema::Problem::schema());
    let cookie = ApiKeyValue::with_description("gylebook_device", "Set when a device is paired.");
    components.add_security_scheme("device", SecurityScheme::ApiKey(ApiKey::Cookie(cookie)));
    let bearer = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).description(Some("A probe's token.")).build();
    components.add_security_scheme("probe", SecurityScheme::Http(bearer));
    described
}

/// Whether the operation is asked with a parameter of this place and, where one is given, this name.
fn is_asked_with(operation: &Operation, place: &ParameterIn, name: Option<&str>) -> bool {
    operation.parameters.iter().flatten().any(|parameter| match parameter {
        RefOr::T(parameter) => parameter.parameter_in == *place && name.is_none_or(|name| parameter.name == name),
        RefOr::Ref(_) => false,
    })
}

/// Who may ask: whoever is at the machine, a device, and a probe for the one thing it is for.
fn add_leave(operation: &mut Operation) {
    let by = |name: &str| SecurityRequirement::new::<_, [&str; 0], &str>(name, []);
    let mut leave = vec![SecurityRequirement::default(), by("device")];
    if operation.operation_id.as_deref() == Some(PROBES_OWN) {
        leave.push(by("probe"));
    }
    operation.security = Some(leave);
}

fn add_headers(operation: &mut Operation) {
    let is_list = is_asked_with(operation, &ParameterIn::Query, Some("limit"));
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        response.description = if status == "201" { "It was added." } else { "What was asked for." }.into();
        let (name, what) = match status.as_str() {
            "200" if is_list => ("Link", "Where the next part is, `rel=\"next\"` [RFC 8288]; absent on the last part."),
            "201" => ("Location", "Where what was added is."),
            _ => continue,
        };
        let text = ObjectBuilder::new().schema_type(Type::String);
        let header = HeaderBuilder::new().schema(Some(text)).description(Some(what)).build();
        response.headers.insert(name.into(), header.into());
    }
}

fn add_refusals(operation: &mut Operation) {
    let body = operation.request_body.is_some();
    let is_probe = operation.operation_id.as_deref() == Some(PROBES_OWN);
    let (path, query) =
        [ParameterIn::Path, ParameterIn::Query].map(|place| is_asked_with(operation, &place, None)).into();
    let refusals = [
        (body, "400", "What was sent can't be read as JSON."),
        (true, "401", "Whoever asks was not let in."),
        (path, "404", "There is no record of this number."),
        (is_probe, "409", "No batch is in progress, or several are."),
        (body, "413", "More than 1 MB was sent."),
        (body, "415", "What was sent is not of type `application/json`."),
        (body || query, "422", "Fields are faulty; each is named. Nothing was kept."),
        (true, "default", "Anything else that keeps this from being done."),
    ];
    for (_, status, what) in refusals.into_iter().filter(|(applies, ..)| *applies) {
        let problem = ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).build();
        let response = ResponseBuilder::new().description(what).content("application/problem+json", problem);
        operation.responses.responses.insert(status.into(), RefOr::T(response.build()));
    }
}
