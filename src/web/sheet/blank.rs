//! `/batches/{id}/sheet/blank`: the sheet for the day, with rules to write on.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};

use super::PaperHead;
use super::bath_plan::BathPlan;
use super::recipe::RecipeTold;
use crate::brewday::plan::DayPlan;
use crate::brewday::plausible::Dimension;
use crate::brewday::{Batch, CheckList};
use crate::science::sanitation;
use crate::web::chill_plan::BatchPlan;
use crate::web::strip::BatchHead;
use crate::web::{App, AppError, Frame, Page};

/// Lines to write readings on, in each of the two tables side by side.
const READINGS: usize = 13;
/// How many of them a Letter sheet has room for; A4 is taller.
const READINGS_ON_LETTER: usize = 10;
/// Moments of a day with a single rest; each one more takes a line's room.
const MOMENTS: usize = 13;
/// A chill has that many readings at least to be written down.
const READINGS_LEAST: usize = 6;
/// Lines for what a bare recipe does not say.
const BARE_LINES: usize = 8;

#[derive(Template)]
#[template(path = "sheet/blank.html")]
struct BlankPage {
    frame: Frame,
    head: BatchHead,
    paper: PaperHead,
    moments: Vec<Reading>,
    recipe: RecipeTold,
    baths: BathPlan,
    lists: Vec<CheckList>,
    tap: Option<String>,
}

/// Something to read on the day: what is planned, and which figures to write.
struct Reading {
    what: String,
    plan: String,
    /// Volume, gravity, temperature, pH: whether there is one to write.
    asks: [bool; 4],
}

pub(super) async fn show(State(app): State<App>, Path(id): Path<i64>, frame: Frame) -> Result<Response, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let frame = frame.on(day.brewed_at());
    let batch = &day.batch;
    let recipe = batch.scaled_recipe();
    let plan = DayPlan::of_batch(batch, app.store.habits_of(batch).await?);
    let mut baths = batch.chill_plan.as_ref().map_or_else(BathPlan::unplanned, |kept| BathPlan::of(kept, &frame));
    if batch.chill_plan.is_some() {
        let summary = app.store.summary_of(&day).await?.ok_or(AppError::NotFound)?;
        let beside = BatchPlan::load(&app, &day, &summary).await?;
        baths = beside.map_or(baths.clone(), |plan| baths.beside(&plan.table(&frame)));
    }
    Ok(Page(BlankPage {
        head: BatchHead::of(&day, None),
        paper: PaperHead::of("Brew sheet", &day, &frame),
        moments: moments(batch, &plan, &frame),
        recipe: RecipeTold::of(&recipe, &frame),
        baths,
        lists: batch.lists.0.iter().filter(|list| !list.items.is_empty()).cloned().collect(),
        tap: batch.tap_c.map(|celsius| frame.show(celsius, Dimension::Temperature).to_string()),
        frame,
    })
    .into_response())
}

impl BlankPage {
    fn readings(&self) -> std::ops::Range<usize> {
        0..self.fewer(READINGS)
    }

    /// So many lines less what the day's further rests take of the page.
    fn fewer(&self, lines: usize) -> usize {
        lines.saturating_sub(self.moments.len().saturating_sub(MOMENTS)).max(READINGS_LEAST)
    }

    /// Whether only a taller paper has room for this line.
    fn is_more(&self, line: &usize) -> bool {
        *line >= self.fewer(READINGS_ON_LETTER)
    }

    fn bare_lines(&self) -> std::ops::Range<usize> {
        0..BARE_LINES
    }

    fn degree(&self) -> &'static str {
        self.frame.degree_unit()
    }

    fn gravity(&self) -> &'static str {
        self.frame.show(1.0, Dimension::Gravity).unit
    }

    fn litre(&self) -> &'static str {
        self.frame.show(1.0, Dimension::Volume).unit
    }

    fn kilogram(&self) -> &'static str {
        self.frame.show(1.0, Dimension::Mass).unit
    }
}

/// Every moment of the day at which something is read, in order.
fn moments(batch: &Batch, plan: &DayPlan, frame: &Frame) -> Vec<Reading> {
    let recipe = batch.scaled_recipe();
    let litres = |litres: f64| frame.show(litres, Dimension::Volume).to_string();
    let degrees = |celsius: f64| frame.show(celsius, Dimension::Temperature).to_string();
    let gravity = |sg: f64| frame.show(sg, Dimension::Gravity).to_string();
    let minutes = |min: f64| frame.show(min, Dimension::Minutes).to_string();
    let row = |what: &str, plan: String, asks: &str| Reading {
        what: what.to_owned(),
        plan,
        asks: ['v', 'g', 't', 'p'].map(|one| asks.contains(one)),
    };
    let water = plan.water.as_ref().ok();
    let told = |tell: &dyn Fn(&crate::brewday::plan::Water) -> String| water.map(tell).unwrap_or_default();
    let expected = &plan.expected;
    let original = if has_extract(batch) { format!(", {}", gravity(expected.original_sg)) } else { String::new() };
    let bare = |celsius: f64| frame.show(celsius, Dimension::Temperature).text;
    let range = format!("{} to {}", bare(recipe.pitch_low_c), bare(recipe.pitch_high_c));

    let mut moments =
        vec![row("Strike water", told(&|w| format!("{} at {}", litres(w.mash_l), degrees(w.strike_c))), "vt")];
    for (index, rest) in recipe.mash_rests.iter().enumerate() {
        let plan = format!("{}, {}", degrees(rest.temperature_c), minutes(rest.min));
        moments.push(row(&format!("Rest {}", index + 1), plan, if index == 0 { "tp" } else { "t" }));
    }
    if recipe.mash_rests.is_empty() {
        moments.push(row("Mash", told(&|w| degrees(w.mash_c)), "tp"));
    }
    moments.extend([
        row("First wort", String::new(), "gtp"),
        row("Sparge", told(&|w| litres(w.sparge_l)), "vt"),
        row("Pre-boil", told(&|w| format!("{} hot, {}", litres(w.pre_boil_hot_l), gravity(w.pre_boil_sg))), "vgt"),
        row("Boil begins", minutes(recipe.boil_min), ""),
        row("Hot flush on", format!("{} or hotter", degrees(sanitation::HOT_ENOUGH.celsius())), "t"),
        row("Hot flush off", format!("{:.0}\u{a0}s or longer", sanitation::LONG_ENOUGH.seconds()), "t"),
        row("Flame-out", String::new(), ""),
        row("Post-boil", format!("{} hot{original}", litres(expected.post_boil_hot_l)), "vgt"),
        row("Coil drained", String::new(), "v"),
        row("Into fermenter", format!("{}{original}", litres(recipe.volume_l)), "vgt"),
        row("Pitch", format!("{} ({range})", degrees(recipe.target_pitch_c)), "t"),
    ]);
    moments
}

/// Whether the recipe says enough to expect a gravity.
fn has_extract(batch: &Batch) -> bool {
    batch.recipe.fermentables.iter().any(|one| one.mass_kg > 0.0)
}
