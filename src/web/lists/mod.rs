//! `/settings/lists`: the check lists, edited line by line.
//!
//! Without scripts every change of rows is a button that sends the form: it comes
//! back with a line more, less or elsewhere, and nothing is kept until it is asked
//! for. A batch keeps the lists it was started with. What was kept can be taken
//! back: how the lists were before each change stands below them.

mod before;
mod read;
mod rows;

use askama::Template;
use axum::{
    Router,
    extract::{Query, State},
    response::{IntoResponse, Response},
    routing::{get, post},
};
use axum_extra::extract::Form as Pairs;
use serde::Deserialize;
use serde_json::json;

use self::before::Before;
use self::rows::Act;
use super::{
    Again, App, AppError, Frame, Page,
    form::{Form, check_size, options},
    see_other,
};
use crate::brewday::{
    CheckLists,
    checklist::PITCH_ITEMS,
    choices::{CareAct, EquipmentKind, Stage},
};

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/settings/lists", get(show).post(update))
        .route("/settings/lists/defaults", post(back_to_defaults))
        .merge(before::router())
}

#[derive(Template)]
#[template(path = "lists.html")]
struct ListsPage {
    frame: Frame,
    form: Form,
    /// The list of rows that has a blank one at its end.
    blank: Option<String>,
    /// Whether the lists were kept just now.
    kept: bool,
    /// Whether the page shows something that isn't kept yet.
    unkept: bool,
    /// The row that was taken out last, so that it can come back.
    gone: Vec<(String, String)>,
    /// How the lists were before each change, the latest first.
    before: Vec<Before>,
}

/// One list on the page.
struct ListRow {
    /// The names of its fields, and of the list of its lines.
    named: String,
    stage: String,
    items_name: String,
    index: usize,
    last: bool,
    items: Vec<ItemRow>,
}

/// One line of a list.
struct ItemRow {
    /// The names of its fields.
    key: String,
    text: String,
    kind: String,
    act: String,
    /// "Line 3"
    label: String,
    index: usize,
    last: bool,
    /// Whether pitch clearance looks for it.
    clears: bool,
    /// Whether its care is to be seen without asking.
    open: bool,
    /// What its tick writes down, in words.
    care: String,
}

impl ListsPage {
    fn new(frame: Frame, form: Form) -> Self {
        Self { frame, form, blank: None, kept: false, unkept: false, gone: Vec::new(), before: Vec::new() }
    }

    fn lists(&self) -> Vec<ListRow> {
        let rows = self.form.rows("lists", self.spare("lists"));
        let count = rows.len();
        let list = |(index, row): (usize, String)| {
            let items_name = format!("{row}.items");
            ListRow {
                named: format!("{row}.name"),
                stage: format!("{row}.stage"),
                items: self.items(&items_name),
                items_name,
                index,
                last: index + 1 == count,
            }
        };
        rows.into_iter().enumerate().map(list).collect()
    }

    fn items(&self, list: &str) -> Vec<ItemRow> {
        let rows = self.form.rows(list, self.spare(list));
        let count = rows.len();
        let item = |(index, row): (usize, String)| {
            let field = |name: &str| format!("{row}.{name}");
            let (key, kind, act) = (field("key"), field("equipment"), field("act"));
            ItemRow {
                text: field("text"),
                label: format!("Line {}", index + 1),
                index,
                last: index + 1 == count,
                clears: PITCH_ITEMS.iter().any(|(item, _)| self.form.is(&key, item)),
                open: self.form.fault(&kind).is_some() || self.form.fault(&act).is_some(),
                care: read::care_in_words(self.form.value(&kind), self.form.value(&act)),
                key,
                kind,
                act,
            }
        };
        rows.into_iter().enumerate().map(item).collect()
    }

    fn spare(&self, list: &str) -> usize {
        usize::from(self.blank.as_deref() == Some(list))
    }

    /// What the row that was taken out says: its own words, or its list's name.
    fn gone_is(&self) -> Option<&str> {
        let text = |name: &str| self.gone.iter().find(|(known, _)| known == name).map(|(_, text)| text.trim());
        text("gone.text").or(text("gone.name"))
    }

    fn kept_days(&self) -> i64 {
        before::kept_days()
    }

    fn stages(&self) -> Vec<(&'static str, &'static str)> {
        options::<Stage>()
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        with_none("Nothing", options::<EquipmentKind>())
    }

    fn acts(&self) -> Vec<(&'static str, &'static str)> {
        with_none("–", options::<CareAct>())
    }
}

#[derive(Deserialize)]
struct Asked {
    kept: Option<String>,
}

async fn show(State(app): State<App>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response, AppError> {
    let form = filled(&frame, &app.store.check_lists().await?);
    let before = before::all(&app, &frame).await?;
    Ok(Page(ListsPage { kept: asked.kept.is_some(), before, ..ListsPage::new(frame, form) }).into_response())
}

async fn update(
    State(app): State<App>,
    frame: Frame,
    Pairs(mut pairs): Pairs<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let act = rows::take_act(&mut pairs);
    check_size(&pairs)?;
    let (gone, pairs) = rows::without_gone(rows::after(act.as_ref(), pairs));
    let form = Form::typed(&frame, pairs);
    if let Some(act) = act {
        let blank = if let Act::Add(list) = act { Some(list) } else { None };
        return Ok(Page(ListsPage { blank, unkept: true, gone, ..ListsPage::new(frame, form) }).into_response());
    }
    let lists = match form.read(read::lists) {
        Ok(lists) => lists,
        Err(form) => return Ok(Again(ListsPage::new(frame, form)).into_response()),
    };
    app.store.save_check_lists(&lists, app.now()).await?;
    Ok(see_other("/settings/lists?kept=lists"))
}

async fn back_to_defaults(State(app): State<App>) -> Result<Response, AppError> {
    app.store.save_check_lists(&CheckLists::defaults(), app.now()).await?;
    Ok(see_other("/settings/lists?kept=defaults"))
}

fn filled(frame: &Frame, lists: &CheckLists) -> Form {
    Form::filled(frame, &json!({ "lists": lists }))
}

fn with_none(none: &'static str, options: Vec<(&'static str, &'static str)>) -> Vec<(&'static str, &'static str)> {
    [("", none)].into_iter().chain(options).collect()
}
