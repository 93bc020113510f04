//! What an entry may not be, and what follows from it by itself.

use uuid::Uuid;

use super::BrewDay;
use crate::brewday::choices::{CareAct, GravityPoint, Instrument, Outcome};
use crate::brewday::entry::{Amendment, Care};
use crate::brewday::{Body, Entry, Fault};

/// See [`BrewDay::refuses`].
pub(super) fn refuses(day: &BrewDay, entry: &Entry) -> Result<(), Fault> {
    let (at, body, within) = match &entry.body {
        Body::Amendment(amendment) => {
            let target = day.lines.iter().find(|line| line.logged.entry.id == amendment.of);
            let Some(target) = target else {
                return Err(Fault::new("of", "There is no entry with this id in this batch's log."));
            };
            let Some(replacement) = amendment.replacement.as_deref() else { return Ok(()) };
            (replacement.at.unwrap_or(target.logged.entry.at), &replacement.body, "replacement.")
        }
        body => (entry.at, body, ""),
    };
    let Body::Gravity { point, instrument: Instrument::Refractometer, .. } = body else { return Ok(()) };
    let pitched = day.pitched().is_some_and(|(pitched, _)| at >= pitched);
    if pitched || *point == GravityPoint::Final {
        let why = "This wort has yeast in it: alcohol bends a refractometer's reading. Use a hydrometer.";
        return Err(Fault::new(format!("{within}instrument"), why));
    }
    Ok(())
}

/// See [`BrewDay::follow_ups`].
pub(super) fn follow_ups(day: &BrewDay, entry: &Entry) -> Vec<Entry> {
    match &entry.body {
        Body::Check { item, outcome: Outcome::Done, .. } => care_of(day, item)
            .map(|care| Entry { id: derived(entry.id, care.equipment), body: Body::Care(care), ..bare(entry) })
            .collect(),
        Body::Amendment(amendment) => undone(day, entry, amendment),
        _ => Vec::new(),
    }
}

/// The care a check item stands for, one event for each piece of that kind.
fn care_of<'a>(day: &'a BrewDay, key: &str) -> impl Iterator<Item = Care> + 'a {
    let tied = day.batch.lists.item(key).and_then(|item| Some((item.equipment?, item.act?)));
    // A weighing without its mass says nothing: it is entered on its own form.
    tied.filter(|(_, act)| *act != CareAct::Weighed).into_iter().flat_map(|(kind, act)| {
        day.batch.all(kind).map(move |record| Care { equipment: record.id, act, mass_kg: None, place: None })
    })
}

/// Strikes out the care events of a check that an amendment takes back.
fn undone(day: &BrewDay, entry: &Entry, amendment: &Amendment) -> Vec<Entry> {
    let still_done = matches!(
        amendment.replacement.as_deref().map(|replacement| &replacement.body),
        Some(Body::Check { outcome: Outcome::Done, .. })
    );
    if still_done {
        return Vec::new();
    }
    let Some(check) = day.lines.iter().map(|line| &line.logged.entry).find(|one| one.id == amendment.of) else {
        return Vec::new();
    };
    let Body::Check { item, .. } = &check.body else { return Vec::new() };
    let cared: Vec<Care> = care_of(day, item).collect();
    let written = day.lines.iter().map(|line| &line.logged.entry).filter_map(|one| match &one.body {
        Body::Care(care) if is_written_by(check, one) && cared.contains(care) => Some((one.id, care.equipment)),
        _ => None,
    });
    written
        .map(|(care, equipment)| Entry {
            id: derived(entry.id, equipment),
            body: Body::Amendment(Amendment { of: care, replacement: None, void: true, why: amendment.why.clone() }),
            ..bare(entry)
        })
        .collect()
}

/// Whether a care event came from a check. Its id was derived from the check's
/// and from the equipment's number, which is another in a book the batch was
/// carried to; so it is known by its moment, and by an id that no phone makes.
fn is_written_by(check: &Entry, care: &Entry) -> bool {
    care.at == check.at && care.id.get_version_num() == 5
}

/// The same id each time for what follows from an entry, so that sending the
/// entry twice still changes nothing.
fn derived(entry: Uuid, equipment: i64) -> Uuid {
    Uuid::new_v5(&entry, &equipment.to_be_bytes())
}

fn bare(entry: &Entry) -> Entry {
    Entry { note: None, typed: Default::default(), ..entry.clone() }
}
