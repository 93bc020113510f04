//! The summary: every computed figure of a batch, from recipe, equipment and
//! log, by one pure function.
//!
//! A figure that can't be computed is `None`, and [`Summary::missing`] says why
//! and which entry it waits for. The parts follow the day: [`readings`] brings
//! gravities and volumes to 20 °C, [`wort`] keeps the account of extract,
//! [`estimates`] what can only be estimated, [`chill`] the cooling ([`hindsight`]
//! what would have helped it), [`pitch`]
//! the clearance.

mod chill;
mod estimates;
mod figures;
mod hindsight;
mod missing;
mod pitch;
pub(crate) mod predicted;
pub mod readings;
mod wort;

pub use figures::{
    ChillFigures, ChillStageFigures, ChillVerdict, Clearance, ClearanceState, EfficiencyFigures, EstimateFigures,
    ExtractFigures, FlushFigures, FlushVerdict, GravityFigures, InstrumentFigures, LimitedBy, PitchFigures, Summary,
    VolumeFigures, WouldHelp, YeastFigures,
};
pub use pitch::clearance;
pub use wort::account;

use super::BrewDay;
use super::choices::EquipmentKind;
use missing::Missing;

impl Summary {
    /// Computes every figure from a folded day.
    #[must_use]
    pub fn of(day: &BrewDay) -> Self {
        let mut missing = Missing::default();
        let mut summary = Self {
            gravity: readings::gravity_figures(day, &mut missing),
            volume: wort::volume_figures(day, &mut missing),
            extract: wort::extract_figures(day, &mut missing),
            efficiency: wort::efficiency_figures(day, &mut missing),
            estimate: estimates::estimate_figures(day, &mut missing),
            yeast: estimates::yeast_figures(day, &mut missing),
            flush: pitch::flush_figures(day, &mut missing),
            chill: chill::chill_figures(day, &mut missing),
            instruments: InstrumentFigures {
                // 0 − 0, so that nothing off is no −0.
                thermometer_correction_c: 0.0 - day.batch.offset(EquipmentKind::Thermometer),
            },
            ..Self::default()
        };
        summary.pitch = pitch::pitch_figures(day, &summary, &mut missing);
        summary.missing = missing.into_reasons();
        summary
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;
    use crate::brewday::testing::Day;

    /// Every figure that is null, by its path.
    fn nulls(path: &str, value: &Value, found: &mut Vec<String>) {
        match value {
            Value::Null => found.push(path.to_owned()),
            Value::Object(fields) => {
                for (name, value) in fields {
                    let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                    nulls(&path, value, found);
                }
            }
            _ => {}
        }
    }

    #[test]
    fn every_figure_that_cannot_be_computed_says_why() {
        for day in [Day::new(), Day::ordinary()] {
            let summary = Summary::of(&day.fold());
            let mut found = Vec::new();
            nulls("", &serde_json::to_value(&summary).expect("a summary is JSON"), &mut found);
            let explained: Vec<String> = summary.missing.keys().cloned().collect();
            found.sort();
            assert_eq!(found, explained);
        }
    }

    #[test]
    fn an_ordinary_day_has_all_its_figures() {
        let summary = Summary::of(&Day::ordinary().fold());
        let missing: Vec<&String> = summary.missing.keys().collect();
        let unmeasured = ["chill.kettle_loss_se_w_per_k", "chill.kettle_loss_w_per_k", "chill.planned_min"];
        assert_eq!(missing, unmeasured);
        assert_eq!(summary.chill.verdict, ChillVerdict::Settled);
        assert_eq!(summary.flush.verdict, FlushVerdict::LongEnough);
        assert!(summary.pitch.clearance.iter().all(|line| line.state == ClearanceState::Done), "{:#?}", summary.pitch);
    }

    #[test]
    fn the_order_in_which_entries_arrive_changes_no_figure() {
        let day = Day::ordinary();
        let mut shuffled = Day::ordinary();
        let last = i64::try_from(shuffled.log.len()).expect("a short log");
        for line in &mut shuffled.log {
            line.seq = last + 1 - line.seq;
        }
        let told = |day: &Day| serde_json::to_value(Summary::of(&day.fold())).expect("a summary is JSON");
        assert_eq!(told(&day), told(&shuffled));
    }

    #[test]
    fn a_passing_dip_is_not_the_target_reached() {
        let mut day = Day::new();
        day.at(0.0, json!({"kind": "flame_out"}));
        for (minutes, celsius) in [(2.0, 60.0), (10.0, 18.8), (12.0, 22.0), (20.0, 20.0), (24.0, 19.0), (28.0, 18.9)] {
            day.at(minutes, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
        }
        let minutes = Summary::of(&day.fold()).chill.minutes_to_target.expect("it got there");
        assert!((minutes - 24.0).abs() < 1e-9, "{minutes}");
    }

    #[test]
    fn a_hold_in_air_takes_nothing_away_from_what_the_baths_tell() {
        let mut day = Day::ordinary();
        day.at(207.5, json!({"kind": "cooling_started", "method": "air"}));
        for minutes in [207.6, 208.2, 208.8, 209.4] {
            day.at(minutes, json!({"kind": "temperature", "place": "wort", "temperature_c": 20.0}));
        }
        let told = Summary::of(&day.fold()).chill;
        assert!(told.stages[..3].iter().all(|stage| stage.conductance_w_per_k.is_some()), "{:#?}", told.stages);
        assert!(told.conductance_w_per_k.is_some());
    }

    #[test]
    fn a_still_bath_is_limited_by_its_water_not_by_the_room() {
        let told = Summary::of(&Day::ordinary().fold()).chill;
        let limits: Vec<f64> = told.stages.iter().filter_map(|stage| stage.limit_c).collect();
        // 18 kg of water at 12 °C and 22 kg of wort meet near 55 °C, then near 35 °C.
        assert!((50.0..60.0).contains(&limits[0]) && (28.0..40.0).contains(&limits[1]), "{limits:?}");
    }

    #[test]
    fn a_probe_that_reads_every_second_tells_the_same_coil_as_a_hand_that_reads_each_minute() {
        let chilled = |every_s: u32| {
            let mut day = Day::new();
            day.at(0.0, json!({"kind": "flame_out"}));
            day.at(1.0, json!({"kind": "cooling_started", "method": "running_water", "water_c": 12, "flow_l_min": 6}));
            for second in (60..1500).step_by(every_s as usize) {
                let minutes = f64::from(second) / 60.0;
                let celsius = 12.0 + 84.0 * (-0.11 * (minutes - 1.0)).exp();
                day.at(minutes, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}));
            }
            Summary::of(&day.fold()).chill
        };
        let (probe, hand) = (chilled(1), chilled(60));
        let (one, other) = (probe.conductance_w_per_k.expect("a fit"), hand.conductance_w_per_k.expect("a fit"));
        // The kettle's own loss is not told by either, and each is as sure as it says.
        let se = hand.conductance_se_w_per_k.expect("a fit");
        assert!((one - other).abs() < se, "{one} by the second, {other} ± {se} by the minute");
        assert_eq!(probe.verdict, hand.verdict);
    }
}
