//! The equipment of Slate Yard, and what was done for it before the first brew.

use serde_json::{Value, json};
use time::OffsetDateTime;

use super::{DemoError, log::Pen, sound};
use crate::brewday::choices::CareAct;
use crate::brewday::entry::Care;
use crate::brewday::{Body, Equipment, Settings};
use crate::store::Store;

/// The ids of what stands in the yard.
#[derive(Clone, Debug)]
pub(super) struct House {
    pub(super) mash_tun: i64,
    pub(super) kettle: i64,
    /// Nine metres of copper, used most, slowly getting worse.
    pub(super) short_coil: i64,
    /// Fifteen metres of steel.
    pub(super) long_coil: i64,
    pub(super) pump: i64,
    pub(super) hoses: i64,
    pub(super) fermenters: [i64; 3],
    /// Instruments and buckets: along on every brew.
    pub(super) always: Vec<i64>,
}

/// What the short coil weighs clean and dry.
pub(super) const SHORT_COIL_KG: f64 = 2.84;
/// What the long coil weighs clean and dry.
pub(super) const LONG_COIL_KG: f64 = 3.62;

/// The names over the door and the units: what a newcomer would have chosen.
pub(super) fn settings() -> Settings {
    Settings { house: "Slate Yard".into(), altitude_m: Some(85.0), welcomed: true, ..Settings::default() }
}

impl House {
    /// Puts the equipment in the book and cleans the coils once.
    pub(super) async fn furnish(store: &Store, at: OffsetDateTime) -> Result<Self, DemoError> {
        let add = async |body: Value| {
            let equipment = sound("equipment", Equipment::from_body(&body))?;
            Ok::<_, DemoError>(store.add_equipment(&equipment, at).await?)
        };
        let fermenter = |name: &str, volume_l: f64| json!({"name": name, "kind": "fermenter", "volume_l": volume_l});
        let house = Self {
            mash_tun: add(json!({
                "name": "Mash tun", "kind": "mash_vessel", "volume_l": 40, "dead_space_l": 0.8, "dry_mass_kg": 7.5,
                "notes": "False bottom in two halves: the one with the notch goes to the tap.",
            }))
            .await?,
            kettle: add(json!({
                "name": "Tall kettle", "kind": "kettle", "volume_l": 45, "dead_space_l": 1.0, "boil_off_l_per_h": 3.4,
                "notes": "Dipstick marked every half litre, cold.",
            }))
            .await?,
            short_coil: add(json!({
                "name": "Short coil", "kind": "coil", "hold_up_l": 0.9, "dry_mass_kg": SHORT_COIL_KG,
                "flow_l_min": 2.2, "notes": "Copper, 9 m. The wort runs inside, the bath is outside.",
            }))
            .await?,
            long_coil: add(json!({
                "name": "Long coil", "kind": "coil", "hold_up_l": 1.4, "dry_mass_kg": LONG_COIL_KG,
                "flow_l_min": 2.6, "notes": "Steel, 15 m. Also takes tap water, coil in the kettle.",
            }))
            .await?,
            pump: add(json!({
                "name": "Wort pump", "kind": "pump", "flow_l_min": 2.4,
                "notes": "Plug it into the outlet with the residual-current switch, cable off the floor.",
            }))
            .await?,
            hoses: add(json!({"name": "Silicone hoses", "kind": "hose", "hold_up_l": 0.3})).await?,
            fermenters: [
                add(fermenter("Fermenter 1", 30.0)).await?,
                add(fermenter("Fermenter 2", 30.0)).await?,
                add(fermenter("Fermenter 3", 17.0)).await?,
            ],
            always: vec![
                add(json!({"name": "Blue thermometer", "kind": "thermometer", "uncertainty": 0.2})).await?,
                add(json!({
                    "name": "Hydrometer", "kind": "hydrometer", "calibration_c": 20, "offset": 0.001,
                    "notes": "Shows 1.001 in distilled water at 20 °C.",
                }))
                .await?,
                add(json!({
                    "name": "Refractometer", "kind": "refractometer", "wort_factor": 1.03,
                    "notes": "Factor from six worts read with the hydrometer as well.",
                }))
                .await?,
                add(json!({"name": "Hanging scale", "kind": "scale", "uncertainty": 0.01})).await?,
                add(json!({"name": "Grey bucket", "kind": "bucket", "volume_l": 20})).await?,
                add(json!({"name": "White bucket", "kind": "bucket", "volume_l": 20})).await?,
                add(json!({"name": "Ice bucket", "kind": "bucket", "volume_l": 15})).await?,
            ],
        };
        house.first_cleaning(store, at).await?;
        Ok(house)
    }

    async fn first_cleaning(&self, store: &Store, at: OffsetDateTime) -> Result<(), DemoError> {
        let mut pen = Pen::new(at, "house");
        let care = |equipment, act, mass_kg| Body::Care(Care { equipment, act, mass_kg, place: None });
        for (coil, mass_kg) in [(self.short_coil, SHORT_COIL_KG), (self.long_coil, LONG_COIL_KG)] {
            pen.write(1.0, care(coil, CareAct::Cleaned, None));
            pen.write(20.0, care(coil, CareAct::BlownDry, None));
            pen.write(31.0, care(coil, CareAct::Weighed, Some(mass_kg)));
        }
        for fermenter in self.fermenters {
            pen.write(40.0, care(fermenter, CareAct::Cleaned, None));
        }
        let scales = "Both coils weighed dry and bright as new: that is what the scale has to say after every brew.";
        pen.noted(45.0, Body::Note, scales);
        super::log_all(store, None, pen.finish()).await
    }
}
