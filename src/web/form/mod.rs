//! From a page's form to canonical fields, and back with what was typed.
//!
//! A field is named as its place in the canonical body (`hops.0.mass_kg`); the
//! text in it is in the brewer's own units. [`Form::read`] turns the texts into
//! that body and hands it to the record's own reader, so a page and a script are
//! held to the same rules. Where anything is wrong the form comes back whole:
//! every text as typed, and a sentence for each field.
//!
//! A handler:
//!
//! ```ignore
//! async fn create(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
//!     let recipe = match form.read(Recipe::from_body) {
//!         Ok(recipe) => recipe,
//!         Err(form) => return Ok(Again(NewRecipePage { frame, form }).into_response()),
//!     };
//!     let id = app.store.add_recipe(&recipe).await?;
//!     Ok(see_other(&format!("/recipes/{id}")))
//! }
//! ```

mod field;
mod names;
mod rows;
#[cfg(test)]
mod tests;
mod tree;

use std::collections::BTreeMap;

use axum::{
    extract::{FromRequest, FromRequestParts, Request},
    response::{IntoResponse, Response},
};
use axum_extra::extract::Form as Pairs;
use serde_json::Value;
use time::OffsetDateTime;

use super::{App, AppError, Frame, units, when::Clock};
use crate::brewday::{Fault, Units, Why, choices::Choice};

/// A recipe of two hundred rows has half as many fields.
const FIELDS_MOST: usize = 3000;
/// Each part of a name is a level of the body: deeper than this would be a trap.
const NAME_MOST_BYTES: usize = 120;

/// A form as it was typed, or as it is to be filled in.
#[derive(Clone, Debug)]
pub struct Form {
    /// Names and texts, rows numbered from 0 without gaps.
    texts: Vec<(String, String)>,
    faults: Vec<Fault>,
    /// Set before every `id` on the page, where it has several forms.
    scope: String,
    units: Units,
    clock: Clock,
}

/// One line of the summary on top of a form that came back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The `id` of the field's input.
    pub id: String,
    /// Which field, in words.
    pub place: String,
    /// What is wrong with it.
    pub sentence: String,
}

impl Form {
    /// An empty form.
    #[must_use]
    pub fn empty(frame: &Frame) -> Self {
        Self {
            texts: Vec::new(),
            faults: Vec::new(),
            scope: String::new(),
            units: frame.settings.units,
            clock: frame.clock.clone(),
        }
    }

    /// A form filled with a record, to be changed: what was typed where it is
    /// known, else the kept value in the brewer's own unit.
    #[must_use]
    pub fn filled(frame: &Frame, body: &Value) -> Self {
        let mut form = Self::empty(frame);
        form.texts = tree::texts(body, &form.units, &form.clock);
        form
    }

    /// A form from what a browser sent. Where a button `row=remove-hops-2` was
    /// pressed, that row is gone from it.
    #[must_use]
    pub fn typed(frame: &Frame, pairs: Vec<(String, String)>) -> Self {
        let mut form = Self::empty(frame);
        // A name that long is of no field, and would be a trap.
        let pairs = pairs.into_iter().filter(|(name, _)| name.len() <= NAME_MOST_BYTES);
        // Browsers send every line's end as two characters; one is kept.
        let pairs = pairs.map(|(name, text)| (name, text.replace("\r\n", "\n"))).collect();
        form.texts = rows::closed_up(rows::without_removed(pairs));
        form
    }

    /// The same form with a text set: a default, or a hidden id.
    #[must_use]
    pub fn with(mut self, name: &str, text: impl Into<String>) -> Self {
        self.texts.retain(|(known, _)| known != name);
        self.texts.push((name.to_owned(), text.into()));
        self
    }

    /// The same form under a name of its own, where a page has several.
    #[must_use]
    pub fn named(mut self, scope: impl Into<String>) -> Self {
        self.scope = scope.into();
        self
    }

    /// The same form as it was written at a time: a bare `14:42` is then's.
    #[must_use]
    pub fn written_at(mut self, at: OffsetDateTime) -> Self {
        self.clock.now = at;
        self
    }

    /// Takes out which button for rows was pressed: `add-hops`, `remove-hops-2`.
    pub fn take_row_button(&mut self) -> Option<String> {
        self.take(rows::ROW_BUTTON)
    }

    /// Whether both forms say the same, letter for letter; blank fields don't count.
    #[must_use]
    pub fn says_the_same(&self, other: &Self) -> bool {
        let said = |form: &Self| {
            let texts = form.texts.iter().filter(|(name, _)| !rows::is_idle_choice(name, &form.texts));
            let texts = texts.map(|(name, text)| (name.clone(), text.trim().to_owned()));
            texts.filter(|(_, text)| !text.is_empty()).collect::<BTreeMap<_, _>>()
        };
        said(self) == said(other)
    }

    /// Takes a text out that is not part of the body: which button was pressed, say.
    pub fn take(&mut self, name: &str) -> Option<String> {
        let place = self.texts.iter().rposition(|(known, _)| known == name)?;
        Some(self.texts.remove(place).1)
    }

    /// Reads the record the form describes.
    ///
    /// # Errors
    /// The form itself, with every fault found.
    pub fn read<T>(mut self, record: impl FnOnce(&Value) -> Result<T, Vec<Fault>>) -> Result<T, Self> {
        let (body, unreadable) = tree::body(&self.texts, &self.units, &self.clock);
        match record(&body) {
            Ok(record) if unreadable.is_empty() => Ok(record),
            found => {
                let found = found.err().unwrap_or_default();
                // A text that can't be read is not also missing.
                let again = |fault: &Fault| unreadable.iter().any(|known| known.field == fault.field);
                let found: Vec<_> = found.into_iter().filter(|fault| !again(fault)).collect();
                self.faults = unreadable.into_iter().chain(found).collect();
                Err(self)
            }
        }
    }

