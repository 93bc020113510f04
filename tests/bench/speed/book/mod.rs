//! Books of any size that come out the same each time.
//!
//! A made-up brew space brews the year round. Every batch is a whole day (lists
//! ticked, mash, boil, three baths, yeast, cleaning, two weeks later the final
//! gravity), so that a page has as much to tell of it as of a real one. It goes
//! in through the door a batch from another book comes in by, and `gylebook
//! check` finds nothing to say about the result.
//!
//! Reading order: [`day`] (one log), [`house`] (recipes and equipment).

mod day;
mod dice;
mod house;

use std::path::Path;

use gylebook::brewday::batch::NewBatch;
use gylebook::brewday::care::CareState;
use gylebook::brewday::carried::{Carried, CarriedBatch, CarriedEquipment};
use gylebook::brewday::{CheckLists, Settings, Typed};
use gylebook::store::Store;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use day::Told;
use house::{DEVICE, equipment, recipe};

/// The first batch is brewed this morning; the last one ten years later.
const FIRST: OffsetDateTime = datetime!(2016-03-05 09:00 UTC);
const YEARS: f64 = 10.0;

/// How large a book is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Shape {
    /// Batches in it.
    pub(crate) batches: u32,
    /// Thermometer readings in each.
    pub(crate) readings: u32,
}

/// Makes a book of this shape at a path where there is none.
pub(crate) async fn make(path: &Path, shape: Shape) {
    let store = Store::open(path).await.expect("a new book");
    let settings = Settings { house: "Quarry Lane".into(), welcomed: true, ..Settings::default() };
    store.save_settings(&settings).await.expect("kept");
    for number in 0..shape.batches {
        carry_in(&store, number, shape).await;
    }
    store.close().await;
}

async fn carry_in(store: &Store, number: u32, shape: Shape) {
    let apart = YEARS * 365.25 * 24.0 / f64::from(shape.batches.max(1));
    // Brewed at nine in the morning, on whichever day it falls.
    let days = (apart * f64::from(number) / 24.0).floor();
    let morning = FIRST + Duration::days(days as i64);
    let recipe = recipe(number);
    let mut told = Told::of(morning, u64::from(number), recipe.clone());
    told.whole_day(shape.readings);
    let pieces = equipment(number).into_iter();
    let batch = CarriedBatch {
        name: house::name(number, &recipe),
        volume_l: recipe.volume_l,
        tap_c: Some(house::tap_c(morning)),
        altitude_m: Some(120.0),
        created_at: morning - Duration::hours(1),
        lists: CheckLists::defaults(),
        chill_plan: None,
        kettle_loss: None,
    };
    let carried = Carried {
        gylebook: 1,
        batch,
        recipe,
        equipment: pieces.map(|equipment| CarriedEquipment { equipment, care: Some(CareState::default()) }).collect(),
        entries: told.received(),
        summary: None,
    };
    store.carry_in(carried).await.expect("written").expect("a sound batch");
}

/// Starts a batch in the middle of its chill, and gives its number: the one
/// phones have open. It stands `minutes` after flame-out `now`.
pub(crate) async fn under_way(store: &Store, readings: u32, minutes: f64, now: OffsetDateTime) -> i64 {
    let recipe = recipe(0);
    let recipe_id = store.add_recipe(&recipe, now).await.expect("written");
    let mut pieces = Vec::new();
    for piece in equipment(0) {
        pieces.push(store.add_equipment(&piece, now).await.expect("written"));
    }
    let new = NewBatch {
        recipe: recipe_id,
        name: Some("Under way".into()),
        volume_l: None,
        equipment: pieces,
        tap_c: Some(12.0),
        altitude_m: Some(120.0),
        typed: Typed::new(),
    };
    let morning = now - day::until_flame_out() - Duration::seconds_f64(minutes * 60.0);
    let batch = store.start_batch(&new, morning).await.expect("written").expect("a sound batch");
    let mut told = Told::of(morning, 1, recipe);
    told.until_in_the_second_bath(readings, minutes);
    store.append(Some(batch), told.entries(), Some(DEVICE), now).await.expect("written").expect("a batch");
    batch
}
