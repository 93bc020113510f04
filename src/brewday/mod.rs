//! What a brew day is: the recipe, the equipment, the log, and what follows from them.
//!
//! Reading order: [`fields`] (how a body becomes a record, with a sentence for
//! each thing that is wrong), [`plausible`] (what the record considers
//! possible), then [`Recipe`], [`Equipment`], [`Entry`] and the check lists.
//! No SQL, no HTTP and no clock in here: where it matters what time it is, now
//! is an argument.

pub mod batch;
pub mod care;
pub mod carried;
pub mod changes;
pub mod checklist;
pub mod chill;
pub mod chill_now;
pub mod chill_plan;
pub mod chill_went;
pub mod choices;
pub mod correction;
pub mod curve;
pub mod day;
pub mod entry;
pub mod equipment;
pub mod fields;
pub mod habits;
pub mod instruments;
pub mod kettle_loss;
pub mod logfile;
pub mod plan;
pub mod plausible;
pub mod readings;
pub mod recipe;
pub mod said;
pub mod settings;
pub mod spreadsheet;
pub mod summary;
#[cfg(test)]
pub(crate) mod testing;

pub use batch::Batch;
pub use checklist::{CheckItem, CheckList, CheckLists};
pub use day::{BatchState, BrewDay};
pub use entry::{Body, Entry, LoggedEntry};
pub use equipment::{Equipment, EquipmentRecord};
pub use fields::{Fault, Why};
pub use recipe::{Recipe, Typed};
pub use settings::{Settings, Units};
pub use summary::Summary;
