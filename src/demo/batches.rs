//! The year at Slate Yard: what was brewed, when and how.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use time::{Duration, OffsetDateTime, Time, Weekday};

use super::day::{Script, Story, Twist, Way};
use super::dice::shown;
use super::house::House;
use super::recipes::{self, Name};
use super::wort::Going;
use super::{DemoError, log_all, plans, unsound};
use crate::brewday::Typed;
use crate::brewday::batch::NewBatch;
use crate::store::Store;

/// How long ago the flame went out under the batch that is being chilled.
const UNDER_WAY: Duration = Duration::seconds(14 * 60 + 10);
/// When the flame goes out on an ordinary brew day.
const AFTERNOON: Time = time::macros::time!(13:20);
/// When it goes out where the wort cools overnight.
const EVENING: Time = time::macros::time!(16:45);

/// The usual way the yard's mash and kettle go.
const USUAL: Going = Going { conversion: 0.94, into_kettle: 0.78, boil_off_l_per_h: 3.4, attenuation: 0.77 };

const fn going(conversion: f64, into_kettle: f64, boil_off_l_per_h: f64, attenuation: f64) -> Going {
    Going { conversion, into_kettle, boil_off_l_per_h, attenuation }
}

const fn short_coil(w_per_k: f64, minutes: &'static [f64], ice_kg: f64) -> Way {
    Way::ShortCoil { w_per_k, minutes, ice_kg }
}

/// Whatever is not said of a batch.
const PLAIN: Script = Script {
    days_ago: 0,
    recipe: Name::Pale,
    name: None,
    volume_l: None,
    fermenter: 0,
    way: Way::Overnight,
    going: USUAL,
    twist: Twist::None,
    notes: &[],
};

