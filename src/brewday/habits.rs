//! A brewer's habits: what the last finished batches say of the next one.
//!
//! Medians, not means: one batch with a slip of the pen must not move the plan.

use super::BrewDay;
use super::choices::{EquipmentKind, FermentableUse, VolumePoint};
use super::summary::predicted;
use super::summary::readings::volume_at_20;

/// What this brewer's own batches say, each from the last few on the same equipment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Habits {
    /// Into-kettle efficiency, %.
    pub into_kettle_pct: Option<Learned>,
    /// Boil-off, L/h.
    pub boil_off_l_per_h: Option<Learned>,
    /// Wort left in kettle and hoses, L.
    pub kettle_loss_l: Option<Learned>,
    /// Water a kilogram of grain keeps, L.
    pub absorption_l_per_kg: Option<Learned>,
}

/// A median of a brewer's own batches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learned {
    /// The median.
    pub value: f64,
    /// Of how many batches.
    pub batches: usize,
}

impl Learned {
    /// The median of the last five figures, newest first; `None` of none.
    #[must_use]
    pub fn of(newest_first: impl IntoIterator<Item = f64>) -> Option<Self> {
        let mut last: Vec<f64> = newest_first.into_iter().filter(|value| value.is_finite()).take(5).collect();
        last.sort_by(f64::total_cmp);
        let middle = last.len() / 2;
        let value = match last.len() {
            0 => return None,
            odd if odd % 2 == 1 => last[middle],
            _ => f64::midpoint(last[middle - 1], last[middle]),
        };
        Some(Self { value, batches: last.len() })
    }
}

/// What one finished batch says; volumes in litres at 20 °C.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Finished {
    /// Into-kettle efficiency, %.
    pub into_kettle_pct: Option<f64>,
    /// Boil-off, L/h.
    pub boil_off_l_per_h: Option<f64>,
    /// Wort in the kettle after the boil.
    pub post_boil_l: Option<f64>,
    /// Wort in the fermenter.
    pub into_fermenter_l: Option<f64>,
    /// Water a kilogram of grain kept, L: see [`absorbed_l_per_kg`].
    pub absorption_l_per_kg: Option<f64>,
}

/// Efficiencies a mash can have, %: outside, a reading was wrong.
const EFFICIENCY_PCT: (f64, f64) = (1.0, 100.0);
/// Boil-offs that [`crate::science::kettle`] can boil with, L/h.
const BOIL_OFF_L_PER_H: (f64, f64) = (0.01, 200.0);
/// Water grain can keep, L/kg: about 1 is usual (common practice, no source), and
/// more than 3 was spilt.
const ABSORPTION_L_PER_KG: (f64, f64) = (0.0, 3.0);

impl Finished {
    /// What stayed behind in kettle, hoses and hops, L. Never below nothing:
    /// wort that seems to have appeared is an error of the readings.
    fn kettle_loss_l(&self) -> Option<f64> {
        Some((self.post_boil_l? - self.into_fermenter_l?).max(0.0))
    }
}

impl Habits {
    /// What finished batches say, the newest first: boil-off and loss of those on
    /// the same kettle, efficiency and absorption of those in the same mash vessel.
    ///
    /// A figure that can't be (an efficiency above 100 %) teaches nothing.
    #[must_use]
    pub fn of(on_kettle: &[Finished], in_mash_vessel: &[Finished]) -> Self {
        let learned = |from: &[Finished], (least, most): (f64, f64), figure: fn(&Finished) -> Option<f64>| {
            Learned::of(from.iter().filter_map(figure).filter(|value| (least..=most).contains(value)))
        };
        Self {
            into_kettle_pct: learned(in_mash_vessel, EFFICIENCY_PCT, |one| one.into_kettle_pct),
            boil_off_l_per_h: learned(on_kettle, BOIL_OFF_L_PER_H, |one| one.boil_off_l_per_h),
            kettle_loss_l: learned(on_kettle, (0.0, f64::MAX), Finished::kettle_loss_l),
            absorption_l_per_kg: learned(in_mash_vessel, ABSORPTION_L_PER_KG, |one| one.absorption_l_per_kg),
        }
    }
}

