//! When the day's equipment was last touched by wort.

use time::OffsetDateTime;

use super::{BrewDay, Standing};
use crate::brewday::care::{CareEvent, CareEventKind, CareState};
use crate::brewday::choices::{Cooling, EquipmentKind, GravityPoint, Place, VolumePoint};
use crate::brewday::{Body, EquipmentRecord};

impl BrewDay {
    /// The last time wort touched each piece of equipment that it touches at all.
    #[must_use]
    pub fn uses(&self) -> Vec<(i64, OffsetDateTime)> {
        self.batch
            .equipment
            .iter()
            .filter_map(|record| {
                let kind = record.equipment.kind;
                let is_use = |entry: &&Standing| touches(kind, &entry.body);
                // Of all readings only a mash's tell that something was used.
                let last = match kind {
                    EquipmentKind::MashVessel => self.standing.iter().rfind(is_use),
                    _ => self.events().rfind(is_use),
                };
                Some((record.id, last?.at))
            })
            .collect()
    }

    /// The state of a piece of equipment at a moment of this day: from what it
    /// was when the batch was started, through the day's own care and use.
    #[must_use]
    pub fn care(&self, record: &EquipmentRecord, until: Option<OffsetDateTime>) -> CareState {
        let events: Vec<CareEvent> = self
            .standing
            .iter()
            .filter(|entry| until.is_none_or(|until| entry.at < until))
            .filter_map(|entry| {
                let what = match &entry.body {
                    Body::Care(care) if care.equipment == record.id => CareEventKind::Cared(care.clone()),
                    body if touches(record.equipment.kind, body) => CareEventKind::Used,
                    _ => return None,
                };
                Some(CareEvent { at: entry.at, batch: Some(self.batch.id), what })
            })
            .collect();
        record.care.clone().after(&events, record.equipment.dry_mass_kg)
    }
}

/// Whether an entry shows that wort touched a piece of equipment of this kind.
fn touches(kind: EquipmentKind, body: &Body) -> bool {
    match kind {
        EquipmentKind::MashVessel => matches!(
            body,
            Body::Temperature { place: Place::Mash, .. } | Body::Gravity { point: GravityPoint::FirstWort, .. }
        ),
        EquipmentKind::Kettle => matches!(
            body,
            Body::BoilStarted
                | Body::FlameOut
                | Body::Volume { point: VolumePoint::PreBoil | VolumePoint::PostBoil, .. }
        ),
        EquipmentKind::Coil | EquipmentKind::PlateChiller | EquipmentKind::Hose | EquipmentKind::Pump => match body {
            Body::CoolingStarted(cooling) => cooling.method != Cooling::Air,
            Body::FlushStarted { .. } | Body::FlushFinished { .. } | Body::CoilDrained { .. } => true,
            _ => false,
        },
        EquipmentKind::Fermenter => {
            matches!(body, Body::Pitched(_) | Body::Volume { point: VolumePoint::IntoFermenter, .. })
        }
        _ => false,
    }
}
