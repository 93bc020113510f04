//! The check lists as they were kept, and what has to be so before the yeast goes in.

use crate::brewday::choices::Outcome;
use crate::brewday::{BrewDay, CheckItem};
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
        at: check.map(|check| frame.clock.short(check.at)),
        state: match check.map(|check| check.outcome) {
            None => ItemState::Open,
            Some(Outcome::Done) => ItemState::Done,
            Some(Outcome::Skipped) => ItemState::Skipped(check.and_then(|check| check.why).map(str::to_owned)),
        },
    }
}