/// The batches that are in their fermenters or past them, oldest first.
const BREWED: &[Script] = &[
    Script {
        days_ago: 345,
        name: Some("Yard Pale, first brew"),
        way: short_coil(133.0, &[6.0, 7.0, 8.0], 2.5),
        going: going(0.92, 0.74, 3.2, 0.76),
        notes: &[
            (-170.0, "First brew in the yard. Everything takes twice as long as it should."),
            (-62.0, "Boil-over at the hot break: a third of a litre on the floor. Stay with it next time."),
        ],
        ..PLAIN
    },
    Script {
        days_ago: 322,
        recipe: Name::Table,
        fermenter: 2,
        way: short_coil(131.0, &[5.0, 6.0], 2.0),
        going: going(0.95, 0.83, 3.3, 0.70),
        notes: &[(22.0, "Two buckets and a little ice were plenty for 15 litres.")],
        ..PLAIN
    },
    Script {
        days_ago: 294,
        recipe: Name::Strong,
        fermenter: 2,
        way: Way::Tap { w_per_k: 112.0, flow_l_min: 5.0, ice_kg: 2.0 },
        going: going(0.90, 0.69, 3.5, 0.74),
        notes: &[
            (-130.0, "Bed set after half of the sparge. Cut it with the paddle, waited ten minutes, ran slower."),
            (12.0, "Stirring the kettle by hand while the tap runs: the coil's outlet gets warmer at once."),
        ],
        ..PLAIN
    },
    Script {
        days_ago: 266,
        recipe: Name::Lager,
        fermenter: 1,
        way: short_coil(127.0, &[6.0, 7.0, 8.0], 5.0),
        going: going(0.94, 0.77, 3.3, 0.79),
        notes: &[(-205.0, "Mash stayed at 52 °C longer than planned: the kettle was slow to come up.")],
        ..PLAIN
    },
    Script {
        days_ago: 238,
        way: short_coil(124.0, &[6.0, 7.0, 8.0], 3.0),
        twist: Twist::TemperatureBackwards,
        notes: &[(-2.0, "Much better head on the sample than last time. Wheat it is.")],
        ..PLAIN
    },
    Script {
        days_ago: 210,
        recipe: Name::Stout,
        fermenter: 1,
        going: going(0.93, 0.76, 3.4, 0.73),
        notes: &[
            (8.0, "The pump's seal drips: no coil tonight. Lid on, left until morning."),
            (905.0, "Seal is in. Pump round for a quarter of an hour, then it is one temperature all through."),
        ],
        ..PLAIN
    },
    Script {
        days_ago: 182,
        recipe: Name::Golden,
        fermenter: 0,
        way: Way::Tap { w_per_k: 121.0, flow_l_min: 6.0, ice_kg: 3.0 },
        going: going(0.95, 0.80, 3.6, 0.87),
        twist: Twist::EnteredTwice,
        notes: &[(26.0, "That is a lot of water down the drain. Next time into the buckets, for the garden.")],
        ..PLAIN
    },
    Script {
        days_ago: 154,
        volume_l: Some(23.0),
        name: Some("Yard Pale for the summer party"),
        fermenter: 1,
        way: short_coil(118.0, &[6.0, 7.0, 9.0], 4.5),
        notes: &[(31.0, "23 litres is the most the kettle takes without a boil-over.")],
        ..PLAIN
    },
    Script {
        days_ago: 126,
        recipe: Name::Table,
        fermenter: 2,
        way: short_coil(114.0, &[5.0, 6.0], 3.0),
        going: going(0.95, 0.82, 3.6, 0.71),
        twist: Twist::VolumeBackwards,
        ..PLAIN
    },
    Script {
        days_ago: 98,
        recipe: Name::Strong,
        name: Some("Long Winter, laid down early"),
        fermenter: 2,
        way: Way::LongCoil { w_per_k: 151.0, minutes: &[5.0, 6.0], ice_kg: 2.5 },
        going: going(0.91, 0.70, 3.4, 0.75),
        notes: &[(-150.0, "Sparged for an hour this time. No stuck bed, and it ran clear.")],
        ..PLAIN
    },
    Script {
        days_ago: 63,
        fermenter: 0,
        way: short_coil(108.0, &[6.0, 7.0, 8.0], 3.5),
        notes: &[(
            19.0,
            "The short coil takes longer than it did in spring, with the same buckets. Scale? Vinegar, next free day.",
        )],
        ..PLAIN
    },
    Script {
        days_ago: 38,
        name: Some("Yard Pale, the long night"),
        fermenter: 1,
        way: Way::LongCoil { w_per_k: 155.0, minutes: &[5.0, 5.0, 6.0], ice_kg: 5.0 },
        twist: Twist::Wrong,
        notes: &[
            (-240.0, "Started three hours late, alone."),
            (9.0, "Post-boil gravity below pre-boil? Read it once and wrote it down. Sample is gone."),
            (20_200.0, "Fruity, a bit of solvent. Pitched too warm, and it shows."),
        ],
        ..PLAIN
    },
    Script {
        days_ago: 17,
        recipe: Name::Lager,
        fermenter: 1,
        way: short_coil(105.0, &[6.0, 8.0, 8.0], 6.0),
        going: going(0.95, 0.79, 3.4, 0.79),
        ..PLAIN
    },
    Script {
        days_ago: 6,
        recipe: Name::Table,
        name: Some("Table Beer, small and hoppy"),
        volume_l: Some(14.0),
        fermenter: 2,
        way: short_coil(103.0, &[5.0, 7.0], 3.0),
        going: going(0.95, 0.82, 3.4, 0.71),
        twist: Twist::NotClosed,
        ..PLAIN
    },
];

/// The batch in the middle of its chill.
const CHILLING: Script = Script {
    way: short_coil(102.0, &[4.5, 5.0, 9.0], 4.0),
    notes: &[(-58.0, "Second go at the new hopping. Smells right already.")],
    ..PLAIN
};

/// Brews it all, in order.
pub(super) async fn brew_all(store: &Store, house: &House, now: OffsetDateTime) -> Result<(), DemoError> {
    let mut shelf = Shelf { ids: BTreeMap::new(), ahead: recipes::revisions()?.into_iter().collect() };
    for script in BREWED {
        let time = if matches!(script.way, Way::Overnight) { EVENING } else { AFTERNOON };
        let flame_out = saturday(now - Duration::days(script.days_ago)).replace_time(time);
        shelf.fill_up_to(store, now, flame_out).await?;
        brew(store, house, &shelf, script, flame_out, now).await?;
    }
    shelf.fill_up_to(store, now, now).await?;
    brew(store, house, &shelf, &CHILLING, now - UNDER_WAY, now).await?;
    plan(store, house, &shelf, now).await
}

/// The recipes so far, and the revisions still to be written.
struct Shelf {
    ids: BTreeMap<Name, i64>,
    ahead: std::collections::VecDeque<recipes::Revision>,
}

