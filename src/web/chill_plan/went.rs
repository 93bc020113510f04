//! Planned against actual, as pages and paper tell it.

use crate::brewday::chill_went::{Cause, ChillWent, Turn};
use crate::brewday::choices::{Choice, Cooling};
use crate::brewday::plausible::Dimension;
use crate::brewday::{BrewDay, Summary};
use crate::web::Frame;

/// A chill beside its plan.
#[derive(Clone, Debug)]
pub(crate) struct WentTold {
    pub(crate) rows: Vec<WentRow>,
    /// "It took 34 min, 3 min longer than planned."
    pub(crate) sentence: String,
    /// "The coil passed 103 W for each kelvin, not 118: 4 min longer."
    pub(crate) causes: Vec<String>,
    pub(crate) degree: &'static str,
    pub(crate) kilogram: &'static str,
}

/// A bath's turn, planned and as it went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct WentRow {
    pub(crate) bath: String,
    /// Minutes, wort at the end, ice: planned and as it went.
    pub(crate) cells: [(String, String); 3],
}

impl WentTold {
    pub(crate) fn of(frame: &Frame, day: &BrewDay, summary: &Summary) -> Option<Self> {
        let went = ChillWent::of(day, summary)?;
        Some(Self {
            rows: rows(frame, &went),
            sentence: sentence(frame, &went, summary),
            causes: went.causes.iter().map(|cause| told(*cause)).collect(),
            degree: frame.degree_unit(),
            kilogram: frame.show(1.0, Dimension::Mass).unit,
        })
    }
}

fn rows(frame: &Frame, went: &ChillWent) -> Vec<WentRow> {
    let text =
        |value: Option<f64>, dimension| value.map_or_else(|| "–".to_owned(), |value| frame.show(value, dimension).text);
    let cells = |turn: Option<&Turn>| {
        let minutes =
            turn.and_then(|turn| turn.minutes).map_or_else(|| "–".to_owned(), |minutes| format!("{minutes:.0}"));
        let ice = turn.map(|turn| (turn.ice_kg * 10.0).round() / 10.0);
        [minutes, text(turn.and_then(|turn| turn.wort_end_c), Dimension::Temperature), text(ice, Dimension::Mass)]
    };
    let mut baths = 0;
    let turns = went.turns.iter().map(|turn| {
        let method = turn.went.or(turn.planned).map_or(Cooling::Air, |turn| turn.method);
        let is_bath = matches!(method, Cooling::StillBath | Cooling::IceBath);
        baths += usize::from(is_bath);
        let [planned, actual] = [turn.planned.as_ref(), turn.went.as_ref()].map(cells);
        let pair = |at: usize| (planned[at].clone(), actual[at].clone());
        WentRow {
            bath: match method {
                Cooling::StillBath => format!("Bath {baths}"),
                Cooling::IceBath => format!("Bath {baths}, ice"),
                other => other.label().to_owned(),
            },
            cells: [pair(0), pair(1), pair(2)],
        }
    });
    turns.collect()
}

fn sentence(frame: &Frame, went: &ChillWent, summary: &Summary) -> String {
    let Some(took) = went.took_min else {
        return format!(
            "Planned: {:.0}\u{a0}min from the coil going in. The wort was not seen to get to its target and stay there.",
            went.planned_min
        );
    };
    let apart = (took - went.planned_min).round();
    let against = match apart {
        _ if !went.plan_reaches => "which the plan did not reach".to_owned(),
        apart if apart >= 1.0 => format!("{apart:.0}\u{a0}min longer than planned"),
        apart if apart <= -1.0 => format!("{:.0}\u{a0}min less than planned", -apart),
        _ => "as planned".to_owned(),
    };
    let ice = summary.chill.ice_kg.map(|ice_kg| format!(" Ice used: {}.", frame.show(ice_kg, Dimension::Mass)));
    format!("From the coil going in to the target it took {took:.0}\u{a0}min, {against}.{}", ice.unwrap_or_default())
}

fn told(cause: Cause) -> String {
    let minutes = |minutes: f64| {
        let way = if minutes > 0.0 { "longer" } else { "less" };
        format!("{:.0}\u{a0}min {way}", minutes.abs().max(1.0))
    };
    match cause {
        Cause::Coil { planned, was, minutes: by } => {
            format!("The coil passed {was:.0}\u{a0}W for each kelvin, not {planned:.0}: {}.", minutes(by))
        }
        Cause::Baths { minutes: by } => format!("Other water and ice than planned: {}.", minutes(by)),
        Cause::Rest { minutes: by } => format!("When the baths were changed, and everything else: {}.", minutes(by)),
    }
}
