//! Care of equipment: is it clean, is it dry, and how do we know.

use serde::{Deserialize, Serialize};
use time::OffsetDateTime;
use utoipa::ToSchema;

use super::choices::{CareAct, choices};
use super::entry::Care;

choices! {
    /// What state a piece of equipment is in.
    CareCondition {
        CleanDry = "clean_dry", "Clean and dry";
        CleanWet = "clean_wet", "Clean, but wet";
        RinsedOnly = "rinsed_only", "Rinsed, not cleaned";
        Dirty = "dirty", "Used, not cleaned since";
        NotKnown = "not_known", "Not known";
    }
}

/// The state a piece of equipment is in, and the events it is known by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CareState {
    /// Its condition.
    pub condition: CareCondition,
    /// When the event that decided it happened.
    #[serde(with = "time::serde::rfc3339::option")]
    pub since: Option<OffsetDateTime>,
    /// The batch that event belongs to; none for care outside a brew day.
    pub batch: Option<i64>,
    /// When it was last cleaned.
    #[serde(with = "time::serde::rfc3339::option")]
    pub cleaned_at: Option<OffsetDateTime>,
    /// Where it was last stored.
    pub stored: Option<String>,
    /// When it was last stored.
    #[serde(default, with = "time::serde::rfc3339::option")]
    pub stored_at: Option<OffsetDateTime>,
    /// What it weighed when it was last weighed.
    pub mass_kg: Option<f64>,
}

/// Something that bears on the care of one piece of equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct CareEvent {
    /// When it happened.
    pub at: OffsetDateTime,
    /// The batch it happened in, if any.
    pub batch: Option<i64>,
    /// What happened.
    pub what: CareEventKind,
}

/// What bears on the care of equipment.
#[derive(Clone, Debug, PartialEq)]
pub enum CareEventKind {
    /// Wort (or hot wort in a flush) touched it.
    Used,
    /// The brewer did something for it.
    Cared(Care),
}

/// Water that may hang in a coil after it was called dry, as far as a scale can
/// tell it from noise (common practice, no source).
pub const SCALE_DOUBT_KG: f64 = 0.02;

/// What a weighing says of a piece whose dry mass is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weighing {
    /// As light as when it was clean and dry, as far as a scale can tell.
    Dry,
    /// Heavier, by so many kilograms: something is still in it.
    Heavier(f64),
    /// Lighter, by so many kilograms: one of the two masses is wrong.
    Lighter(f64),
}

impl Weighing {
    /// Compares what a piece weighs with what it weighs clean and dry, both in kg.
    ///
    /// ```
    /// use gylebook::brewday::care::Weighing;
    /// assert_eq!(Weighing::of(3.11, 3.1), Weighing::Dry);
    /// assert!(matches!(Weighing::of(3.35, 3.1), Weighing::Heavier(_)));
    /// ```
    #[must_use]
    pub fn of(mass_kg: f64, dry_mass_kg: f64) -> Self {
        let over = mass_kg - dry_mass_kg;
        if over > SCALE_DOUBT_KG {
            Self::Heavier(over)
        } else if over < -SCALE_DOUBT_KG {
            Self::Lighter(-over)
        } else {
            Self::Dry
        }
    }
}

impl Default for CareState {
    fn default() -> Self {
        Self {
            condition: CareCondition::NotKnown,
            since: None,
            batch: None,
            cleaned_at: None,
            stored: None,
            stored_at: None,
            mass_kg: None,
        }
    }
}

impl CareState {
    /// Whether it counts as clean.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        matches!(self.condition, CareCondition::CleanDry | CareCondition::CleanWet)
    }

    /// Whether it was put in its place after what decided its condition.
    #[must_use]
    pub fn is_stored(&self) -> bool {
        self.stored_at.is_some() && self.stored_at >= self.since
    }

    /// Follows the state from where it stood through events in order of time.
    ///
    /// `dry_mass_kg` is what the piece weighs clean and dry, where known: a
    /// piece that weighs more is wet, whatever else was said.
    #[must_use]
    pub fn after<'a>(self, events: impl IntoIterator<Item = &'a CareEvent>, dry_mass_kg: Option<f64>) -> Self {
        events.into_iter().fold(self, |state, event| state.then(event, dry_mass_kg))
    }

    fn then(mut self, event: &CareEvent, dry_mass_kg: Option<f64>) -> Self {
        let before = self.condition;
        let after = match &event.what {
            CareEventKind::Used => CareCondition::Dirty,
            CareEventKind::Cared(care) => {
                if care.act == CareAct::Cleaned {
                    self.cleaned_at = Some(event.at);
                }
                if care.act == CareAct::Stored {
                    self.stored.clone_from(&care.place);
                    self.stored_at = Some(event.at);
                }
                if let Some(mass_kg) = care.mass_kg {
                    self.mass_kg = Some(mass_kg);
                }
                condition_after(before, care, dry_mass_kg)
            }
        };
        if after != before || event.what == CareEventKind::Used {
            self.since = Some(event.at);
            self.batch = event.batch;
            self.condition = after;
        }
        self
    }
}

fn condition_after(before: CareCondition, care: &Care, dry_mass_kg: Option<f64>) -> CareCondition {
    use CareCondition::{CleanDry, CleanWet, Dirty, NotKnown, RinsedOnly};
    match (care.act, before) {
        (CareAct::Cleaned, _) => CleanWet,
        (CareAct::Rinsed | CareAct::Flushed, CleanDry | CleanWet) => CleanWet,
        (CareAct::Rinsed | CareAct::Flushed, Dirty | RinsedOnly | NotKnown) => RinsedOnly,
        (CareAct::BlownDry, CleanWet | CleanDry) => CleanDry,
        (CareAct::Weighed, CleanDry | CleanWet) => match care.mass_kg.zip(dry_mass_kg) {
            Some((now, dry)) if matches!(Weighing::of(now, dry), Weighing::Heavier(_)) => CleanWet,
            Some(_) => CleanDry,
            None => before,
        },
        (_, before) => before,
    }
}
