//! What the computation needs of each kind of equipment, in a brewer's words.

use crate::brewday::{
    Equipment,
    choices::{Choice, EquipmentKind},
    plausible::Dimension::{self, BoilOff, Flow, Mass, Minutes, Plain, Temperature, Volume},
};

/// One figure of a piece of equipment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// The field's canonical name.
    pub name: &'static str,
    /// What the brewer calls it.
    pub label: &'static str,
    /// How to come by it, and what it is for.
    pub hint: &'static str,
}

const fn need(name: &'static str, label: &'static str, hint: &'static str) -> Need {
    Need { name, label, hint }
}

const BRIM: Need = need("volume_l", "Volume, full", "To the brim: it says whether a batch fits.");
const MARKS: Need = need(
    "uncertainty",
    "How far a reading of its marks is off",
    "Two readings in three are closer than this. Left empty, half-litre marks are assumed.",
);
const HOLD_UP: Need =
    need("hold_up_l", "Hold-up", "What stays inside when the pump stops. Blow it out into a jug once and measure it.");
const DRY_MASS: Need = need(
    "dry_mass_kg",
    "Dry weight",
    "Weighed clean and bone dry. Weighed again after a brew, whatever it weighs more is still inside.",
);
const PASS: Need = need(
    "pass_min",
    "One full pass",
    "How long the whole wort takes to come round once: volume over flow. Or pump a full kettle over and time it.",
);
const FLOW: Need = need(
    "flow_l_min",
    "Flow",
    "Time how long a measured bucket takes to fill through it. Used where no pass time is given.",
);

const MASH_VESSEL: &[Need] = &[
    BRIM,
    need(
        "dead_space_l",
        "Dead space",
        "What can’t be drawn off, under the tap or the false bottom. It is added to the mash water.",
    ),
    need("dry_mass_kg", "Empty weight", "Its metal takes heat from the strike water. Leave it empty for plastic."),
    MARKS,
];
const KETTLE: &[Need] = &[
    BRIM,
    need("dead_space_l", "Dead space", "What stays behind with the trub when it is drained."),
    need(
        "boil_off_l_per_h",
        "Boil-off",
        "What an hour’s boil takes away. Your own batches replace it as soon as there are any.",
    ),
    MARKS,
];
const CHILLER: &[Need] = &[PASS, FLOW, HOLD_UP, DRY_MASS];
const BUCKET: &[Need] = &[need("volume_l", "Volume", "Filled as you fill it for a bath, with the coil in.")];
const FERMENTER: &[Need] = &[BRIM, MARKS];
const HOSE: &[Need] = &[HOLD_UP];
const PUMP: &[Need] = &[need(
    "flow_l_min",
    "Flow",
    "Through your own coil and hoses, not what its box says. Time how long a measured bucket takes to fill.",
)];
const THERMOMETER: &[Need] = &[
    need(
        "offset",
        "Shows too much by",
        "Hold it in stirred crushed ice and water: that is 0 °C, 32 °F. A minus where it shows too little.",
    ),
    need("uncertainty", "How far a reading is off", "Two readings in three are closer than this."),
];
const HYDROMETER: &[Need] = &[
    need("calibration_c", "Marked for", "The temperature printed on its scale: 20 °C, or 60 °F."),
    need(
        "offset",
        "Shows too much by",
        "Float it in distilled water at that temperature: it should show 1.000. A minus where it shows less.",
    ),
    need("uncertainty", "How far a reading is off", "Two readings in three are closer than this."),
];
const REFRACTOMETER: &[Need] = &[
    need(
        "wort_factor",
        "Wort factor",
        "Its reading over the hydrometer’s °P in the same unfermented wort. Left empty, 1.04 is used.",
    ),
    need("offset", "Shows too much by", "A drop of distilled water should show 0. A minus where it shows less."),
    need("uncertainty", "How far a reading is off", "Two readings in three are closer than this."),
];
const SCALE: &[Need] = &[
    need(
        "offset",
        "Shows too much by",
        "Weigh something known, like a full bag of sugar. Tare takes it away, so masses are kept as you log them.",
    ),
    need("uncertainty", "How far a reading is off", "Two readings in three are closer than this."),
];
const OTHER: &[Need] = &[need("volume_l", "Volume", ""), need("dry_mass_kg", "Weight", "")];

/// The figures a kind of equipment is asked for, in the order of its form.
#[must_use]
pub fn needs(kind: EquipmentKind) -> &'static [Need] {
    match kind {
        EquipmentKind::MashVessel => MASH_VESSEL,
        EquipmentKind::Kettle => KETTLE,
        EquipmentKind::Coil | EquipmentKind::PlateChiller => CHILLER,
        EquipmentKind::Bucket => BUCKET,
        EquipmentKind::Fermenter => FERMENTER,
        EquipmentKind::Hose => HOSE,
        EquipmentKind::Pump => PUMP,
        EquipmentKind::Thermometer => THERMOMETER,
        EquipmentKind::Hydrometer => HYDROMETER,
        EquipmentKind::Refractometer => REFRACTOMETER,
        EquipmentKind::Scale => SCALE,
        EquipmentKind::Other => OTHER,
    }
}

/// Every figure any kind is asked for.
static ALL: [Need; 11] = [
    need("volume_l", "Volume", ""),
    need("dead_space_l", "Dead space", ""),
    need("boil_off_l_per_h", "Boil-off", ""),
    PASS,
    FLOW,
    HOLD_UP,
    DRY_MASS,
    need("calibration_c", "Marked for", ""),
    need("offset", "Shows too much by", ""),
    need("wort_factor", "Wort factor", ""),
    need("uncertainty", "How far a reading is off", ""),
];

