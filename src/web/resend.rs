//! A form that could not be kept comes back as it was sent, with a way to send it again.
//!
//! Where the disk is full or has gone, the page that would hold the form can't be
//! counted on, and a browser may have forgotten what was typed by the time one is
//! back on it. So the refusal itself carries what was sent: to be read, and sent
//! again by one tap. The ids made with the form go along, so that an entry which
//! did reach the disk is not written twice.

use axum::{
    body::{Body, to_bytes},
    extract::Request,
    http::{StatusCode, header, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::{AppError, BODY_MOST_BYTES, form::Form, guard::form_token};

/// What a page carries for itself, not for the brewer.
const NOT_TYPED: [&str; 8] = ["id", "of", "form", "kind", "sent_at", "item", "planned", form_token::FIELD];

/// A form as it was sent.
#[derive(Clone, Debug)]
pub(crate) struct Unkept {
    /// Where it goes.
    pub(crate) action: String,
    /// All of its fields.
    pub(crate) fields: Vec<(String, String)>,
}

impl Unkept {
    /// A form as it was sent to this address, its token taken off.
    pub(super) fn of(asked: &Parts, fields: Vec<(String, String)>) -> Self {
        Self { action: asked.uri.path_and_query().map(ToString::to_string).unwrap_or_default(), fields }
    }

    /// What the brewer typed or chose, each with the field's name in words.
    pub(crate) fn typed(&self) -> impl Iterator<Item = (String, &str)> {
        let typed = |(name, text): &&(String, String)| !text.trim().is_empty() && !NOT_TYPED.contains(&name.as_str());
        self.fields.iter().filter(typed).map(|(name, text)| (Form::place(name), text.as_str()))
    }
}

/// Hands a form that met with a failure of ours to the layer that tells of it.
pub(crate) async fn keep(request: Request, next: Next) -> Response {
    if !is_form(&request) {
        return next.run(request).await;
    }
    let (parts, body) = request.into_parts();
    let Ok(bytes) = to_bytes(body, BODY_MOST_BYTES).await else {
        return AppError::Status(StatusCode::PAYLOAD_TOO_LARGE).into_response();
    };
    let mut unkept = Unkept::of(&parts, Vec::new());
    let mut response = next.run(Request::from_parts(parts, Body::from(bytes.clone()))).await;
    if response.status().is_server_error() {
        unkept.fields = form_urlencoded::parse(&bytes).into_owned().collect();
        response.extensions_mut().insert(unkept);
    }
    response
}

fn is_form(request: &Request) -> bool {
    let kind = request.headers().get(header::CONTENT_TYPE).map(|kind| kind.as_bytes());
    kind.is_some_and(|kind| kind.starts_with(b"application/x-www-form-urlencoded"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_is_told_apart_from_what_the_page_carries() {
        let pairs = [("id", "0190"), ("kind", "temperature"), ("temperature_c", "61,5"), ("note", " ")];
        let fields = pairs.map(|(name, text)| (name.to_owned(), text.to_owned())).to_vec();
        let unkept = Unkept { action: "/batches/1/chill".into(), fields };
        assert_eq!(unkept.typed().collect::<Vec<_>>(), [("Temperature".to_owned(), "61,5")]);
    }
}