/// Water a kilogram of grain kept, L: all that was poured on it, less what ran
/// into the kettle and what lies below the mash vessel's outlet.
///
/// `a = (V_strike + V_sparge − V_pre − V_dead)/m`, litres at 20 °C and kilograms:
/// the same account as [`crate::science::mash::liquor::plan`] the other way round.
/// `None` where one of the three volumes was not logged or there was no grain.
#[must_use]
pub fn absorbed_l_per_kg(day: &BrewDay) -> Option<f64> {
    let volume = |point| volume_at_20(day, point).ok().map(|litres| litres.value);
    let recipe = day.batch.scaled_recipe();
    let goods = predicted::goods(&recipe, FermentableUse::Mash);
    let grist_kg: f64 = goods.iter().map(|one| one.mass.kilograms()).sum();
    let dead_space_l = day.batch.first(EquipmentKind::MashVessel).and_then(|one| one.dead_space_l).unwrap_or(0.0);
    let poured = volume(VolumePoint::Strike)? + volume(VolumePoint::Sparge)?;
    let kept = poured - volume(VolumePoint::PreBoil)? - dead_space_l;
    (grist_kg > 0.0).then(|| kept / grist_kg)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::brewday::testing::{Day, equipment};

    #[test]
    fn the_median_of_the_last_five_counts() {
        let learned = Learned::of([4.0, 5.0, 4.5, 9.0, 4.2, 1.0]).expect("there are figures");
        assert_eq!(learned, Learned { value: 4.5, batches: 5 });
        let even = Learned::of([4.0, f64::NAN, 5.0]).expect("there are figures");
        assert_eq!(even, Learned { value: 4.5, batches: 2 });
        assert_eq!(Learned::of([]), None);
    }

    #[test]
    fn a_figure_that_cannot_be_teaches_nothing_and_no_wort_appears() {
        let finished = |into_kettle_pct, post_boil_l| Finished {
            into_kettle_pct: Some(into_kettle_pct),
            post_boil_l: Some(post_boil_l),
            into_fermenter_l: Some(20.0),
            ..Finished::default()
        };
        let batches = [finished(130.0, 19.5), finished(80.0, 19.0), finished(76.0, 21.0)];
        let habits = Habits::of(&batches, &batches);
        assert_eq!(habits.into_kettle_pct, Some(Learned { value: 78.0, batches: 2 }));
        assert_eq!(habits.kettle_loss_l, Some(Learned { value: 0.0, batches: 3 }));
        assert_eq!((habits.boil_off_l_per_h, habits.absorption_l_per_kg), (None, None));
        assert_eq!(Habits::of(&[], &batches).kettle_loss_l, None, "another kettle loses otherwise");
    }

    #[test]
    fn grain_keeps_what_was_poured_and_did_not_run_off() {
        let mut day = Day::new();
        for (point, volume_l) in [("strike", 15.0), ("sparge", 16.0), ("pre_boil", 26.0)] {
            assert_eq!(absorbed_l_per_kg(&day.fold()), None);
            day.at(1.0, json!({"kind": "volume", "point": point, "volume_l": volume_l, "temperature_c": 20}));
        }
        // 31 L on 4.5 kg, 26 L in the kettle: 5 L stayed.
        assert!((absorbed_l_per_kg(&day.fold()).expect("all is logged") - 5.0 / 4.5).abs() < 1e-9);
        day.batch.equipment.push(equipment(9, EquipmentKind::MashVessel, json!({"dead_space_l": 0.5})));
        assert!((absorbed_l_per_kg(&day.fold()).expect("all is logged") - 1.0).abs() < 1e-9);
    }
}
