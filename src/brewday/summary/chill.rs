//! The chill's figures.

use super::figures::{ChillFigures, ChillStageFigures, ChillVerdict, LimitedBy};
use super::hindsight::would_help;
use super::missing::{Figure, Missing, beyond};
use crate::brewday::BrewDay;
use crate::brewday::chill::{Chill, LossFrom};
use crate::brewday::choices::Cooling;
use crate::brewday::summary::estimates::hop_additions;
use crate::brewday::summary::predicted::HopAddition;
use crate::science::bitterness::isomerisation::Alpha;
use crate::science::bitterness::tinseth;
use crate::science::chilling::exchange::{self, Limit};
use crate::science::chilling::fit::{ChillFit, NoFit, StageFit};
use crate::science::chilling::hold::Verdict;
use crate::science::chilling::series::{Method, Unknown};
use crate::science::chilling::stage::{Kettle, Moment, Stage};
use crate::science::chilling::{curve, standard};
use crate::science::curve::Curve;
use crate::science::units::{Energy, Length, Temperature, TimeSpan};
use crate::science::{boiling_point, dms};

const NOT_STARTED: &str = "Log the flame-out (or the first cooling stage).";
const LOSS_NOT_MEASURED: &str =
    "Let the hot kettle stand ten minutes with the pump off (cooled by: air), and read the wort at both ends.";
const NO_READINGS: &str = "Log at least two wort temperatures after flame-out.";

pub(super) fn chill_figures(day: &BrewDay, missing: &mut Missing) -> ChillFigures {
    let mut figures = ChillFigures::default();
    let chill = day.chilled().map(|chilled| &*chilled.chill).ok_or_else(|| NOT_STARTED.to_owned());
    hold_figures(day, &chill, &mut figures, missing);
    curve_figures(day, &chill, &mut figures, missing);
    water_and_ice(&chill, &mut figures, missing);
    coil_figures(day, &chill, &mut figures, missing);
    after_effects(day, &chill, &mut figures, missing);
    let planned = match &day.batch.chill_plan {
        Some(kept) if kept.plan.reaches_target => Ok(kept.plan.minutes),
        Some(_) => Err("The chill plan kept with this batch does not reach the target.".to_owned()),
        None => Err("Keep a chill plan with this batch: Prepare, Chill plan.".to_owned()),
    };
    figures.planned_min = missing.keep("chill.planned_min", planned);
    figures
}

type Started<'a> = Result<&'a Chill, String>;

fn hold_figures(day: &BrewDay, chill: &Started<'_>, figures: &mut ChillFigures, missing: &mut Missing) {
    let pass = chill.clone().and_then(|chill| {
        chill.pass.ok_or_else(|| {
            "Give the coil its pass time, or its flow: a pass is the wort's volume over the flow, or timed once round."
                .to_owned()
        })
    });
    figures.pass_s = missing.keep("chill.pass_s", pass.map(TimeSpan::seconds));
    let held = chill.clone().and_then(|chill| match chill.hold().verdict {
        Verdict::NotStarted => Err("Log the wort's temperature after flame-out.".to_owned()),
        Verdict::Moving => Ok((ChillVerdict::Moving, TimeSpan::ZERO)),
        Verdict::Holding { held, .. } => Ok((ChillVerdict::Holding, held)),
        Verdict::Settled { held, .. } => Ok((ChillVerdict::Settled, held)),
    });
    figures.verdict = held.as_ref().map_or(ChillVerdict::NotStarted, |(verdict, _)| *verdict);
    figures.held_s = missing.keep("chill.held_s", held.map(|(_, held)| held.seconds()));
    let target = Temperature::from_celsius(day.batch.recipe.target_pitch_c);
    let settled = chill.clone().and_then(|chill| {
        chill
            .first_settled(target)
            .ok_or_else(|| "The wort has not yet settled at its target for a full pass.".to_owned())
    });
    figures.minutes_to_settled = missing.keep("chill.minutes_to_settled", settled.map(TimeSpan::minutes));
}

