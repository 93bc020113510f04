//! A form whose token counts no longer, with everything that was typed.
//!
//! It was shown before this device was paired anew, or to another one. Nothing
//! of it is lost: the page carries all of it, and one press sends it.

use askama::Template;
use axum::{
    http::{StatusCode, request::Parts},
    response::{IntoResponse, Response},
};

use super::{AppError, Frame, Page, form::Form, page::Light};

/// What a form carries without anybody having typed it.
const NOT_TYPED: [&str; 6] = ["id", "kind", "form", "at", "sent_at", "row"];

#[derive(Template)]
#[template(path = "stale.html")]
struct StalePage {
    frame: Frame,
    action: String,
    pairs: Vec<(String, String)>,
}

impl StalePage {
    /// What was typed, with the field's name in words.
    fn typed(&self) -> Vec<(String, &str)> {
        let typed = self.pairs.iter().filter(|(name, text)| !NOT_TYPED.contains(&name.as_str()) && !text.is_empty());
        typed.map(|(name, text)| (Form::place(name), text.as_str())).collect()
    }
}

/// The page that sends a form again.
pub(super) fn page(asked: &Parts, pairs: Vec<(String, String)>) -> Response {
    let action = asked.uri.path_and_query().map_or("/", |path| path.as_str()).to_owned();
    let page = StalePage { frame: Frame::bare(Light::of(asked)), action, pairs };
    (StatusCode::FORBIDDEN, Page(page)).into_response()
}

/// The refusal of a form with a file, which no page of ours can choose again.
pub(super) fn with_file(_: &Parts) -> Response {
    let why = "This page was opened before this device was paired anew, so the file was not taken. \
               Nothing was changed: go back, load the page anew and choose the file again.";
    AppError::Refused(why.into()).into_response()
}
