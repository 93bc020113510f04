//! Prepare: the day's targets, equipment and its care, and the sanitation list.

use askama::Template;

use super::correction;
use super::frame::StageFrame;
use crate::brewday::BatchState;
use crate::brewday::choices::{Choice, FermentableUse, HopUse};
use crate::brewday::plan::{Assumed, Basis, DayPlan};
use crate::brewday::plausible::Dimension;
use crate::web::care::CareTold;
use crate::web::chill_plan::{BatchPlan, PlanTable};
use crate::web::{App, AppError, Frame, Page};

#[derive(Template)]
#[template(path = "stages/prepare.html")]
pub(super) struct PreparePage {
    frame: Frame,
    page: StageFrame,
    targets: Vec<Target>,
    /// That the kettle can't hold the plan, where it can't.
    runs_over: Option<String>,
    assumed: Vec<Target>,
    goods: Vec<Target>,
    care: Vec<CareTold>,
    /// The chill as it is planned, or as today's buckets would do it.
    chill: Option<ChillTold>,
}

/// The chill plan in a small table.
struct ChillTold {
    is_kept: bool,
    aim: &'static str,
    table: PlanTable,
}

/// A name and a figure, or why there is none.
struct Target {
    name: String,
    value: String,
}

pub(super) async fn page(app: &App, page: StageFrame) -> Result<Page<PreparePage>, AppError> {
    let plan = correction::planned(app, &page.day).await?;
    let chill = BatchPlan::load(app, &page.day, &page.summary).await?.map(|plan| ChillTold {
        is_kept: plan.is_kept,
        aim: plan.request.aim.label(),
        table: plan.table(&page.frame),
    });
    // As things stood before the wort touched them.
    let before = (page.day.state() != BatchState::Planned).then(|| page.day.brewed_at());
    let care = |record| CareTold::of(record, &page.day.care(record, before), &page.frame.clock);
    Ok(Page(PreparePage {
        targets: targets(&page, &plan),
        runs_over: plan.runs_over.map(|over| correction::runs_over(&page.frame, over)),
        assumed: plan.assumed.iter().map(|one| assumed(&page.frame, one)).collect(),
        goods: goods(&page),
        care: page.day.batch.equipment.iter().filter(|record| record.equipment.kind.is_cared_for()).map(care).collect(),
        chill,
        frame: page.frame.clone(),
        page,
    }))
}

fn targets(page: &StageFrame, plan: &DayPlan) -> Vec<Target> {
    let (frame, recipe, expected) = (&page.frame, &page.day.batch.recipe, &plan.expected);
    let show = |value, dimension| frame.show_computed(value, dimension).to_string();
    let target = |name: &str, value: String| Target { name: name.to_owned(), value };
    let told = |figure: &Result<f64, String>, dimension, unit: &str| match figure {
        Ok(value) => format!("{}{unit}", frame.show_computed(*value, dimension)),
        Err(why) => why.clone(),
    };
    let mut targets = vec![
        target("Into the fermenter", show(page.day.batch.volume_l, Dimension::Volume)),
        target("Original gravity", show(expected.original_sg, Dimension::Gravity)),
    ];
    match &plan.water {
        Ok(water) => targets.extend([
            target("Strike water", show(water.mash_l, Dimension::Volume)),
            target("Strike at", show(water.strike_c, Dimension::Temperature)),
            target("Sparge water", show(water.sparge_l, Dimension::Volume)),
            target("Pre-boil, hot in the kettle", show(water.pre_boil_hot_l, Dimension::Volume)),
            target("Pre-boil gravity", show(water.pre_boil_sg, Dimension::Gravity)),
        ]),
        Err(why) => targets.push(target("Water", frame.speak(why))),
    }
    targets.extend([
        target("Post-boil, hot in the kettle", show(expected.post_boil_hot_l, Dimension::Volume)),
        target("Bitterness, estimated", told(&expected.bitterness_ibu, Dimension::Plain, "\u{a0}IBU")),
        target("Colour, estimated", told(&expected.colour_ebc, Dimension::Colour, "")),
        target("Yeast cells", told(&expected.cells_needed_billion, Dimension::Plain, "\u{a0}billion")),
        target("Pitch at", show(recipe.target_pitch_c, Dimension::Temperature)),
    ]);
    targets
}

/// What the plan takes for granted, and from where.
fn assumed(frame: &Frame, one: &Assumed) -> Target {
    let basis = match one.basis {
        Basis::Recipe => "the recipe".to_owned(),
        Basis::Equipment => "your equipment".to_owned(),
        Basis::Batches(1) => "your last batch".to_owned(),
        Basis::Batches(batches) => format!("the median of your last {batches} batches"),
        Basis::CommonPractice => "common practice".to_owned(),
    };
    Target { name: one.what.to_owned(), value: format!("{}, from {basis}", frame.show(one.value, one.dimension)) }
}

/// What to weigh out, scaled to this batch.
fn goods(page: &StageFrame) -> Vec<Target> {
    let (frame, recipe) = (&page.frame, page.day.batch.scaled_recipe());
    let malts = recipe.fermentables.iter().map(|one| Target {
        name: match one.used {
            FermentableUse::Mash => one.name.clone(),
            FermentableUse::Kettle => format!("{}, into the kettle", one.name),
        },
        value: frame.show(one.mass_kg, Dimension::Mass).to_string(),
    });
    let hops = recipe.hops.iter().map(|one| Target {
        name: match one.used {
            HopUse::Boil => format!("{}, boil {}", one.name, frame.show(one.min, Dimension::Minutes)),
            HopUse::FirstWort | HopUse::FlameOut => format!("{}, {}", one.name, one.used.label().to_lowercase()),
        },
        value: frame.show(one.mass_kg, Dimension::SmallMass).to_string(),
    });
    let others = recipe.other.iter().map(|one| Target {
        name: format!("{}, {}", one.name, one.used.label().to_lowercase()),
        value: frame.show(one.mass_kg, Dimension::SmallMass).to_string(),
    });
    malts.chain(hops).chain(others).collect()
}
