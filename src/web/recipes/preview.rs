//! `/recipes/preview`: the figures of a recipe that is still being typed.
//!
//! recipe.js sends the form here and puts the answer in place; without it the
//! form's own button does the same.

use askama::Template;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde_json::Value;

use super::{
    entry::{self, LeftOut, Unfinished},
    figures::{Figures, House},
};
use crate::{
    brewday::Fault,
    web::{App, AppError, Frame, Page, form::Form},
};

/// What can be told of a recipe that is still being typed.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    /// Its figures; none where a field is wanting that all of them need.
    pub(super) figures: Option<Figures>,
    /// Which fields or rows are wanting.
    pub(super) wanting: Vec<String>,
}

impl Outlook {
    /// What can be told of the recipe a form describes so far.
    pub(super) fn of(form: &Form, house: &House, frame: &Frame) -> Self {
        let mut body = Value::Null;
        let look = |seen: &Value| {
            body = seen.clone();
            Err::<(), Vec<Fault>>(Vec::new())
        };
        let _ = form.clone().read(look);
        match entry::read_unfinished(&body) {
            Ok(Unfinished { recipe, left_out }) => Self {
                figures: Some(Figures::of(&recipe, house, frame)),
                wanting: left_out.iter().map(in_words).collect(),
            },
            Err(faults) => {
                Self { figures: None, wanting: faults.iter().map(|fault| Form::place(&fault.field)).collect() }
            }
        }
    }

    /// The fields or rows that are wanting, in a sentence's middle.
    pub(super) fn wanting(&self) -> String {
        self.wanting.join(", ")
    }
}

/// "Hop 2 (alpha acids, minutes)"
fn in_words(left_out: &LeftOut) -> String {
    let row = Form::place(&left_out.row);
    let fields = left_out.wanting.iter().map(|field| Form::place(field));
    let fields: Vec<String> =
        fields.map(|field| field.strip_prefix(&format!("{row}, ")).unwrap_or(&field).to_owned()).collect();
    format!("{row} ({})", fields.join(", "))
}

#[derive(Template)]
#[template(path = "recipes/preview.html")]
struct Fragment {
    outlook: Outlook,
}

pub(super) async fn preview(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let outlook = Outlook::of(&form, &House::load(&app).await?, &frame);
    Ok(Page(Fragment { outlook }).into_response())
}