/// Times and rates along the measured curve.
fn curve_figures(day: &BrewDay, chill: &Started<'_>, figures: &mut ChillFigures, missing: &mut Missing) {
    let whole = chill.clone().and_then(|chill| {
        let points = chill.points(day);
        if points.is_empty() { Err(NO_READINGS.to_owned()) } else { Ok(curve::Curve::exactly(points)) }
    });
    let falls_to = |celsius: f64| {
        whole.clone().and_then(|whole| {
            let level = Temperature::from_celsius(celsius);
            whole.falls_to(level).ok_or_else(|| "The wort was not seen to fall that far.".to_owned())
        })
    };
    let target = Temperature::from_celsius(day.batch.recipe.target_pitch_c);
    let target = chill.clone().and_then(|chill| {
        let stayed = chill.stayed_below(day, target);
        stayed.ok_or_else(|| "The wort was not seen to fall to its pitch target and stay there.".to_owned())
    });
    figures.minutes_to_target = missing.keep("chill.minutes_to_target", target.map(TimeSpan::minutes));
    figures.minutes_to_80c = missing.keep("chill.minutes_to_80c", falls_to(80.0).map(TimeSpan::minutes));
    let middle = falls_to(60.0).and_then(|from| Ok(falls_to(30.0)? - from));
    figures.minutes_60_to_30c = missing.keep("chill.minutes_60_to_30c", middle.map(TimeSpan::minutes));
    let rates = chill
        .clone()
        .and_then(|chill| curve::Curve::through(chill.series.readings()).rates().ok_or_else(|| NO_READINGS.to_owned()));
    figures.mean_rate_c_per_min =
        missing.keep("chill.mean_rate_c_per_min", rates.clone().map(|rates| rates.mean_k_per_min));
    figures.max_rate_c_per_min = missing.keep("chill.max_rate_c_per_min", rates.map(|rates| rates.max_k_per_min));
    let heat = chill.clone().and_then(|chill| {
        let readings = chill.series.readings();
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else { return Err(NO_READINGS.to_owned()) };
        Ok((chill.kettle.wort * (first.wort - last.wort)).megajoules())
    });
    figures.heat_mj = missing.keep("chill.heat_mj", heat);
}

fn water_and_ice(chill: &Started<'_>, figures: &mut ChillFigures, missing: &mut Missing) {
    let stages = chill
        .clone()
        .and_then(|chill| if chill.stages.is_empty() { Err("Log the cooling stages.".to_owned()) } else { Ok(chill) });
    let water =
        stages.clone().and_then(|chill| chill.stages.iter().map(|stage| water_l(chill, stage)).sum::<Figure<f64>>());
    let ice = stages.clone().map(|chill| chill.stages.iter().map(|stage| stage.ice_kg()).sum::<f64>());
    let wort_l = stages.map(|chill| chill.wort.volume.litres());
    let per_litre = |amount: &Figure<f64>| amount.clone().and_then(|amount| Ok(amount / wort_l.clone()?));
    figures.water_l_per_l = missing.keep("chill.water_l_per_l", per_litre(&water));
    figures.ice_kg_per_l = missing.keep("chill.ice_kg_per_l", per_litre(&ice));
    figures.water_l = missing.keep("chill.water_l", water);
    figures.ice_kg = missing.keep("chill.ice_kg", ice);
}

/// Water a stage used: the bath's, or what ran through.
fn water_l(chill: &Chill, stage: &crate::brewday::day::CoolingStage) -> Figure<f64> {
    match stage.cooling.method {
        Cooling::Air => Ok(0.0),
        Cooling::StillBath => stage.cooling.water_l.ok_or_else(|| "Log how much water each bath holds.".to_owned()),
        // An ice bath may be ice alone.
        Cooling::IceBath => Ok(stage.cooling.water_l.unwrap_or(0.0)),
        Cooling::RunningWater => {
            let flow = stage.cooling.flow_l_min.ok_or("Log the flow of the running water.")?;
            let ended = stage.ended.map(|ended| chill.minutes(ended));
            let last = chill.series.readings().last().map(|reading| reading.at.minutes());
            let ended = ended.or(last).ok_or("The running water has not been turned off yet.")?;
            Ok(flow * (ended - chill.minutes(stage.started)).max(0.0))
        }
    }
}

