//! `/recipes/{id}`: a recipe with its prediction, its past and what to do with it.
//!
//! A recipe of many years has hundreds of batches: the page shows the latest, and
//! leads on to those before.

use askama::Template;
use axum::{
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
};

use serde::Deserialize;

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

/// Lines of a list that are shown at once.
const LINES: u32 = 20;

/// How many of the latest lines to pass over.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
pub(super) struct Past {
    #[serde(default)]
    batches: u32,
    #[serde(default)]
    revisions: u32,
}

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
    past: Past,
    /// Where the lines before those shown are.
    batches_before: Option<String>,
    revisions_before: Option<String>,
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
    revisions.iter().zip(before).take(LINES as usize).map(line).collect()
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
    async fn new(app: &App, frame: Frame, record: RecipeRecord, newest: i64, past: Past) -> Result<Self, AppError> {
        let house = House::load(app).await?;
        // One more than is shown: it tells that there are more, and what the last one changed.
        let revisions = app.store.recipe_revisions(record.id, past.revisions, LINES + 1).await?;
        let batches = app.store.batches_of_recipe(record.id, past.batches, LINES + 1).await?;
        let before = |list: &str, skipped: u32, found: usize| {
            let more = found > LINES as usize;
            more.then(|| format!("/recipes/{}?{list}={}#{list}", record.id, skipped.saturating_add(LINES)))
        };
        Ok(Self {
            figures: Figures::of(&record.recipe, &house, &frame),
            sheet: Sheet::of(&record.recipe, &frame),
            newest,
            batches_before: before("batches", past.batches, batches.len()),
            revisions_before: before("revisions", past.revisions, revisions.len()),
            revisions: revision_lines(&revisions, &frame),
            batches: batches.into_iter().take(LINES as usize).map(|brewing| BatchLine::new(brewing, &frame)).collect(),
            past,
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

pub(super) async fn newest(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Query(past): Query<Past>,
) -> Result<Response, AppError> {
    let record = find(&app, id).await?;
    let newest = record.revision;
    Ok(Page(RecipePage::new(&app, frame, record, newest, past).await?).into_response())
}

pub(super) async fn revision(
    State(app): State<App>,
    frame: Frame,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Response, AppError> {
    let (record, newest) = (find_revision(&app, id, number).await?, find(&app, id).await?.revision);
    Ok(Page(RecipePage::new(&app, frame, record, newest, Past::default()).await?).into_response())
}
