//! What a check list beside the log tells already.

use std::collections::HashSet;

use uuid::Uuid;

use crate::brewday::{Body, BrewDay};

/// The ticks of the batch's lists, and the care that they wrote by themselves.
#[must_use]
pub fn told_by_lists(day: &BrewDay) -> HashSet<Uuid> {
    let is_listed = |body: &Body| matches!(body, Body::Check { item, .. } if day.batch.lists.item(item).is_some());
    let ticks = day.standing.iter().filter(|entry| is_listed(&entry.body)).map(|entry| entry.id);
    ticks.chain(care_by_ticks(day)).collect()
}

/// The care that ticks wrote by themselves: struck out and put right with them.
pub(super) fn care_by_ticks(day: &BrewDay) -> impl Iterator<Item = Uuid> {
    let checks = day.lines.iter().filter(|line| matches!(line.logged.entry.body, Body::Check { .. }));
    checks.flat_map(|line| day.follow_ups(&line.logged.entry)).map(|entry| entry.id)
}