/// What the coil did: per stage, over all, and against the standard chill.
fn coil_figures(day: &BrewDay, chill: &Started<'_>, figures: &mut ChillFigures, missing: &mut Missing) {
    let fit = day.chilled().map(|chilled| &**chilled.fit()).ok_or_else(|| NOT_STARTED.to_owned());
    if let (Ok(chill), Ok(fit)) = (chill, &fit) {
        figures.stages = stage_figures(chill, fit);
        figures.limited_by = limited_by(chill, fit);
    }
    let loss = match (chill, &fit) {
        (Ok(chill), Ok(fit)) => match chill.loss_from(fit) {
            LossFrom::Today(loss) => Ok(loss),
            LossFrom::Earlier(_) | LossFrom::Assumed => Err(LOSS_NOT_MEASURED.to_owned()),
        },
        (Err(why), _) | (_, Err(why)) => Err(why.clone()),
    };
    let watts = loss.clone().map(|loss| loss.conductance.watts_per_kelvin());
    figures.kettle_loss_w_per_k = missing.keep("chill.kettle_loss_w_per_k", watts);
    figures.kettle_loss_se_w_per_k =
        missing.keep("chill.kettle_loss_se_w_per_k", loss.map(|loss| loss.se.watts_per_kelvin()));
    let joint = fit.clone().and_then(|fit| fit.joint.as_ref().map(|joint| joint.coil).map_err(no_fit));
    let conductance = joint.clone().map(|coil| coil.conductance.watts_per_kelvin());
    figures.conductance_w_per_k = missing.keep("chill.conductance_w_per_k", conductance);
    let se = joint.clone().map(|coil| coil.se.watts_per_kelvin());
    figures.conductance_se_w_per_k = missing.keep("chill.conductance_se_w_per_k", se);
    let standard = joint.and_then(|coil| {
        standard::standard_chill_of(coil).ok_or_else(|| "The coil's conductance could not be told.".to_owned())
    });
    figures.standard_chill_min =
        missing.keep("chill.standard_chill_min", standard.clone().map(|(time, _)| time.minutes()));
    figures.standard_chill_se_min = missing.keep("chill.standard_chill_se_min", standard.map(|(_, se)| se.minutes()));
    let used = match (chill, &fit) {
        (Ok(chill), Ok(fit)) => bath_capacity_used(chill, fit),
        (Err(why), _) | (_, Err(why)) => Err(why.clone()),
    };
    figures.bath_capacity_used_pct = missing.keep("chill.bath_capacity_used_pct", used);
    let told = chill.clone().and_then(|chill| Ok((chill, fit?)));
    would_help(day, told, figures, missing);
}

fn stage_figures(chill: &Chill, fit: &ChillFit) -> Vec<ChillStageFigures> {
    let flow = chill.flow_heat();
    chill
        .stages
        .iter()
        .zip(&fit.stages)
        .enumerate()
        .map(|(index, (stage, fitted))| {
            let readings = chill.series.readings_in(index);
            let fitted_ok = fitted.as_ref().ok();
            let coil = fitted_ok.map(|fitted| fitted.coil);
            ChillStageFigures {
                method: stage.cooling.method,
                started_at: stage.started,
                minutes: stage.ended.map(|ended| (ended - stage.started).as_seconds_f64() / 60.0),
                wort_start_c: readings.first().map(|reading| reading.wort.celsius()),
                wort_end_c: readings.last().map(|reading| reading.wort.celsius()),
                conductance_w_per_k: coil.map(|coil| coil.conductance.watts_per_kelvin()),
                conductance_se_w_per_k: coil.map(|coil| coil.se.watts_per_kelvin()),
                effectiveness: coil
                    .zip(flow)
                    .filter(|_| stage.cooling.method != Cooling::Air)
                    .map(|(coil, flow)| exchange::effectiveness(coil.conductance, flow)),
                limit_c: fitted_ok.map(|fitted| fitted.limit.celsius()),
                why_not: fitted.as_ref().err().map(|why| no_fit_in(stage.cooling.method, why)),
            }
        })
        .collect()
}

/// The same of one stage: in air it is the kettle that is not known.
fn no_fit_in(method: Cooling, why: &NoFit) -> String {
    match (method, why) {
        (Cooling::Air, NoFit::TooFewReadings { .. }) => {
            "Two readings ten minutes apart tell what the kettle loses by itself.".to_owned()
        }
        (Cooling::Air, NoFit::Undetermined) => {
            "Too near the room’s temperature, or too short, to tell what the kettle loses by itself.".to_owned()
        }
        _ => no_fit(why),
    }
}

/// Why there is no conductance, and what to log to get one.
pub(super) fn no_fit(why: &NoFit) -> String {
    match why {
        NoFit::TooFewReadings { have } => {
            let readings = if *have == 1 { "reading" } else { "readings" };
            format!("{have} wort {readings} in this stage: at least 3 are needed to tell what the coil did.")
        }
        NoFit::Coolant(Unknown::WaterMass) => "Log how much water the bath holds.".to_owned(),
        NoFit::Coolant(Unknown::WaterTemperature) => "Log how warm the cooling water is.".to_owned(),
        NoFit::Coolant(Unknown::IceMass) => "Log how much ice went into the bath.".to_owned(),
        NoFit::Undetermined => "Wort and bath were too close to each other to tell what the coil did.".to_owned(),
        NoFit::NoStage => "No coil in water cooled this wort, so there is nothing to tell of the coil.".to_owned(),
    }
}

