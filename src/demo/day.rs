//! A brew day told from its script: who brewed what, how it was cooled, what went wrong.
//!
//! All minutes count from flame-out. The [`hot`](super::hot) half of the day lies
//! before it, the [`cold`](super::cold) half after.

use time::OffsetDateTime;

use super::dice::Dice;
use super::house::House;
use super::log::Pen;
use super::recipes::Name;
use super::wort::{Going, Worts};
use crate::brewday::choices::{Outcome, Place, Stage};
use crate::brewday::{Batch, Body, CheckItem, Entry, Recipe};

/// What a batch is told from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Script {
    /// How many days before now it was brewed, or the Saturday before that.
    pub(super) days_ago: i64,
    pub(super) recipe: Name,
    /// A name of its own, where it has one.
    pub(super) name: Option<&'static str>,
    /// A volume of its own, where it has one.
    pub(super) volume_l: Option<f64>,
    /// Which of the house's fermenters it goes into.
    pub(super) fermenter: usize,
    pub(super) way: Way,
    pub(super) going: Going,
    pub(super) twist: Twist,
    /// Remarks, by minutes since flame-out.
    pub(super) notes: &'static [(f64, &'static str)],
}

/// How the wort is cooled.
#[derive(Clone, Copy, Debug)]
pub(super) enum Way {
    /// The short coil in one bucket after another, the last one with ice.
    ShortCoil { w_per_k: f64, minutes: &'static [f64], ice_kg: f64 },
    /// The long coil, the same way.
    LongCoil { w_per_k: f64, minutes: &'static [f64], ice_kg: f64 },
    /// Tap water through the long coil, then ice where the tap is too warm.
    Tap { w_per_k: f64, flow_l_min: f64, ice_kg: f64 },
    /// Lid on, overnight.
    Overnight,
}

/// What is out of the ordinary about a batch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Twist {
    /// Nothing.
    None,
    /// A wort temperature typed with its digits the wrong way round.
    TemperatureBackwards,
    /// The pre-boil volume typed with its digits the wrong way round.
    VolumeBackwards,
    /// An addition entered twice.
    EnteredTwice,
    /// A gravity that can't be, a pitch on a passing dip, a coil stored wet.
    Wrong,
    /// Fermenting, with the mash tun still to be cleaned.
    NotClosed,
}

impl Way {
    /// Whether the wort runs through a coil.
    pub(super) fn has_coil(self) -> bool {
        !matches!(self, Self::Overnight)
    }

    /// The coil it is cooled with.
    pub(super) fn coil(self, house: &House) -> Option<i64> {
        match self {
            Self::ShortCoil { .. } => Some(house.short_coil),
            Self::LongCoil { .. } | Self::Tap { .. } => Some(house.long_coil),
            Self::Overnight => None,
        }
    }
}

/// A day being told.
pub(super) struct Story<'a> {
    pub(super) pen: Pen,
    pub(super) batch: &'a Batch,
    pub(super) recipe: Recipe,
    pub(super) house: &'a House,
    pub(super) script: &'a Script,
    pub(super) worts: Worts,
    pub(super) dice: Dice,
}

impl<'a> Story<'a> {
    /// The whole log of a batch, from getting ready to the final gravity.
    pub(super) fn tell(
        batch: &'a Batch,
        house: &'a House,
        script: &'a Script,
        flame_out: OffsetDateTime,
    ) -> Result<Vec<Entry>, super::DemoError> {
        let mut story = Self {
            pen: Pen::new(flame_out, &batch.id.to_string()),
            recipe: batch.scaled_recipe(),
            worts: Worts::of(batch, script.going),
            dice: Dice::seeded(u64::try_from(batch.id).unwrap_or_default()),
            batch,
            house,
            script,
        };
        let mash_in = -story.recipe.boil_min - 54.0 - story.rests_min();
        story.prepare(mash_in - 56.0);
        story.mash(mash_in)?;
        story.boil();
        story.after_flame_out();
        for (minute, note) in script.notes {
            story.pen.noted(*minute, Body::Note, note);
        }
        Ok(story.pen.finish())
    }

    /// Minutes of all rests of the mash.
    pub(super) fn rests_min(&self) -> f64 {
        self.recipe.mash_rests.iter().map(|rest| rest.min).sum()
    }

    /// Ticks the items of a stage's list, some minutes apart; `skipped` says why one is not done.
    pub(super) fn tick(
        &mut self,
        stage: Stage,
        from: f64,
        apart: f64,
        skipped: impl Fn(&CheckItem) -> Option<&'static str>,
    ) {
        let items = self.batch.lists.on(stage).flat_map(|list| &list.items);
        for (index, item) in items.enumerate() {
            let why = skipped(item);
            let outcome = if why.is_some() { Outcome::Skipped } else { Outcome::Done };
            let number = f64::from(u8::try_from(index).unwrap_or(u8::MAX));
            let check = Body::Check { item: item.key.clone(), outcome, why: why.map(str::to_owned) };
            self.pen.write(from + apart * number, check);
        }
    }

    /// A thermometer reading.
    pub(super) fn read(&mut self, minute: f64, place: Place, celsius: f64, noise: f64) {
        let temperature_c = super::dice::shown(celsius + self.dice.noise(noise), 0.1);
        self.pen.write(minute, Body::Temperature { place, temperature_c });
    }
}

/// A number with the two digits before its point the wrong way round: 19.2 for 91.2.
pub(super) fn backwards(value: f64) -> f64 {
    let (tens, ones) = ((value / 10.0).floor(), (value % 10.0).floor());
    super::dice::shown(ones * 10.0 + tens + value.fract(), 0.01)
}

#[cfg(test)]
mod tests {
    use super::backwards;

    #[test]
    fn digits_turn_round_and_what_follows_the_point_stays() {
        assert_eq!(backwards(19.2).to_string(), "91.2");
        assert_eq!(backwards(26.25).to_string(), "62.25");
    }
}
