//! Odd but possible: values that are kept, and marked for a second look.

use std::collections::HashMap;

use time::Duration;
use uuid::Uuid;

use super::{BrewDay, Standing};
use crate::brewday::Body;
use crate::brewday::choices::{Cooling, GravityPoint, Instrument, Place};
use crate::science::gravity::hydrometer::HOTTEST_SAMPLE;

/// A mash works between these; outside, a reading is more likely a slip (common practice, no source).
const MASH_C: std::ops::RangeInclusive<f64> = 35.0..=80.0;
/// A wort that climbs more than this in a bath is no noise.
const CLIMB_C: f64 = 3.0;
/// Two hydrometer readings that differ by less agree.
const GRAVITY_STEP: f64 = 0.002;

/// Notes on each line what is odd about the entry as it stands.
pub(super) fn mark(day: &mut BrewDay) {
    for index in 0..day.standing.len() {
        if let Some(why) = so_far(&day.standing[..=index]) {
            note(day, day.standing[index].seq, vec![why]);
        }
    }
    mark_events(day);
}

/// The same for the events alone: a later one can make an earlier one odd, which
/// it can't do to a reading.
pub(super) fn mark_events(day: &mut BrewDay) {
    let mut odd: HashMap<Uuid, Vec<String>> = HashMap::new();
    let mut note_on = |id: Uuid, why: String| odd.entry(id).or_default().push(why);
    for &index in &day.events {
        if let Some(why) = so_far(&day.standing[..=index]) {
            note_on(day.standing[index].id, why);
        }
    }
    falling_gravity(day, &mut note_on);
    order_of_events(day, &mut note_on);
    let told: Vec<(i64, Vec<String>)> =
        day.events().map(|entry| (entry.seq, odd.remove(&entry.id).unwrap_or_default())).collect();
    for (seq, why) in told {
        note(day, seq, why);
    }
}

fn note(day: &mut BrewDay, seq: i64, why: Vec<String>) {
    if let Ok(place) = day.lines.binary_search_by_key(&seq, |line| line.logged.seq) {
        day.lines[place].odd = why;
    }
}

/// What is odd about the last of these entries, going by those before it. Of a
/// thermometer reading that is all there is to say.
pub(super) fn so_far(standing: &[Standing]) -> Option<String> {
    let (entry, earlier) = standing.split_last()?;
    match &entry.body {
        Body::Temperature { place: Place::Mash, temperature_c } if !MASH_C.contains(temperature_c) => {
            // The reading stands on the same line, in the brewer's own units.
            let what = if *temperature_c < *MASH_C.start() { "cool" } else { "hot" };
            Some(format!("A mash this {what} is unusual: is it the mash, and is the unit right?"))
        }
        Body::Temperature { place: Place::Wort, temperature_c } if warmed(earlier, *temperature_c) => {
            Some("The wort warmed while it was being cooled: was one of the readings taken too early?".into())
        }
        Body::Gravity { instrument: Instrument::Hydrometer, temperature_c, .. }
            if *temperature_c > HOTTEST_SAMPLE.celsius() =>
        {
            Some("So hot a sample makes the correction a guess: let it cool.".into())
        }
        Body::CoolingStarted(cooling) if cooling.water_c.is_some_and(|water_c| water_c > 60.0) => {
            Some("Cooling water this hot cools little.".into())
        }
        Body::IceAdded { ice_kg } if *ice_kg > 50.0 => Some("That is a lot of ice.".into()),
        _ => None,
    }
}

/// Whether a wort at this temperature is warmer than it was, in a stage that
/// should cool it. Looks back to the reading before; further only where it climbed.
fn warmed(earlier: &[Standing], temperature_c: f64) -> bool {
    let mut climbed = false;
    for entry in earlier.iter().rev() {
        match &entry.body {
            Body::Temperature { place: Place::Wort, temperature_c: before } if !climbed => {
                climbed = temperature_c > before + CLIMB_C;
                if !climbed {
                    return false;
                }
            }
            Body::CoolingStarted(started) => return climbed && started.method != Cooling::Air,
            Body::CoilDrained { .. } | Body::Pitched(_) => return false,
            _ => {}
        }
    }
    false
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

/// A boil of less than half its minutes is more likely a slip in one of its times.
fn is_short(lasted: Duration, day: &BrewDay) -> bool {
    lasted.as_seconds_f64() / 60.0 < day.batch.recipe.boil_min / 2.0
}

fn order_of_events(day: &BrewDay, note: &mut impl FnMut(Uuid, String)) {
    let boil = day.boil_started();
    let flame_out = day.flame_out();
    for entry in day.events() {
        match &entry.body {
            Body::FlameOut if boil.is_some_and(|boil| entry.at < boil) => {
                note(entry.id, "The flame went out before the boil began.".into());
            }
            Body::FlameOut if boil.is_some_and(|boil| is_short(entry.at - boil, day)) => {
                let lasted = boil.map_or(0, |boil| (entry.at - boil).whole_minutes());
                note(
                    entry.id,
                    format!(
                        "The boil lasted {lasted} of {:.0}\u{a0}min: are both times right?",
                        day.batch.recipe.boil_min
                    ),
                );
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
    for &index in day.events.iter().filter(|index| **index > 0) {
        let (started, finished) = (&day.standing[index - 1], &day.standing[index]);
        if matches!(started.body, Body::FlushStarted { .. })
            && matches!(finished.body, Body::FlushFinished { .. })
            && finished.at - started.at > Duration::minutes(30)
        {
            note(finished.id, "A flush of more than half an hour: was its end entered late?".into());
        }
    }
}
