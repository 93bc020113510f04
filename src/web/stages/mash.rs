//! Mash: strike, dough-in, rests, first wort, sparge, and the kettle filled.

use askama::Template;
use time::{Duration, OffsetDateTime};

use super::correction::{self, CorrectionTold};
use super::frame::StageFrame;
use super::panel::{Panel, in_turn};
use super::timers;
use crate::brewday::Body;
use crate::brewday::choices::{Choice, GravityPoint, Instrument, PhPoint, Place, Stage, VolumePoint};
use crate::brewday::plan::DayPlan;
use crate::brewday::plausible::Dimension;
use crate::web::when::Moment;
use crate::web::{App, AppError, Frame, Page};

/// How warm a sample or cold water is taken to be where nobody says.
const COLD_C: f64 = 20.0;
/// A kettle filled from the mash, before it boils.
const RUN_OFF_C: f64 = 70.0;

#[derive(Template)]
#[template(path = "stages/mash.html")]
pub(super) struct MashPage {
    frame: Frame,
    page: StageFrame,
    plan: DayPlan,
    /// Whether the grain is in: strike water is logged before it is.
    doughed_in: bool,
    rests: Vec<Rest>,
    /// Whether the rests' ends are still waited for.
    rings: bool,
    panels: Vec<Panel>,
    /// What the kettle should get, until it boils.
    correction: Option<CorrectionTold>,
}

/// A rest of the mash, on the clock.
pub(super) struct Rest {
    name: String,
    /// When it ends; none before dough-in.
    pub(super) ends: Option<Moment>,
    is_over: bool,
    is_now: bool,
}

pub(super) async fn page(app: &App, page: StageFrame) -> Result<Page<MashPage>, AppError> {
    let plan = correction::planned(app, &page.day).await?;
    let boils = page.day.boil_started().is_some();
    Ok(Page(MashPage {
        correction: CorrectionTold::of(&page.frame, &page.day, &plan).filter(|_| !boils),
        plan,
        doughed_in: doughed_in(&page).is_some(),
        rests: rests(&page),
        rings: timers::mash_runs(&page),
        panels: in_turn(panels(&page)),
        frame: page.frame.clone(),
        page,
    }))
}

impl MashPage {
    fn water(&self, litres: &f64) -> String {
        self.frame.show(*litres, Dimension::Volume).to_string()
    }

    fn runs_over(&self) -> Option<String> {
        self.plan.runs_over.map(|over| correction::runs_over(&self.frame, over))
    }

    fn degrees(&self, celsius: &f64) -> String {
        self.frame.show(*celsius, Dimension::Temperature).to_string()
    }

    fn gravity(&self, sg: &f64) -> String {
        self.frame.show(*sg, Dimension::Gravity).to_string()
    }
}

impl Rest {
    /// What the phone says when it ends.
    pub(super) fn what(&self) -> String {
        format!("Rest {} is over", self.name)
    }
}

/// When the grain went in: the stage's own start, else the first mash temperature.
pub(super) fn doughed_in(page: &StageFrame) -> Option<OffsetDateTime> {
    let started = page.day.standing.iter().find(|entry| entry.body == Body::StageStarted { stage: Stage::Mash });
    started.map(|entry| entry.at).or_else(|| page.day.temperatures(Place::Mash).next().map(|reading| reading.at))
}

/// The rests one after another from dough-in.
pub(super) fn rests(page: &StageFrame) -> Vec<Rest> {
    let (frame, now) = (&page.frame, page.frame.clock.now);
    let mut starts = doughed_in(page);
    let rests = &page.day.batch.recipe.mash_rests;
    rests
        .iter()
        .map(|rest| {
            let begins = starts;
            let ends = begins.map(|at| at + Duration::seconds_f64(rest.min * 60.0));
            starts = ends;
            let at = frame.show(rest.temperature_c, Dimension::Temperature);
            Rest {
                name: format!("{at} for {}", frame.show(rest.min, Dimension::Minutes)),
                ends: ends.map(|ends| frame.clock.time(ends)),
                is_over: ends.is_some_and(|ends| ends <= now),
                is_now: begins.is_some_and(|begins| begins <= now) && ends.is_some_and(|ends| ends > now),
            }
        })
        .collect()
}

fn panels(page: &StageFrame) -> Vec<Panel> {
    let frame = &page.frame;
    let cold = frame.as_typed(COLD_C, Dimension::Temperature);
    let run_off = frame.as_typed(RUN_OFF_C, Dimension::Temperature);
    let volume = |scope, point: VolumePoint, title: &str, at: &str| {
        Panel::new(page, scope, "volume", title)
            .of("point", point)
            .filled("temperature_c", at)
            .last(page, move |entry| matches!(entry.body, Body::Volume { point: p, .. } if p == point))
    };
    let gravity = |scope, point: GravityPoint, title: &str| {
        Panel::new(page, scope, "gravity", title)
            .of("point", point)
            .filled("instrument", page.usual_instrument().key())
            .filled("temperature_c", cold.as_str())
            .last(page, move |entry| matches!(entry.body, Body::Gravity { point: p, .. } if p == point))
    };
    vec![
        volume("strike", VolumePoint::Strike, "Strike water", &cold),
        Panel::new(page, "mash_ph", "ph", "Mash pH")
            .of("point", PhPoint::Mash)
            .hint("Of a cooled sample, ten minutes after dough-in.")
            .last(page, |entry| matches!(entry.body, Body::Ph { point: PhPoint::Mash, .. })),
        gravity("first_wort", GravityPoint::FirstWort, "First-wort gravity"),
        volume("sparge", VolumePoint::Sparge, "Sparge water", &run_off),
        volume("pre_boil", VolumePoint::PreBoil, "Pre-boil volume", &run_off),
        gravity("pre_boil_gravity", GravityPoint::PreBoil, "Pre-boil gravity"),
    ]
}

impl StageFrame {
    /// What gravities are read with in this batch: a refractometer where there is no hydrometer.
    pub(super) fn usual_instrument(&self) -> Instrument {
        use crate::brewday::choices::EquipmentKind::{Hydrometer, Refractometer};
        let has = |kind| self.day.batch.first(kind).is_some();
        if has(Refractometer) && !has(Hydrometer) { Instrument::Refractometer } else { Instrument::Hydrometer }
    }
}