/// A stage of the coil that was fitted.
struct Fitted<'a> {
    index: usize,
    start: Moment,
    started: TimeSpan,
    ended: TimeSpan,
    fit: &'a StageFit,
}

impl Fitted<'_> {
    fn lasted(&self) -> TimeSpan {
        self.ended - self.started
    }
}

fn fitted<'a>(chill: &'a Chill, fit: &'a ChillFit) -> impl Iterator<Item = Fitted<'a>> {
    chill.series.stages().iter().zip(&fit.stages).enumerate().filter_map(|(index, (stage, fitted))| {
        let fitted = fitted.as_ref().ok().filter(|_| stage.method != Method::Air)?;
        let ended = chill.series.end_of(index).or_else(|| chill.series.readings().last().map(|last| last.at))?;
        let start = Moment { wort: fitted.wort_at_start, coolant: stage.coolant().ok()? };
        Some(Fitted { index, start, started: stage.started, ended, fit: fitted })
    })
}

/// What limited the longest fitted stage.
fn limited_by(chill: &Chill, fit: &ChillFit) -> LimitedBy {
    let longest = fitted(chill, fit).max_by(|one, other| one.lasted().seconds().total_cmp(&other.lasted().seconds()));
    let Some(longest) = longest else { return LimitedBy::Unknown };
    let stirred = if chill.is_stirred(longest.index) { chill.stir_gain(longest.index) } else { None };
    let kettle = Kettle { loss: fit.loss, ..chill.kettle };
    let coil = longest.fit.coil.conductance;
    let limit = exchange::limit(longest.start, kettle, coil, chill.flow_heat(), longest.lasted(), stirred);
    match limit {
        Limit::Flow => LimitedBy::Flow,
        Limit::Coil => LimitedBy::Coil,
        Limit::Bath => LimitedBy::Bath,
        Limit::Stirring => LimitedBy::Stirring,
        Limit::Unknown => LimitedBy::Unknown,
    }
}

/// How much the baths took of what they could have taken from the wort they got.
fn bath_capacity_used(chill: &Chill, fit: &ChillFit) -> Figure<f64> {
    let (mut taken, mut possible) = (Energy::ZERO, Energy::ZERO);
    let kettle = Kettle { loss: fit.loss, ..chill.kettle };
    for one in fitted(chill, fit) {
        let stage = Stage::begin(one.start, kettle, one.fit.coil.conductance);
        if let Some(used) = stage.bath_used(one.lasted()).filter(|used| *used > 0.0) {
            let heat = stage.heat_through_coil(one.lasted());
            taken = taken + heat;
            possible = possible + heat / used;
        }
    }
    let no_bath = "No bath's stage could be fitted.";
    if possible > Energy::ZERO { Ok(100.0 * (taken / possible)) } else { Err(no_bath.to_owned()) }
}

fn after_effects(day: &BrewDay, chill: &Started<'_>, figures: &mut ChillFigures, missing: &mut Missing) {
    let whole = chill.clone().and_then(|chill| {
        let points = chill.points(day);
        if points.is_empty() {
            return Err(NO_READINGS.to_owned());
        }
        Ok((chill, Curve::new(points).map_err(|why| why.to_string())?))
    });
    let alpha = whole.clone().and_then(|(chill, along)| {
        let height = Length::from_metres(day.batch.altitude_m.unwrap_or(0.0));
        let boil = boiling_point::at_altitude(height).map_err(beyond)?;
        let hops = hop_additions(day);
        let held = |boiled| Alpha { iso: 0.0, lost: 0.0, ..Alpha::FRESH.held(boil, boiled) };
        let after = Alpha::all_along(hops.iter().map(|hop| held(hop.boiled)).collect::<Vec<_>>(), &along);
        let alpha_mg_l =
            |hop: &HopAddition| tinseth::alpha_acid(hop.alpha, hop.mass, chill.wort.volume).map_err(beyond);
        let made = hops.iter().zip(after).map(|(hop, after)| Ok(alpha_mg_l(hop)? * after.iso));
        // The sum of nothing is −0.
        made.sum::<Figure<f64>>().map(|sum| sum + 0.0)
    });
    figures.alpha_isomerised_after_flame_out_mg_per_l =
        missing.keep("chill.alpha_isomerised_after_flame_out_mg_per_l", alpha);
    let dms = whole.map(|(_, along)| 100.0 * dms::turnover(&along).share);
    figures.dms_precursor_turned_over_pct = missing.keep("chill.dms_precursor_turned_over_pct", dms);
}
