//! `/recipes/{id}/scale`: a recipe's amounts for another volume, side by side,
//! to be kept as a recipe of its own or as the next revision.

use askama::Template;
use axum::{
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
};
use serde_json::Value;

use super::find;
use crate::{
    brewday::{
        Fault, Recipe,
        fields::Reader,
        plausible::{Dimension, NAME_CHARS, VOLUME},
    },
    store::RecipeRecord,
    web::{Again, App, AppError, Frame, Page, form::Form, guard::Sent, see_other},
};

#[derive(Template)]
#[template(path = "recipes/scale.html")]
struct ScalePage {
    frame: Frame,
    form: Form,
    record: RecipeRecord,
    scaled: Option<Recipe>,
}

/// One amount before and after.
struct Change {
    what: String,
    before: String,
    after: String,
}

impl ScalePage {
    fn volume(&self) -> String {
        self.frame.show(self.record.recipe.volume_l, Dimension::Volume).to_string()
    }

    fn scaled_volume(&self) -> String {
        let scaled = self.scaled.as_ref().unwrap_or(&self.record.recipe);
        self.frame.show(scaled.volume_l, Dimension::Volume).to_string()
    }

    fn changes(&self) -> Vec<Change> {
        let Some(scaled) = &self.scaled else { return Vec::new() };
        let show = |value, dimension| self.frame.show(value, dimension).to_string();
        let amounts = amounts(&self.record.recipe).into_iter().zip(amounts(scaled));
        amounts
            .map(|((what, before, dimension), (_, after, _))| Change {
                what,
                before: show(before, dimension),
                after: show(after, dimension),
            })
            .collect()
    }
}

/// Every amount of a recipe that goes with its volume.
fn amounts(recipe: &Recipe) -> Vec<(String, f64, Dimension)> {
    let water = [("Mash water", recipe.mash_water_l), ("Sparge water", recipe.sparge_water_l)];
    let water = water.into_iter().filter_map(|(what, litres)| Some((what.to_owned(), litres?, Dimension::Volume)));
    let malts = recipe.fermentables.iter().map(|one| (one.name.clone(), one.mass_kg, Dimension::Mass));
    let hops = recipe.hops.iter().map(|one| (one.name.clone(), one.mass_kg, Dimension::SmallMass));
    let others = recipe.other.iter().map(|one| (one.name.clone(), one.mass_kg, Dimension::SmallMass));
    let yeast = recipe.yeast.iter().filter_map(|one| Some((one.name.clone(), one.mass_kg?, Dimension::SmallMass)));
    malts.chain(water).chain(hops).chain(others).chain(yeast).collect()
}

pub(super) async fn show(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    if pairs.is_empty() {
        let form = Form::empty(&frame);
        return Ok(Page(ScalePage { frame, form, record, scaled: None }).into_response());
    }
    let form = Form::typed(&frame, pairs);
    match form.clone().read(|body| scaled(body, &record.recipe)) {
        Ok(scaled) => Ok(Page(ScalePage { frame, form, record, scaled: Some(scaled) }).into_response()),
        Err(form) => Ok(Again(ScalePage { frame, form, record, scaled: None }).into_response()),
    }
}

pub(super) async fn keep(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Sent(mark): Sent,
    mut form: Form,
) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    let revises = form.take("keep").as_deref() == Some("revision");
    let mut scaled = match form.read(|body| scaled(body, &record.recipe)) {
        Ok(scaled) => scaled,
        Err(form) => return Ok(Again(ScalePage { frame, form, record, scaled: None }).into_response()),
    };
    if revises {
        app.store.once(mark).revise_recipe(id, &scaled, frame.clock.now).await?;
        return Ok(see_other(&format!("/recipes/{id}")));
    }
    let named = format!("{}, {}", scaled.name, frame.show(scaled.volume_l, Dimension::Volume));
    if named.chars().count() <= NAME_CHARS {
        scaled.name = named;
    }
    let id = app.store.once(mark).add_recipe(&scaled, frame.clock.now).await?;
    Ok(see_other(&format!("/recipes/{id}")))
}

/// The recipe for the volume that was asked for, where every amount stays plausible.
fn scaled(body: &Value, recipe: &Recipe) -> Result<Recipe, Vec<Fault>> {
    let mut read = Reader::new(body);
    let volume_l = read.number("volume_l", VOLUME);
    let _ = read.value("typed");
    let volume_l = read.finish(volume_l)?;
    let scaled = recipe.scaled_to(volume_l);
    let taken = Recipe::from_body(&serde_json::to_value(&scaled).unwrap_or_default());
    taken.map_err(|_| vec![Fault::new("volume_l", "At that volume some of the amounts would be beyond what is kept.")])
}
