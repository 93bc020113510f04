//! Boil: additions on a countdown, the coil's hot flush, and the kettle read at the end.

use askama::Template;
use time::{Duration, OffsetDateTime};

use super::correction::{self, CorrectionTold};
use super::frame::StageFrame;
use super::panel::{Panel, in_turn};
use crate::brewday::Body;
use crate::brewday::choices::{Choice, GravityPoint, HopUse, OtherUse, VolumePoint};
use crate::brewday::plausible::Dimension;
use crate::brewday::summary::{FlushVerdict, account};
use crate::science::extract::account::{Account, Reading, Suspect};
use crate::science::gravity::hydrometer::HOTTEST_SAMPLE;
use crate::science::sanitation;
use crate::web::when::Moment;
use crate::web::{App, AppError, Frame, Page};

/// How hot a kettle is that has just boiled.
const HOT_C: f64 = 98.0;
/// How warm a sample is taken to be where nobody says.
const COLD_C: f64 = 20.0;

#[derive(Template)]
#[template(path = "stages/boil.html")]
pub(super) struct BoilPage {
    frame: Frame,
    page: StageFrame,
    additions: Vec<Addition>,
    ends: Option<Moment>,
    panels: Vec<Panel>,
    flush: Flush,
    account: Option<AccountTold>,
    /// What the kettle should get: on top until it was read after the boil, then below.
    correction: Option<CorrectionTold>,
}

/// An addition of the recipe, on the clock.
pub(super) struct Addition {
    name: String,
    amount: String,
    when: String,
    pub(super) due: Option<Moment>,
    /// When it went in, where it did.
    pub(super) done: Option<Moment>,
    panel: Panel,
    /// Its place among the recipe's.
    planned: usize,
    mass_kg: f64,
}

/// The coil's hot flush.
struct Flush {
    running_since: Option<Moment>,
    panel: Panel,
    /// The published rules, in the brewer's own units.
    rules: String,
    verdict: FlushVerdict,
    told: String,
}

/// The extract account in words.
struct AccountTold {
    closes: bool,
    gap: String,
    suspects: Vec<String>,
}

pub(super) async fn page(app: &App, page: StageFrame) -> Result<Page<BoilPage>, AppError> {
    let plan = correction::planned(app, &page.day).await?;
    Ok(Page(BoilPage {
        additions: additions(&page),
        ends: ends(&page).map(|at| page.frame.clock.time(at)),
        panels: in_turn(panels(&page)),
        flush: flush(&page),
        account: account(&page.day).ok().map(|account| told(&page.frame, account)),
        correction: CorrectionTold::of(&page.frame, &page.day, &plan),
        frame: page.frame.clone(),
        page,
    }))
}

impl Addition {
    /// What the phone says when it is due.
    pub(super) fn what(&self) -> String {
        format!("{} {} is due", self.amount, self.name)
    }

    /// What the phone logs where it rings for this and is told that it is in.
    pub(super) fn rung(&self, page: &StageFrame) -> Panel {
        panel(page, "rung", self.planned, &self.name, self.mass_kg)
    }
}

/// When the boil is over, once it has begun.
pub(super) fn ends(page: &StageFrame) -> Option<OffsetDateTime> {
    page.day.boil_started().map(|at| at + minutes(page.day.batch.recipe.boil_min))
}

fn minutes(minutes: f64) -> Duration {
    Duration::seconds_f64(minutes * 60.0)
}

pub(super) fn additions(page: &StageFrame) -> Vec<Addition> {
    let recipe = page.day.batch.scaled_recipe();
    let that_day = page.frame.on(page.day.brewed_at());
    let boil_min = recipe.boil_min;
    let hops = recipe.hops.iter().enumerate().map(|(index, hop)| {
        let before_end = match hop.used {
            HopUse::FirstWort => boil_min,
            HopUse::Boil => hop.min,
            HopUse::FlameOut => 0.0,
        };
        (index, hop.name.clone(), hop.mass_kg, hop.used.label(), before_end)
    });
    let others = recipe.other.iter().enumerate().filter_map(|(index, other)| {
        let before_end = match other.used {
            OtherUse::Boil => other.min,
            OtherUse::FlameOut => 0.0,
            OtherUse::Mash | OtherUse::Fermenter => return None,
        };
        Some((recipe.hops.len() + index, other.name.clone(), other.mass_kg, other.used.label(), before_end))
    });
    let mut additions: Vec<_> = hops.chain(others).collect();
    additions.sort_by(|one, other| other.4.total_cmp(&one.4));
    additions
        .into_iter()
        .map(|(planned, name, mass_kg, used, before_end)| {
            let due = page.day.boil_started().map(|at| at + minutes(boil_min - before_end));
            let done = page.day.standing.iter().rev().find(|entry| {
                matches!(entry.body, Body::Addition { planned: Some(p), .. } if usize::try_from(p) == Ok(planned))
            });
            Addition {
                panel: panel(page, "addition", planned, &name, mass_kg),
                planned,
                mass_kg,
                amount: page.frame.show(mass_kg, Dimension::SmallMass).to_string(),
                when: if before_end > 0.0 {
                    format!("{used}, {}", page.frame.show(before_end, Dimension::Minutes))
                } else {
                    used.to_owned()
                },
                due: due.map(|at| page.frame.clock.time(at)),
                done: done.map(|entry| that_day.clock.short(entry.at)),
                name,
            }
        })
        .collect()
}

