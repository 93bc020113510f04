//! `/recipes/{id}`: a recipe with its prediction, its past and what to do with it.

use askama::Template;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};

use super::{
    changes,
    figures::{Figures, House},
    find, find_revision,
    sheet::Sheet,
};
use crate::{
    brewday::{choices::Choice, plausible::Dimension},
    store::{Brewing, RecipeRecord},
    web::{App, AppError, Frame, Page, when::Moment},
};

#[derive(Template)]
#[template(path = "recipes/show.html")]
struct RecipePage {
    frame: Frame,
    record: RecipeRecord,
    newest: i64,
    figures: Figures,
    sheet: Sheet,
    revisions: Vec<RevisionLine>,
    batches: Vec<BatchLine>,
}

/// A revision, and what it changed.
struct RevisionLine {
    number: i64,
    at: Moment,
    changes: String,
}

/// The revisions, each beside the one before it.
fn revision_lines(revisions: &[RecipeRecord], frame: &Frame) -> Vec<RevisionLine> {
    let before = revisions.iter().skip(1).map(Some).chain([None]);
    let line = |(record, before): (&RecipeRecord, Option<&RecipeRecord>)| RevisionLine {
        number: record.revision,
        at: frame.clock.date(record.changed_at),
        changes: before.map_or("The first.".to_owned(), |before| {
            changes::between(&before.recipe, &record.recipe, frame).join(" · ")
        }),
    };
    revisions.iter().zip(before).map(line).collect()
}

/// A batch that was brewed from the recipe.
struct BatchLine {
    id: i64,
    name: String,
    about: String,
    figure: String,
}

impl BatchLine {
    fn new(brewing: Brewing, frame: &Frame) -> Self {
        let date = frame.clock.date(brewing.brewed_at);
        let gravity = brewing.original_sg.map(|sg| frame.show(sg, Dimension::Gravity).to_string());
        Self {
            id: brewing.batch,
            name: brewing.name,
            about: format!("{}, {date}, from revision {}", brewing.state.label(), brewing.revision),
            figure: gravity.unwrap_or_default(),
        }
    }
}

impl RecipePage {
    async fn new(app: &App, frame: Frame, record: RecipeRecord) -> Result<Self, AppError> {
        let house = House::load(app).await?;
        let revisions = app.store.recipe_revisions(record.id).await?;
        let batches = app.store.batches_of_recipe(record.id).await?;
        Ok(Self {
            figures: Figures::of(&record.recipe, &house, &frame),
            sheet: Sheet::of(&record.recipe, &frame),
            newest: revisions.first().map_or(record.revision, |newest| newest.revision),
            revisions: revision_lines(&revisions, &frame),
            batches: batches.into_iter().map(|brewing| BatchLine::new(brewing, &frame)).collect(),
            record,
            frame,
        })
    }

    fn is_newest(&self) -> bool {
        self.record.revision == self.newest
    }

    fn volume(&self) -> String {
        self.frame.show(self.record.recipe.volume_l, Dimension::Volume).to_string()
    }

    fn boil(&self) -> String {
        self.frame.show(self.record.recipe.boil_min, Dimension::Minutes).to_string()
    }

    fn changed(&self) -> Moment {
        self.frame.clock.day_and_time(self.record.changed_at)
    }
}

pub(super) async fn newest(State(app): State<App>, frame: Frame, Path(id): Path<i64>) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    Ok(Page(RecipePage::new(&app, frame, record).await?).into_response())
}

pub(super) async fn revision(
    State(app): State<App>,
    frame: Frame,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Response, AppError> {
    let record = find_revision(&app, id, number).await?;
    Ok(Page(RecipePage::new(&app, frame, record).await?).into_response())
}
