//! The check lists as they were kept, and what has to be so before the yeast goes in.

use std::collections::HashSet;

use uuid::Uuid;

use crate::brewday::choices::Outcome;
use crate::brewday::{Body, BrewDay, CheckItem};
use crate::web::Frame;
use crate::web::when::Moment;

/// A check list with what became of it.
#[derive(Clone, Debug)]
pub(super) struct ListTold {
    pub(super) name: String,
    pub(super) items: Vec<ItemTold>,
}

/// An item of a list.
#[derive(Clone, Debug)]
pub(super) struct ItemTold {
    pub(super) text: String,
    /// None where nobody ticked or skipped it.
    pub(super) at: Option<Moment>,
    pub(super) state: ItemState,
}

/// What became of an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum ItemState {
    Done,
    Skipped(Option<String>),
    Open,
}

impl ItemTold {
    /// The class that marks its box.
    pub(super) fn mark(&self) -> &'static str {
        match self.state {
            ItemState::Done => " tick--done",
            ItemState::Skipped(_) => " tick--skipped",
            ItemState::Open => "",
        }
    }

    /// That it was skipped, and why where that was said.
    pub(super) fn skipped(&self) -> Option<String> {
        match &self.state {
            ItemState::Skipped(Some(why)) => Some(format!("skipped, {why}")),
            ItemState::Skipped(None) => Some("skipped".to_owned()),
            _ => None,
        }
    }
}

impl ListTold {
    /// How much of the list was done: "6 of 8".
    pub(super) fn count(&self) -> String {
        let done = self.items.iter().filter(|item| item.state == ItemState::Done).count();
        format!("{done} of {}", self.items.len())
    }
}

/// Every list of the batch.
pub(super) fn lists(day: &BrewDay, frame: &Frame) -> Vec<ListTold> {
    let lists = day.batch.lists.0.iter().filter(|list| !list.items.is_empty());
    lists
        .map(|list| ListTold {
            name: list.name.clone(),
            items: list.items.iter().map(|item| told(day, frame, item)).collect(),
        })
        .collect()
}

fn told(day: &BrewDay, frame: &Frame, item: &CheckItem) -> ItemTold {
    let check = day.check(&item.key);
    ItemTold {
        text: item.text.clone(),
        at: check.map(|(at, ..)| frame.clock.short(at)),
        state: match check {
            None => ItemState::Open,
            Some((_, Outcome::Done, _)) => ItemState::Done,
            Some((_, Outcome::Skipped, why)) => ItemState::Skipped(why.map(str::to_owned)),
        },
    }
}

/// Entries that a tick on a list wrote by itself: the list tells them already.
pub(super) fn written_by_ticks(day: &BrewDay) -> HashSet<Uuid> {
    let checks = day.lines.iter().filter(|line| matches!(line.logged.entry.body, Body::Check { .. }));
    checks.flat_map(|line| day.follow_ups(&line.logged.entry)).map(|entry| entry.id).collect()
}

/// Whether an entry ticks an item that stands on one of the batch's lists.
pub(super) fn is_listed(day: &BrewDay, body: &Body) -> bool {
    matches!(body, Body::Check { item, .. } if day.batch.lists.item(item).is_some())
}
