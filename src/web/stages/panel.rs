//! A panel: one small form of a stage page, for one kind of entry.
//!
//! A page lists its panels in the order of the work; one macro draws them all.

use super::frame::StageFrame;
use crate::brewday::Body;
use crate::brewday::choices::Choice;
use crate::brewday::day::Standing;
use crate::web::form::Form;
use crate::web::log::{Field, fields, told};

/// One small form of a stage page.
#[derive(Clone, Debug)]
pub struct Panel {
    /// What it is for.
    pub title: String,
    /// What to know before filling it in; may be empty.
    pub hint: String,
    /// The form, with its defaults or what came back in it.
    pub form: Form,
    /// What it asks for.
    pub fields: Vec<Field>,
    /// What it carries without asking.
    pub fixed: Vec<(&'static str, String)>,
    /// The button's words.
    pub button: &'static str,
    /// What was logged of it last: value and time.
    pub logged: Option<String>,
    /// Whether it is the thing to do now.
    pub is_now: bool,
}

impl Panel {
    /// A panel for a kind of entry; `scope` names it on its page.
    #[must_use]
    pub fn new(page: &StageFrame, scope: &str, kind: &'static str, title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            hint: String::new(),
            form: page.form(scope, kind),
            fields: fields(kind),
            fixed: Vec::new(),
            button: "Log it",
            logged: None,
            is_now: false,
        }
    }

    /// The same with a sentence of advice.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// The same with other words on its button.
    #[must_use]
    pub fn button(mut self, words: &'static str) -> Self {
        self.button = words;
        self
    }

    /// The same as the thing to do now.
    #[must_use]
    pub fn now(mut self, is_now: bool) -> Self {
        self.is_now = is_now;
        self
    }

    /// The same with a field settled, so that it is not asked for.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.fields.retain(|field| field.name != name);
        self.fixed.push((name, value.into()));
        self
    }

    /// The same with a field settled to a word of a closed set.
    #[must_use]
    pub fn of<T: Choice>(self, name: &'static str, member: T) -> Self {
        self.with(name, member.key())
    }

    /// The same without a field.
    #[must_use]
    pub fn without(mut self, name: &str) -> Self {
        self.fields.retain(|field| field.name != name);
        self
    }

    /// The same with a field filled in, where nothing was typed there yet. In a
    /// form that came back, an emptied field stays empty: it was typed so.
    #[must_use]
    pub fn filled(mut self, name: &'static str, text: impl Into<String>) -> Self {
        if self.form.value(name).is_empty() && !self.form.is_faulty() {
            self.form = self.form.with(name, text);
        }
        self
    }

    /// The same, saying what was logged last for which `is_it` holds.
    #[must_use]
    pub fn last(mut self, page: &StageFrame, is_it: impl Fn(&Standing) -> bool) -> Self {
        let last = page.day.standing.iter().rev().find(|entry| is_it(entry));
        self.logged = last.map(|entry| {
            let told = told(&page.day, &page.frame, &entry.body, &Default::default());
            let value = match &entry.note {
                Some(note) if entry.body == Body::Note => note.clone(),
                _ if told.value.is_empty() => told.what,
                _ => told.value,
            };
            format!("{value}, {}", page.frame.on(page.day.brewed_at()).clock.short(entry.at))
        });
        self
    }
}

/// Panels in the order of the work: the first of which nothing was logged yet is
/// the one to fill in now, the rest are folded.
#[must_use]
pub fn in_turn(mut panels: Vec<Panel>) -> Vec<Panel> {
    if let Some(next) = panels.iter_mut().find(|panel| panel.logged.is_none()) {
        next.is_now = true;
    }
    panels
}