    /// The same form, found wanting: for what only the store can tell.
    #[must_use]
    pub fn with_faults(mut self, faults: Vec<Fault>) -> Self {
        self.faults.extend(faults);
        self
    }

    /// The text in a field; empty where there is none.
    #[must_use]
    pub fn value(&self, name: &str) -> &str {
        // Of two of one name the last counts: a tick box stands after its "no".
        self.texts.iter().rev().find(|(known, _)| known == name).map_or("", |(_, text)| text)
    }

    /// Whether a choice of this key is the one taken.
    #[must_use]
    pub fn is(&self, name: &str, key: &str) -> bool {
        self.value(name) == key
    }

    /// The sentence for a field, where something is wrong with it.
    #[must_use]
    pub fn fault(&self, name: &str) -> Option<String> {
        self.faults.iter().find(|fault| fault.field == name).map(|fault| self.sentence(&fault.why))
    }

    /// Everything wrong, for the summary on top, in the order it was found.
    #[must_use]
    pub fn faults(&self) -> Vec<Told> {
        let told = |fault: &Fault| Told {
            id: self.id(&fault.field),
            place: names::spoken(&fault.field),
            sentence: self.sentence(&fault.why),
        };
        self.faults.iter().map(told).collect()
    }

    /// Which field or row a name stands for, in words.
    #[must_use]
    pub fn place(name: &str) -> String {
        names::spoken(name)
    }

    /// Whether anything is wrong.
    #[must_use]
    pub fn is_faulty(&self) -> bool {
        !self.faults.is_empty()
    }

    /// The `id` of a field's input.
    #[must_use]
    pub fn id(&self, name: &str) -> String {
        if self.scope.is_empty() { name.to_owned() } else { format!("{}-{name}", self.scope) }
    }

    /// The ids of what describes a field: its hint and its fault.
    #[must_use]
    pub fn described_by(&self, name: &str, hint: &str) -> String {
        let id = self.id(name);
        let hint = (!hint.is_empty()).then(|| format!("{id}-hint"));
        let fault = self.fault(name).map(|_| format!("{id}-fault"));
        hint.into_iter().chain(fault).collect::<Vec<_>>().join(" ")
    }

    /// The unit beside a field; empty where it has none.
    #[must_use]
    pub fn unit(&self, name: &str) -> &'static str {
        self.scale(name).map_or("", |scale| scale.symbol)
    }

    /// The unit as a label says it; empty where it has none.
    #[must_use]
    pub fn unit_spoken(&self, name: &str) -> &'static str {
        self.scale(name).map_or("", |scale| scale.spoken)
    }

    /// Whether a field takes a number.
    #[must_use]
    pub fn is_number(&self, name: &str) -> bool {
        self.scale(name).is_some()
    }

    /// How many rows a list has.
    #[must_use]
    pub fn row_count(&self, list: &str) -> usize {
        // Read as where rows are closed up: a number this takes and that doesn't could be any size.
        let index = |name: &str| rows::number(name.strip_prefix(list)?.strip_prefix('.')?.split('.').next()?);
        let last = self.texts.iter().filter_map(|(name, _)| index(name)).max();
        last.and_then(|last| usize::try_from(last).ok()).map_or(0, |last| last + 1)
    }

    /// The names of a list's rows (`hops.0`), with so many blank ones after them.
    #[must_use]
    pub fn rows(&self, list: &str, spare: usize) -> Vec<String> {
        (0..self.row_count(list) + spare).map(|index| format!("{list}.{index}")).collect()
    }

    fn scale(&self, name: &str) -> Option<&'static units::Scale> {
        let sibling = |other: &str| self.value(&field::beside(name, other));
        match field::kind(name, sibling) {
            field::Kind::Number(dimension) => Some(units::chosen(dimension, &self.units)),
            _ => None,
        }
    }

    /// What is wrong, as a page says it: in the brewer's units, without keys.
    fn sentence(&self, why: &Why) -> String {
        match why {
            Why::Outside(range, value) => units::outside(range, *value, &self.units),
            Why::NotOneOf(_) => "Choose one of these.".into(),
            why => why.to_string(),
        }
    }
}

/// Refuses what no form of ours can have sent.
pub(super) fn check_size(pairs: &[(String, String)]) -> Result<(), AppError> {
    if pairs.len() > FIELDS_MOST || pairs.iter().any(|(name, _)| name.len() > NAME_MOST_BYTES) {
        return Err(AppError::Unreadable("What was sent has more to it than any form of this book.".into()));
    }
    Ok(())
}

/// The members of a closed set, for a group of choices: key and label.
#[must_use]
pub fn options<T: Choice>() -> Vec<(&'static str, &'static str)> {
    T::ALL.iter().map(|member| (member.key(), member.label())).collect()
}

impl FromRequest<App> for Form {
    type Rejection = Response;

    async fn from_request(request: Request, app: &App) -> Result<Self, Response> {
        let (mut parts, body) = request.into_parts();
        let frame = Frame::from_request_parts(&mut parts, app).await.map_err(IntoResponse::into_response)?;
        let Pairs::<Vec<(String, String)>>(pairs) =
            Pairs::from_request(Request::from_parts(parts, body), app).await.map_err(IntoResponse::into_response)?;
        check_size(&pairs).map_err(IntoResponse::into_response)?;
        Ok(Self::typed(&frame, pairs))
    }
}
