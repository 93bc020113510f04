//! What is known of the instruments a batch is brewed with, and taking off what
//! they show too much.
//!
//! An entry says what was read, not with which of two thermometers. So a figure
//! of an instrument counts where every one of its kind that was set out has the
//! same; where they differ, none is used, and the pages say so. The log keeps what
//! was read: only what is computed from it is corrected, once, where it is asked
//! of [`BrewDay`](super::BrewDay).

use super::choices::EquipmentKind;
use super::{Batch, Equipment};

/// Where a hydrometer is marked for when nobody says.
pub const MARKED_FOR_C: f64 = 20.0;

/// Instruments whose own figures correct what is read on them.
pub const CORRECTED: [EquipmentKind; 3] =
    [EquipmentKind::Thermometer, EquipmentKind::Hydrometer, EquipmentKind::Refractometer];

impl Batch {
    /// A figure of the instruments of a kind: theirs where all agree, else none.
    fn agreed(&self, kind: EquipmentKind, figure: impl Fn(&Equipment) -> Option<f64>) -> Option<f64> {
        let mut all = self.all(kind).map(|record| figure(&record.equipment));
        let first = all.next()?;
        if all.all(|other| other == first) { first } else { None }
    }

    /// What readings on instruments of a kind are too high by, in the instrument's
    /// own unit: nothing where none is known, or where two differ.
    #[must_use]
    pub fn offset(&self, kind: EquipmentKind) -> f64 {
        self.agreed(kind, |one| Some(one.offset.unwrap_or(0.0))).unwrap_or(0.0)
    }

    /// The temperature that the hydrometer's scale holds at, °C.
    #[must_use]
    pub fn marked_for_c(&self) -> f64 {
        let marked = |one: &Equipment| Some(one.calibration_c.unwrap_or(MARKED_FOR_C));
        self.agreed(EquipmentKind::Hydrometer, marked).unwrap_or(MARKED_FOR_C)
    }

    /// The refractometer's own °Bx over °P.
    #[must_use]
    pub fn wort_factor(&self) -> Option<f64> {
        self.agreed(EquipmentKind::Refractometer, |one| one.wort_factor)
    }

    /// How far a reading on an instrument of a kind may be off: as the worst of them.
    #[must_use]
    pub fn uncertainty(&self, kind: EquipmentKind) -> Option<f64> {
        self.all(kind).filter_map(|record| record.equipment.uncertainty).reduce(f64::max)
    }

