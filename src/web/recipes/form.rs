//! The form that writes a recipe, as a page: its lists of rows and its outlook.

use askama::Template;

use super::figures::House;
use super::preview::Outlook;
use crate::{
    brewday::choices::{Choice, FermentableUse, HopForm, HopUse, OtherUse, YeastForm, YeastKind},
    store::RecipeRecord,
    web::{
        Frame,
        form::{Form, options},
    },
};

#[derive(Template)]
#[template(path = "recipes/form.html")]
pub(super) struct FormPage {
    frame: Frame,
    form: Form,
    /// The recipe that is edited; none where a new one is written.
    of: Option<RecipeRecord>,
    outlook: Outlook,
    /// The list a blank row was asked for.
    pub(super) blank: String,
}

/// One row of a list: the names its fields have, and how it is spoken of.
struct Row {
    name: String,
    index: String,
    number: String,
    new: bool,
}

impl Row {
    fn field(&self, name: &str) -> String {
        format!("{}.{name}", self.name)
    }

    fn fermentable_uses(&self) -> Vec<(&'static str, &'static str)> {
        options::<FermentableUse>()
    }

    /// The boil first: a new hop starts there.
    fn hop_uses(&self) -> Vec<(&'static str, &'static str)> {
        let mut uses = options::<HopUse>();
        uses.sort_by_key(|(key, _)| *key != HopUse::Boil.key());
        uses
    }

    fn hop_forms(&self) -> Vec<(&'static str, &'static str)> {
        options::<HopForm>()
    }

    fn other_uses(&self) -> Vec<(&'static str, &'static str)> {
        options::<OtherUse>()
    }
}

impl FormPage {
    pub(super) fn new(frame: Frame, form: Form, of: Option<RecipeRecord>, house: &House) -> Self {
        let outlook = Outlook::of(&form, house, &frame);
        Self { frame, form, of, outlook, blank: String::new() }
    }

    fn action(&self) -> String {
        self.of.as_ref().map_or("/recipes".to_owned(), |record| format!("/recipes/{}", record.id))
    }

    fn title(&self) -> String {
        self.of.as_ref().map_or("A new recipe".to_owned(), |record| format!("Edit {}", record.recipe.name))
    }

    /// The rows of a list, and a blank one where it was asked for or would be the first.
    fn rows(&self, list: &str) -> Vec<Row> {
        let filled = self.form.row_count(list);
        let wanted = self.blank == list || (filled == 0 && self.of.is_none());
        let row = |index: usize| Row {
            name: format!("{list}.{index}"),
            index: index.to_string(),
            number: (index + 1).to_string(),
            new: index == filled,
        };
        (0..filled + usize::from(wanted)).map(row).collect()
    }

    /// The row that rows.js makes new ones from.
    fn pattern(&self, list: &str) -> Row {
        Row { name: format!("{list}.ROW"), index: "ROW".into(), number: "NUMBER".into(), new: false }
    }

    fn yeast_kinds(&self) -> Vec<(&'static str, &'static str)> {
        options::<YeastKind>()
    }

    fn yeast_forms(&self) -> Vec<(&'static str, &'static str)> {
        options::<YeastForm>()
    }
}
