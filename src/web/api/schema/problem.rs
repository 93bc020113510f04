//! How a refusal looks.

use utoipa::ToSchema;

/// Why a request was not answered with what it asked for [RFC 9457].
#[derive(ToSchema)]
#[expect(dead_code, reason = "described, and written by `web::error`")]
pub(in crate::web::api) struct Problem {
    r#type: String,
    title: String,
    status: u16,
    /// What is wrong and what to do, in a sentence.
    detail: String,
    /// The first faulty field.
    #[schema(nullable = false)]
    field: Option<String>,
    /// Everything that is wrong with the fields.
    #[schema(nullable = false, inline)]
    errors: Option<Vec<FieldError>>,
}

/// What is wrong with a field.
#[derive(ToSchema)]
#[expect(dead_code, reason = "described, and written by `web::error`")]
struct FieldError {
    /// Its path: `mass_kg`, or `hops.2.alpha_pct` in a list.
    field: String,
    /// In a sentence.
    why: String,
}
