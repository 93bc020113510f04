//! What a coil is planned with, how sure that is, and where it is known from.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::science::chilling::learn;
use crate::science::units::{Conductance, HeatCapacity};

/// What a coil passes for each kelvin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CoilPasses {
    /// W/K.
    pub conductance_w_per_k: f64,
    /// One standard deviation; none where it was given outright.
    pub se_w_per_k: Option<f64>,
    /// Where it is known from.
    pub known_from: KnownFrom,
}

/// Where a coil's conductance is known from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum KnownFrom {
    /// The brewer gave it.
    Given,
    /// The median of so many of its last batches.
    Batches(usize),
    /// Nothing: a figure that fits most coils (common practice).
    CommonPractice,
    /// As a kept plan said it then.
    Said(String),
}

impl CoilPasses {
    /// As the brewer gave it.
    #[must_use]
    pub fn given(conductance_w_per_k: f64) -> Self {
        Self { conductance_w_per_k, se_w_per_k: None, known_from: KnownFrom::Given }
    }

    /// The median of the last five conductances (W/K, newest first) and their
    /// spread; `None` of none.
    #[must_use]
    pub fn learned(newest_first: impl IntoIterator<Item = f64>) -> Option<Self> {
        let sound = newest_first.into_iter().filter(|value| value.is_finite() && *value > 0.0);
        let mut last: Vec<Conductance> = sound.take(learn::BATCHES).map(Conductance::from_watts_per_kelvin).collect();
        last.reverse();
        let usual = learn::usual(&last)?;
        Some(Self {
            conductance_w_per_k: usual.conductance.watts_per_kelvin(),
            se_w_per_k: Some(usual.se.watts_per_kelvin()),
            known_from: KnownFrom::Batches(last.len()),
        })
    }

    /// What a coil of which nothing is known is taken to pass of this wort's heat.
    #[must_use]
    pub fn usual(wort: HeatCapacity) -> Self {
        let usual = learn::without_record(wort);
        Self {
            conductance_w_per_k: usual.conductance.watts_per_kelvin(),
            se_w_per_k: Some(usual.se.watts_per_kelvin()),
            known_from: KnownFrom::CommonPractice,
        }
    }

    /// Where it is known from, within a sentence.
    #[must_use]
    pub fn basis(&self) -> String {
        match &self.known_from {
            KnownFrom::Given => "as given".to_owned(),
            KnownFrom::Batches(1) => "as its one batch tells".to_owned(),
            KnownFrom::Batches(batches) => format!("the median of its last {batches} batches"),
            KnownFrom::CommonPractice => {
                "a usual figure (common practice), as no batch of its own tells yet".to_owned()
            }
            KnownFrom::Said(basis) => basis.clone(),
        }
    }

    /// "118 ± 6 W for each kelvin, the median of its last 5 batches"
    #[must_use]
    pub fn in_short(&self) -> String {
        let se = self.se_w_per_k.map(|se| format!(" ± {se:.0}")).unwrap_or_default();
        format!("{:.0}{se} W for each kelvin, {}", self.conductance_w_per_k, self.basis())
    }

    pub(super) fn told(&self) -> String {
        format!("The coil passes {}.", self.in_short())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coil_is_the_median_of_its_last_five_and_its_spread_is_said() {
        let coil = CoilPasses::learned([118.0, 121.0, 60.0, 119.0, 117.0, 300.0]).expect("batches tell");
        assert_eq!((coil.conductance_w_per_k, &coil.known_from), (118.0, &KnownFrom::Batches(5)));
        // The distances from the median are 0, 3, 58, 1, 1: their median of 1 is below the least spread, 3 %.
        assert!((coil.se_w_per_k.expect("a spread") - 0.03 * 118.0).abs() < 1e-9);
        assert_eq!(coil.told(), "The coil passes 118 ± 4 W for each kelvin, the median of its last 5 batches.");
        assert_eq!(CoilPasses::learned([f64::NAN, 0.0]), None);
    }

    #[test]
    fn a_coil_without_batches_is_usual_and_says_so() {
        let coil = CoilPasses::usual(HeatCapacity::from_kilojoules_per_kelvin(82.456));
        assert!(
            coil.told().starts_with("The coil passes 131 ± 46 W for each kelvin, a usual figure"),
            "{}",
            coil.told()
        );
    }
}
