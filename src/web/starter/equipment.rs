//! A set of equipment to begin with: nobody has to measure anything before the
//! first batch.

use serde_json::{Value, json};

use crate::brewday::Equipment;

/// A usual set for about 20 L, with a pumped coil and three buckets (common
/// practice, no source).
///
/// What a guess would spoil is left out: the coil's dry weight, which is compared
/// with every weighing, and its pass time, which follows from the pump's flow.
#[must_use]
pub fn equipment() -> Vec<Equipment> {
    let bucket = |number: u8| json!({ "name": format!("Bucket {number}"), "kind": "bucket", "volume_l": 17 });
    let set = [
        json!({
            "name": "Mash vessel", "kind": "mash_vessel", "volume_l": 30, "dead_space_l": 1, "dry_mass_kg": 5,
        }),
        json!({ "name": "Kettle", "kind": "kettle", "volume_l": 36, "dead_space_l": 1, "boil_off_l_per_h": 3.5 }),
        json!({ "name": "Coil", "kind": "coil", "hold_up_l": 0.6 }),
        bucket(1),
        bucket(2),
        bucket(3),
        json!({ "name": "Fermenter", "kind": "fermenter", "volume_l": 30 }),
        json!({ "name": "Hoses", "kind": "hose", "hold_up_l": 0.25 }),
        json!({ "name": "Pump", "kind": "pump", "flow_l_min": 2 }),
        json!({ "name": "Thermometer", "kind": "thermometer", "offset": 0, "uncertainty": 0.3 }),
        json!({ "name": "Hydrometer", "kind": "hydrometer", "calibration_c": 20, "offset": 0 }),
    ];
    set.iter().filter_map(read).collect()
}

fn read(body: &Value) -> Option<Equipment> {
    Equipment::from_body(body).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_of_the_set_is_taken_by_the_book() {
        assert_eq!(equipment().len(), 11);
    }
}
