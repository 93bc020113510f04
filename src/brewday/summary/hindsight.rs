//! What would have helped this chill most.

use super::figures::{ChillFigures, LimitedBy, WouldHelp};
use super::missing::{Figure, Missing};
use crate::brewday::Body;
use crate::brewday::BrewDay;
use crate::brewday::chill::Chill;
use crate::brewday::choices::Stage as DayStage;
use crate::science::chilling::fit::{self, ChillFit, NoFit, Setting};
use crate::science::chilling::hindsight::{Bathed, Gain, Help, Went, gains};
use crate::science::chilling::series::{Act, Method};
use crate::science::chilling::{Estimate, exchange};
use crate::science::units::{Density, SpecificHeat, Temperature, TimeSpan};

/// Fills in what would have helped, once the chill is over.
pub(super) fn would_help(
    day: &BrewDay,
    told: Result<(&Chill, &ChillFit), String>,
    figures: &mut ChillFigures,
    missing: &mut Missing,
) {
    let is_over = figures.minutes_to_target.is_some() || day.pitched().is_some() || is_finished(day);
    let tried = told.and_then(|(chill, fit)| {
        if !is_over {
            return Err("The chill is not over yet.".to_owned());
        }
        tried(day, chill, fit)
    });
    if let Some(limit) = tried.as_ref().ok().and_then(|gains| held_back(gains)) {
        figures.limited_by = limit;
    }
    let most =
        tried.and_then(|gains| gains.first().copied().ok_or_else(|| "Nothing was there to be changed.".to_owned()));
    let what = most.clone().map(|gain| match gain.help {
        Help::BestTimes => WouldHelp::BestTimes,
        Help::Bucket => WouldHelp::Bucket,
        Help::Ice => WouldHelp::Ice,
        Help::Flow => WouldHelp::Flow,
        Help::Coil => WouldHelp::Coil,
        Help::Stir => WouldHelp::Stir,
    });
    figures.would_help = missing.keep("chill.would_help", what);
    figures.would_help_saves_min = missing.keep("chill.would_help_saves_min", most.map(|gain| gain.saves.minutes()));
}

/// Water from the tap, near 15 °C [IAPWS-95].
const TAP_DENSITY: Density = Density::from_kg_per_m3(999.1);
/// The same.
const TAP_SPECIFIC_HEAT: SpecificHeat = SpecificHeat::from_kilojoules_per_kg_kelvin(4.189);

fn is_finished(day: &BrewDay) -> bool {
    day.standing.iter().any(|entry| entry.body == Body::StageFinished { stage: DayStage::Chill })
}

/// Every change that could be tried, the one that saves most first.
fn tried(day: &BrewDay, chill: &Chill, fit: &ChillFit) -> Figure<Vec<Gain>> {
    let went = went(day, chill, fit)?;
    let unsure = "The readings leave the coil too unsure to say what would have helped.";
    gains(&went).map(|(_, gains)| gains).ok_or_else(|| unsure.to_owned())
}

/// What would have helped most names what held the whole chill back. When the
/// baths were changed is nobody's limit, and without the flow a better pump and a
/// better coil look the same.
fn held_back(gains: &[Gain]) -> Option<LimitedBy> {
    let knows_flow = gains.iter().any(|gain| gain.help == Help::Flow);
    let limits = gains.iter().filter(|gain| knows_flow && gain.saves > TimeSpan::ZERO);
    let mut limits = limits.filter_map(|gain| match gain.help {
        Help::Bucket | Help::Ice => Some(LimitedBy::Bath),
        Help::Flow => Some(LimitedBy::Flow),
        Help::Coil => Some(LimitedBy::Coil),
        Help::Stir => Some(LimitedBy::Stirring),
        Help::BestTimes => None,
    });
    limits.next()
}

/// The coil's stages with what was fitted to each; one without a fit of its own
/// takes the one over all.
fn went(day: &BrewDay, chill: &Chill, fit: &ChillFit) -> Figure<Went> {
    let all = fit.joint.as_ref().map(|joint| joint.coil).map_err(super::chill::no_fit);
    let mut stages = Vec::new();
    let mut from = None;
    let coils = chill.series.stages().iter().enumerate().filter(|(_, stage)| stage.method != Method::Air);
    for (index, stage) in coils {
        let ended = chill.series.end_of(index).or_else(|| chill.series.readings().last().map(|last| last.at));
        let ended = ended.filter(|ended| *ended > stage.started);
        let Some(ended) = ended else { continue };
        let own = fit.stages.get(index).and_then(|fitted| fitted.as_ref().ok());
        if from.is_none() {
            from = own.map(|own| own.wort_at_start).or_else(|| wort_at(chill, stage.started));
        }
        stages.push(Bathed {
            coolant: stage.coolant().map_err(|why| super::chill::no_fit(&NoFit::Coolant(why)))?,
            coil: own.map_or_else(|| all.clone(), |own| Ok(own.coil))?,
            stirred: stirred(chill, index, stage.started, ended),
            flow: match stage.method {
                Method::RunningWater => {
                    stage.flow.map(|flow| exchange::flow_heat(flow, TAP_DENSITY, TAP_SPECIFIC_HEAT))
                }
                _ => chill.flow_heat(),
            },
            started: stage.started,
            ended,
            ice: chill
                .series
                .events()
                .iter()
                .filter_map(|event| match event.act {
                    Act::IceAdded(mass) if event.at > stage.started && event.at <= ended => Some((event.at, mass)),
                    _ => None,
                })
                .collect(),
        });
    }
    let first = stages.first().ok_or_else(|| super::chill::no_fit(&NoFit::NoStage))?;
    let from = from.ok_or_else(|| {
        format!(
            "Log the wort's temperature when the coil goes in ({:.0} min after flame-out).",
            first.started.minutes()
        )
    })?;
    let target = Temperature::from_celsius(day.batch.recipe.target_pitch_c);
    Ok(Went { kettle: chill.kettle, from, target, stages })
}

/// The wort nearest before a time, else after it.
fn wort_at(chill: &Chill, at: TimeSpan) -> Option<Temperature> {
    let readings = chill.series.readings();
    let before = readings.iter().rev().find(|reading| reading.at <= at);
    before.or(readings.first()).map(|reading| reading.wort)
}

/// K before and after a stir of a stage; asked only where there was one.
fn stirred(chill: &Chill, index: usize, started: TimeSpan, ended: TimeSpan) -> Option<(Estimate, Estimate)> {
    let within = |at: TimeSpan| at > started && at < ended;
    let any = chill.series.events().iter().any(|event| event.act == Act::Stirred && within(event.at));
    any.then(|| fit::stir_gain(&chill.series, &Setting::new(chill.kettle, chill.pass), index)).flatten()
}