/// The figures a kind isn't asked for; a record may hold them all the same.
pub fn beyond(kind: EquipmentKind) -> impl Iterator<Item = &'static Need> {
    ALL.iter().filter(move |need| !needs(kind).iter().any(|known| known.name == need.name))
}

/// A figure in a line of several: what a thing holds goes without saying.
#[must_use]
pub fn in_short(name: &str, label: &str, shown: &str) -> String {
    if name == "volume_l" { shown.to_owned() } else { format!("{} {shown}", label.to_lowercase()) }
}

/// The figure of this name, with what it measures.
#[must_use]
pub fn figure(equipment: &Equipment, name: &str) -> Option<(f64, Dimension)> {
    let (value, dimension) = match name {
        "volume_l" => (equipment.volume_l, Volume),
        "dead_space_l" => (equipment.dead_space_l, Volume),
        "hold_up_l" => (equipment.hold_up_l, Volume),
        "dry_mass_kg" => (equipment.dry_mass_kg, Mass),
        "boil_off_l_per_h" => (equipment.boil_off_l_per_h, BoilOff),
        "pass_min" => (equipment.pass_min, Minutes),
        "flow_l_min" => (equipment.flow_l_min, Flow),
        "calibration_c" => (equipment.calibration_c, Temperature),
        "offset" => (equipment.offset, of_reading(equipment.kind)),
        "uncertainty" => (equipment.uncertainty, of_reading(equipment.kind)),
        "wort_factor" => (equipment.wort_factor, Plain),
        _ => return None,
    };
    Some((value?, dimension))
}

/// What a reading of it measures, where that is not a plain number.
fn of_reading(kind: EquipmentKind) -> Dimension {
    match kind {
        EquipmentKind::Thermometer => Dimension::TemperatureDifference,
        EquipmentKind::Refractometer => Dimension::Brix,
        EquipmentKind::Scale => Mass,
        EquipmentKind::MashVessel | EquipmentKind::Kettle | EquipmentKind::Fermenter => Volume,
        _ => Plain,
    }
}

/// Every kind to choose from: key, label and what it is for.
#[must_use]
pub fn choices() -> Vec<(&'static str, &'static str, &'static str)> {
    EquipmentKind::ALL.iter().map(|kind| (kind.key(), kind.label(), about(*kind))).collect()
}

/// What a kind is for, for a newcomer who has to choose one.
#[must_use]
pub fn about(kind: EquipmentKind) -> &'static str {
    match kind {
        EquipmentKind::MashVessel => "where malt and water stand",
        EquipmentKind::Kettle => "where the wort is boiled",
        EquipmentKind::Coil => "the wort is pumped through it, or it stands in the wort",
        EquipmentKind::PlateChiller => "wort on one side, water on the other",
        EquipmentKind::Bucket => "a bath for the coil",
        EquipmentKind::Fermenter => "where the yeast works",
        EquipmentKind::Hose => "keeps wort inside, like the coil",
        EquipmentKind::Pump => "its flow sets the pass time",
        EquipmentKind::Thermometer => "with what it shows too much",
        EquipmentKind::Hydrometer => "with the temperature it is marked for",
        EquipmentKind::Refractometer => "with its own wort factor",
        EquipmentKind::Scale => "for malt, hops and the coil itself",
        EquipmentKind::Other => "anything else you want to look after",
    }
}

/// Whether wort goes through it or stands in it, so that its care matters.
#[must_use]
pub fn touches_wort(kind: EquipmentKind) -> bool {
    matches!(
        kind,
        EquipmentKind::MashVessel
            | EquipmentKind::Kettle
            | EquipmentKind::Coil
            | EquipmentKind::PlateChiller
            | EquipmentKind::Fermenter
            | EquipmentKind::Hose
            | EquipmentKind::Pump
    )
}

/// The caution that goes with a kind, once and where it applies.
#[must_use]
pub fn caution(kind: EquipmentKind) -> Option<&'static str> {
    Some(match kind {
        EquipmentKind::Kettle => {
            "Boiling wort scalds: never lift a full kettle. A gas burner stands outdoors only. Local codes and the maker’s instructions come first."
        }
        EquipmentKind::Coil | EquipmentKind::PlateChiller => {
            "Feel the silicone hose, not the metal: it is as hot as the wort. Caustic and acid cleaners: gloves, goggles, never mixed, never with chlorine bleach."
        }
        EquipmentKind::Fermenter => {
            "Never seal a fermenting vessel. Glass cracks with hot wort. Fermenting beer gives off CO₂: air the room."
        }
        EquipmentKind::Hose => "Food grade and rated for boiling wort, or it softens and comes off.",
        EquipmentKind::Pump => "On a residual-current (ground-fault) protected outlet, its cable clear of water.",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn every_need_of_every_kind_is_a_figure_of_the_record() {
        for kind in EquipmentKind::ALL {
            for need in needs(*kind).iter().chain(&ALL) {
                // 1 is within every range but the hydrometer's offset.
                let value = if need.name == "offset" { 0.01 } else { 1.0 };
                let body = json!({ "name": "One", "kind": kind.key(), (need.name): value });
                let equipment = Equipment::from_body(&body).expect(need.name);
                assert_eq!(figure(&equipment, need.name).map(|(value, _)| value), Some(value), "{}", need.name);
                assert!(ALL.iter().any(|known| known.name == need.name), "{}", need.name);
            }
        }
    }
}