impl Shelf {
    /// Writes every revision that is dated before `until`.
    async fn fill_up_to(&mut self, store: &Store, now: OffsetDateTime, until: OffsetDateTime) -> Result<(), DemoError> {
        while let Some(next) = self.ahead.pop_front_if(|next| now - Duration::days(next.days_ago) < until) {
            let at = now - Duration::days(next.days_ago);
            match self.ids.get(&next.name) {
                Some(id) => {
                    store.revise_recipe(*id, &next.recipe, at).await?;
                }
                None => {
                    self.ids.insert(next.name, store.add_recipe(&next.recipe, at).await?);
                }
            }
        }
        Ok(())
    }

    fn id(&self, name: Name) -> i64 {
        // A recipe that isn't there is refused by the store, with a sentence.
        self.ids.get(&name).copied().unwrap_or_default()
    }
}

/// Brews one batch as far as it has come by `now`.
async fn brew(
    store: &Store,
    house: &House,
    shelf: &Shelf,
    script: &Script,
    flame_out: OffsetDateTime,
    now: OffsetDateTime,
) -> Result<(), DemoError> {
    let started = flame_out - Duration::hours(5);
    let new = NewBatch {
        name: script.name.map(str::to_owned),
        volume_l: script.volume_l,
        ..batch(house, script.recipe, shelf, script.way.coil(house), script.fermenter, flame_out)
    };
    let id = start(store, &new, started).await?;
    let Some(batch) = store.batch(id).await? else { return Ok(()) };
    if let Some(plan) = plans::planned(store, &batch, script).await? {
        store.keep_chill_plan(id, &plan, started).await?;
    }
    let mut entries = Story::tell(&batch, house, script, flame_out)?;
    entries.retain(|entry| entry.at <= now);
    log_all(store, Some(id), entries).await
}

/// A batch for next week, with the coil that was stored wet.
async fn plan(store: &Store, house: &House, shelf: &Shelf, now: OffsetDateTime) -> Result<(), DemoError> {
    let new = NewBatch {
        name: Some("Golden for the harvest".into()),
        ..batch(house, Name::Golden, shelf, Some(house.long_coil), 1, now)
    };
    start(store, &new, now - Duration::minutes(2)).await?;
    Ok(())
}

async fn start(store: &Store, new: &NewBatch, at: OffsetDateTime) -> Result<i64, DemoError> {
    store.start_batch(new, at).await?.map_err(|faults| unsound("batch", &faults))
}

fn batch(
    house: &House,
    recipe: Name,
    shelf: &Shelf,
    coil: Option<i64>,
    fermenter: usize,
    at: OffsetDateTime,
) -> NewBatch {
    let vessels = [house.mash_tun, house.kettle, house.pump, house.hoses, house.fermenters[fermenter]];
    NewBatch {
        recipe: shelf.id(recipe),
        name: None,
        volume_l: None,
        equipment: vessels.into_iter().chain(coil).chain(house.always.iter().copied()).collect(),
        tap_c: Some(tap_c(at)),
        altitude_m: Some(85.0),
        typed: Typed::new(),
    }
}

/// What the tap runs at: 8 °C in February, 19 °C in August.
fn tap_c(at: OffsetDateTime) -> f64 {
    /// The day of the year the ground is coldest.
    const COLDEST: f64 = 45.0;
    let year = (f64::from(at.ordinal()) - COLDEST) / 365.25;
    shown(13.5 - 5.5 * (TAU * year).cos(), 0.5)
}

/// That day, or the Saturday before.
fn saturday(at: OffsetDateTime) -> OffsetDateTime {
    at - Duration::days(
        i64::from(at.weekday().number_days_from_monday() + 7 - Weekday::Saturday.number_days_from_monday()) % 7,
    )
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn the_tap_is_cold_in_winter_and_warm_in_summer() {
        assert_eq!(tap_c(datetime!(2026-02-14 12:00 UTC)).to_string(), "8");
        assert_eq!(tap_c(datetime!(2026-08-15 12:00 UTC)).to_string(), "19");
    }

    #[test]
    fn a_brew_day_is_a_saturday_not_after_the_day_meant() {
        for day in 1..=14_u8 {
            let meant = datetime!(2026-03-01 09:00 UTC).replace_day(day).unwrap();
            let found = saturday(meant);
            assert_eq!(found.weekday(), Weekday::Saturday);
            assert!((0..7).contains(&(meant - found).whole_days()));
        }
    }
}
