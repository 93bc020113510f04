//! Odd but possible: values that are kept, and marked for a second look.

use std::collections::HashMap;

use time::Duration;
use uuid::Uuid;

use super::BrewDay;
use crate::brewday::Body;
use crate::brewday::choices::{Cooling, GravityPoint, Instrument, Place};
use crate::science::gravity::hydrometer::HOTTEST_SAMPLE;

/// A mash works between these; outside, a reading is more likely a slip (common practice, no source).
const MASH_C: std::ops::RangeInclusive<f64> = 35.0..=80.0;
/// A wort that climbs more than this in a bath is no noise.
const CLIMB_C: f64 = 3.0;
/// Two hydrometer readings that differ by less agree.
const GRAVITY_STEP: f64 = 0.002;

/// Adds to each line what is odd about the entry as it stands.
pub(super) fn mark(day: &mut BrewDay) {
    let mut odd: HashMap<Uuid, Vec<String>> = HashMap::new();
    let mut note = |id: Uuid, why: String| odd.entry(id).or_default().push(why);
    single_values(day, &mut note);
    warming_wort(day, &mut note);
    falling_gravity(day, &mut note);
    order_of_events(day, &mut note);
    for line in &mut day.lines {
        line.odd = odd.remove(&line.logged.entry.id).unwrap_or_default();
    }
}

fn single_values(day: &BrewDay, note: &mut impl FnMut(Uuid, String)) {
    for entry in &day.standing {
        match &entry.body {
            // The reading stands on the same line, in the brewer's own units.
            Body::Temperature { place: Place::Mash, temperature_c } if !MASH_C.contains(temperature_c) => {
                let what = if *temperature_c < *MASH_C.start() { "cool" } else { "hot" };
                note(entry.id, format!("A mash this {what} is unusual: is it the mash, and is the unit right?"));
            }
            Body::Gravity { instrument: Instrument::Hydrometer, temperature_c, .. }
                if *temperature_c > HOTTEST_SAMPLE.celsius() =>
            {
                note(entry.id, "So hot a sample makes the correction a guess: let it cool.".into());
            }
            Body::CoolingStarted(cooling) if cooling.water_c.is_some_and(|water_c| water_c > 60.0) => {
                note(entry.id, "Cooling water this hot cools little.".into());
            }
            Body::IceAdded { ice_kg } if *ice_kg > 50.0 => note(entry.id, "That is a lot of ice.".into()),
            _ => {}
        }
    }
}

/// A wort that warms while it should cool.
fn warming_wort(day: &BrewDay, note: &mut impl FnMut(Uuid, String)) {
    let mut cooling = None;
    let mut before: Option<f64> = None;
    for entry in &day.standing {
        match &entry.body {
            Body::CoolingStarted(started) => {
                cooling = (started.method != Cooling::Air).then_some(started.method);
                before = None;
            }
            Body::CoilDrained { .. } | Body::Pitched(_) => cooling = None,
            Body::Temperature { place: Place::Wort, temperature_c } => {
                if cooling.is_some() && before.is_some_and(|before| *temperature_c > before + CLIMB_C) {
                    note(
                        entry.id,
                        "The wort warmed while it was being cooled: was one of the readings taken too early?".into(),
                    );
                }
                before = Some(*temperature_c);
            }
            _ => {}
        }
    }
}

/// Extract can't leave a wort that only loses water.
fn falling_gravity(day: &BrewDay, note: &mut impl FnMut(Uuid, String)) {
    let (Some(before), Some(after)) = (day.gravity(GravityPoint::PreBoil), day.gravity(GravityPoint::PostBoil)) else {
        return;
    };
    let step = if after.instrument == Instrument::Refractometer { 0.5 } else { GRAVITY_STEP };
    if before.instrument == after.instrument && after.reading < before.reading - step {
        note(after.id, "The gravity fell during the boil: one of the two readings must be off.".into());
    }
}

fn order_of_events(day: &BrewDay, note: &mut impl FnMut(Uuid, String)) {
    let boil = day.boil_started();
    let flame_out = day.flame_out();
    for entry in &day.standing {
        match &entry.body {
            Body::FlameOut if boil.is_some_and(|boil| entry.at < boil) => {
                note(entry.id, "The flame went out before the boil began.".into());
            }
            Body::Pitched(_) if flame_out.is_some_and(|flame_out| entry.at < flame_out) => {
                note(entry.id, "The yeast went in before the flame was out.".into());
            }
            Body::Pitched(pitched) if pitched.wort_c.is_some_and(|wort_c| wort_c > 40.0) => {
                note(entry.id, "Yeast in a wort this hot will not live.".into());
            }
            _ => {}
        }
    }
    for flush in day.standing.windows(2) {
        if let [started, finished] = flush
            && matches!(started.body, Body::FlushStarted { .. })
            && matches!(finished.body, Body::FlushFinished { .. })
            && finished.at - started.at > Duration::minutes(30)
        {
            note(finished.id, "A flush of more than half an hour: was its end entered late?".into());
        }
    }
}
