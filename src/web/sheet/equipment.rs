//! What the day was brewed on, and the state it was left in.

use crate::brewday::care::CareCondition;
use crate::brewday::choices::Choice;
use crate::brewday::{BrewDay, EquipmentRecord};

/// A piece of equipment on the record.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) name: String,
    /// Its state before the day and after it; none where nothing is known of either.
    pub(super) care: Option<(&'static str, &'static str)>,
}

/// Everything the batch was started with, in that order.
pub(super) fn pieces(day: &BrewDay) -> Vec<Piece> {
    day.batch.equipment.iter().map(|record| piece(day, record)).collect()
}

fn piece(day: &BrewDay, record: &EquipmentRecord) -> Piece {
    let (before, after) = (record.care.condition, day.care(record, None).condition);
    let is_told = before != CareCondition::NotKnown || after != CareCondition::NotKnown;
    Piece { name: record.equipment.name.clone(), care: is_told.then(|| (before.label(), after.label())) }
}