/// The form that logs an addition; the page has it once in its list, once for the bell.
fn panel(page: &StageFrame, scope: &str, planned: usize, name: &str, mass_kg: f64) -> Panel {
    Panel::new(page, &format!("{scope}-{planned}"), "addition", name)
        .with("what", name)
        .with("planned", planned.to_string())
        .filled("mass_kg", page.frame.as_typed(mass_kg, Dimension::SmallMass))
        .button("It is in")
}

fn flush(page: &StageFrame) -> Flush {
    let running = page.day.flush().filter(|flush| flush.finished.is_none()).and_then(|flush| flush.started);
    let panel = if running.is_some() {
        Panel::new(page, "flush_finished", "flush_finished", "Finish the hot flush").button("Flush finished")
    } else {
        Panel::new(page, "flush_started", "flush_started", "Start the hot flush").button("Flush started")
    };
    let figures = &page.summary.flush;
    let mut told = figures.verdict.label().to_owned();
    if let (Some(seconds), Some(celsius)) = (figures.seconds, figures.temperature_c) {
        told = format!("{told}: {seconds:.0}\u{a0}s at {}", page.frame.show(celsius, Dimension::Temperature));
    }
    Flush {
        running_since: running.map(|at| page.frame.clock.time(at)),
        panel: panel.now(running.is_some()),
        rules: rules(&page.frame),
        verdict: figures.verdict,
        told,
    }
}

/// "77 °C for 30 s (food code), 77 °C for 5 min at the outlet (dairy)"
fn rules(frame: &Frame) -> String {
    let hot = frame.mark(sanitation::HOT_ENOUGH.celsius());
    let (food, dairy) = (sanitation::FOOD_CODE.seconds(), sanitation::DAIRY.minutes());
    format!("{hot} for {food:.0}\u{a0}s (food code), {hot} for {dairy:.0}\u{a0}min at the outlet (dairy)")
}

fn panels(page: &StageFrame) -> Vec<Panel> {
    let hot = page.frame.as_typed(HOT_C, Dimension::Temperature);
    let cold = page.frame.as_typed(COLD_C, Dimension::Temperature);
    vec![
        Panel::new(page, "post_boil", "volume", "Post-boil volume")
            .of("point", VolumePoint::PostBoil)
            .filled("temperature_c", hot)
            .last(page, |entry| matches!(entry.body, Body::Volume { point: VolumePoint::PostBoil, .. })),
        Panel::new(page, "post_boil_gravity", "gravity", "Post-boil gravity")
            .of("point", GravityPoint::PostBoil)
            .filled("instrument", page.usual_instrument().key())
            .filled("temperature_c", cold)
            .hint(format!(
                "Let the sample cool first: above {} the correction is a guess.",
                page.frame.mark(HOTTEST_SAMPLE.celsius())
            ))
            .last(page, |entry| matches!(entry.body, Body::Gravity { point: GravityPoint::PostBoil, .. })),
    ]
}

fn told(frame: &Frame, account: Account) -> AccountTold {
    let gap = account.gap();
    AccountTold {
        closes: account.closes(),
        gap: format!(
            "{} {}",
            frame.say_measured(gap.value.abs(), gap.se, Dimension::Mass),
            if gap.value < 0.0 { "less" } else { "more" }
        ),
        suspects: account.suspects().iter().map(|suspect| suspect_told(frame, suspect)).collect(),
    }
}

/// "Pre-boil gravity 1.042 would have to be 1.037."
fn suspect_told(frame: &Frame, suspect: &Suspect) -> String {
    let (name, dimension) = match suspect.reading {
        Reading::PreBoilVolume => ("Pre-boil volume", Dimension::Volume),
        Reading::PreBoilGravity => ("Pre-boil gravity", Dimension::Gravity),
        Reading::KettleSugar => ("Sugar added, as extract", Dimension::Mass),
        Reading::PostBoilVolume => ("Post-boil volume", Dimension::Volume),
        Reading::PostBoilGravity => ("Post-boil gravity", Dimension::Gravity),
    };
    let show = |value| frame.show(value, dimension);
    let at = match suspect.reading {
        Reading::PreBoilVolume | Reading::PostBoilVolume => format!(" at {}", frame.reference()),
        _ => String::new(),
    };
    format!("{name} {}{at} would have to be {}.", show(suspect.is), show(suspect.needed))
}