    /// Whether there are several instruments of a kind that would correct a reading
    /// differently, so that none corrects it.
    #[must_use]
    pub fn instruments_differ(&self, kind: EquipmentKind) -> bool {
        let corrects = |one: &Equipment| {
            (one.offset.unwrap_or(0.0), one.calibration_c.unwrap_or(MARKED_FOR_C), one.wort_factor.unwrap_or_default())
        };
        let mut all = self.all(kind).map(|record| corrects(&record.equipment));
        all.next().is_some_and(|first| all.any(|other| other != first))
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;
    use crate::brewday::choices::{GravityPoint, Place, VolumePoint};
    use crate::brewday::summary::readings::{corrected_gravity, volume_at_20};
    use crate::brewday::testing::{Day, equipment};
    use crate::brewday::{BrewDay, Summary};

    /// A day on these instruments, with readings of every kind that has a temperature.
    fn day(instruments: &[(EquipmentKind, Value)]) -> BrewDay {
        let mut day = Day::new();
        day.batch.equipment.retain(|record| !CORRECTED.contains(&record.equipment.kind));
        for (number, (kind, figures)) in (90..).zip(instruments) {
            day.batch.equipment.push(equipment(number, *kind, figures.clone()));
        }
        day.at(10.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 20.4}));
        day.at(20.0, json!({"kind": "volume", "point": "pre_boil", "volume_l": 25, "temperature_c": 70.4}));
        day.at(
            21.0,
            json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer",
            "reading": 1.040, "temperature_c": 30.4}),
        );
        day.at(
            22.0,
            json!({"kind": "gravity", "point": "first_wort", "instrument": "refractometer",
            "reading": 15.3, "temperature_c": 20}),
        );
        day.at(30.0, json!({"kind": "flush_started", "temperature_c": 77.2}));
        day.at(32.0, json!({"kind": "flush_finished", "temperature_c": 80}));
        day.at(40.0, json!({"kind": "pitched", "yeast": "House ale", "yeast_c": 18.4, "wort_c": 19.4}));
        day.fold()
    }

    fn thermometer(offset: f64) -> (EquipmentKind, Value) {
        (EquipmentKind::Thermometer, json!({"offset": offset}))
    }

    #[test]
    fn what_the_only_thermometer_shows_too_much_is_taken_off_once_and_the_log_keeps_what_it_showed() {
        let day = day(&[thermometer(0.4)]);
        let wort = day.temperatures(Place::Wort).next().expect("logged");
        assert!((wort.temperature_c - 20.0).abs() < 1e-9 && (wort.shown_c - 20.4).abs() < 1e-9, "{wort:?}");
        let volume = day.volume(VolumePoint::PreBoil).expect("logged").temperature_c;
        let sample = day.gravity(GravityPoint::PreBoil).expect("logged").temperature_c;
        assert!((volume - 70.0).abs() < 1e-9 && (sample - 30.0).abs() < 1e-9, "{volume}, {sample}");
        // The table of hydrometer corrections: 1.040 at 30 °C is 0.00275 low.
        let sg = corrected_gravity(&day, GravityPoint::PreBoil).expect("read").value;
        assert!((sg - 1.04275).abs() < 1e-5, "{sg}");
        let summary = Summary::of(&day);
        assert_eq!(summary.flush.verdict, crate::brewday::summary::FlushVerdict::TooCool, "76.8 °C at its coldest");
        let pitch = (summary.pitch.wort_c.expect("logged"), summary.pitch.yeast_c.expect("logged"));
        assert!((pitch.0 - 19.0).abs() < 1e-9 && (pitch.1 - 18.0).abs() < 1e-9, "{pitch:?}");
        assert!((summary.instruments.thermometer_correction_c + 0.4).abs() < 1e-9);
        let kept = serde_json::to_value(&day.lines[0].logged.entry.body).expect("JSON");
        assert!(kept.to_string().contains("20.4"), "the log keeps what was read: {kept}");
    }

    #[test]
    fn thermometers_that_differ_correct_nothing_and_two_alike_do() {
        for apart in [vec![thermometer(0.4), thermometer(0.0)], vec![thermometer(0.4), thermometer(-0.2)], vec![]] {
            let day = day(&apart);
            assert_eq!(day.batch.instruments_differ(EquipmentKind::Thermometer), apart.len() > 1);
            let wort = day.temperatures(Place::Wort).next().expect("logged").temperature_c;
            assert!((wort - 20.4).abs() < 1e-9, "{apart:?}: {wort}");
        }
        let alike = day(&[thermometer(0.4), thermometer(0.4)]);
        assert!(!alike.batch.instruments_differ(EquipmentKind::Thermometer));
        assert!((alike.temperatures(Place::Wort).next().expect("logged").temperature_c - 20.0).abs() < 1e-9);
    }

    #[test]
    fn hydrometers_that_differ_are_taken_as_marked_for_20_and_right() {
        let old = (EquipmentKind::Hydrometer, json!({"calibration_c": 15.56, "offset": -0.001}));
        let new = (EquipmentKind::Hydrometer, json!({"calibration_c": 20}));
        let sg = |instruments: &[_]| corrected_gravity(&day(instruments), GravityPoint::PreBoil).expect("read").value;
        let (one, both, plain) = (sg(std::slice::from_ref(&old)), sg(&[old.clone(), new]), sg(&[]));
        assert!((both - plain).abs() < 1e-12 && (one - plain).abs() > 5e-4, "{one}, {both}, {plain}");
    }

    #[test]
    fn a_refractometer_shows_less_what_it_shows_too_much_and_is_divided_by_its_own_factor() {
        let own = (EquipmentKind::Refractometer, json!({"offset": 0.3, "wort_factor": 1.02}));
        let gravity = corrected_gravity(&day(&[own]), GravityPoint::FirstWort).expect("read").value;
        // (15.3 − 0.3) °Bx / 1.02 is 14.71 °P; 15 °P is SG 1.0611 and a degree 0.0044.
        assert!((gravity - 1.0598).abs() < 2e-4, "{gravity}");
    }

    #[test]
    fn the_worst_of_several_instruments_says_how_sure_a_reading_is() {
        let sure = (EquipmentKind::Hydrometer, json!({"uncertainty": 0.0005}));
        let vague = (EquipmentKind::Hydrometer, json!({"uncertainty": 0.002}));
        assert_eq!(day(&[sure, vague]).batch.uncertainty(EquipmentKind::Hydrometer), Some(0.002));
    }

    #[test]
    fn how_warm_a_volume_was_matters_through_its_shrinkage_alone() {
        let volume = |instruments: &[_]| volume_at_20(&day(instruments), VolumePoint::PreBoil).expect("read").value;
        let (corrected, plain) = (volume(&[thermometer(0.4)]), volume(&[]));
        assert!(corrected > plain && corrected - plain < 0.01, "{corrected}, {plain}");
    }
}
