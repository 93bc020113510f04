//! The baths that are still to come.

use super::is_bath;
use crate::brewday::BrewDay;
use crate::brewday::chill::Chill;
use crate::brewday::chill_plan::PlannedBath;
use crate::brewday::choices::EquipmentKind;
use crate::science::chilling::plan::BathAtHand;

/// A bath that was not used yet.
#[derive(Clone, Debug, PartialEq)]
pub struct BathReady {
    /// Its place among the day's baths, from 1.
    pub number: usize,
    /// The bucket's name, where it is known.
    pub name: Option<String>,
    /// What is in it.
    pub bath: PlannedBath,
    /// Whether it is a bucket that was used, to be filled anew from the tap.
    pub is_refill: bool,
}

/// Where the baths to come are known from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BathsFrom {
    /// The plan that was kept with the batch.
    Plan,
    /// The batch's buckets, full of water as the tap runs today, °C.
    Buckets(f64),
    /// There are buckets, but nobody said how warm the tap runs.
    NoTap,
    /// The batch was started without buckets.
    NoBuckets,
}

impl BathReady {
    /// The bath as the science of chilling takes it.
    #[must_use]
    pub fn at_hand(&self) -> BathAtHand {
        self.bath.at_hand()
    }
}

/// How many baths the day has used: each still or ice bath was one.
pub(super) fn used(chill: &Chill) -> usize {
    chill.stages.iter().filter(|stage| is_bath(stage)).count()
}

/// The baths not used yet, in order, and where they are known from.
pub(super) fn ready(day: &BrewDay, chill: &Chill) -> (Vec<BathReady>, BathsFrom) {
    let used = used(chill);
    let names: Vec<&str> = day.batch.all(EquipmentKind::Bucket).map(|record| record.equipment.name.as_str()).collect();
    let (baths, from) = at_hand(day);
    let ready = baths.into_iter().enumerate().skip(used).map(|(index, bath)| BathReady {
        number: index + 1,
        name: names.get(index).map(|name| (*name).to_owned()),
        bath,
        is_refill: false,
    });
    let mut ready: Vec<BathReady> = ready.collect();
    if ready.is_empty() {
        ready.extend(refill(day, used, from));
    }
    (ready, from)
}

/// With every bucket used, the one used longest ago filled anew: with a single
/// bucket there is none, as the coil stands in it.
fn refill(day: &BrewDay, used: usize, from: BathsFrom) -> Option<BathReady> {
    let BathsFrom::Buckets(water_c) = from else { return None };
    let buckets: Vec<_> = day
        .batch
        .all(EquipmentKind::Bucket)
        .filter_map(|record| Some((&record.equipment.name, record.equipment.volume_l?)))
        .collect();
    let (name, water_l) = *buckets.get(used % buckets.len().max(1)).filter(|_| buckets.len() > 1)?;
    let bath = PlannedBath { water_l, water_c, ice_kg: 0.0 };
    Some(BathReady { number: used + 1, name: Some(name.clone()), bath, is_refill: true })
}

/// All the day's baths: as planned, else every bucket full from the tap.
fn at_hand(day: &BrewDay) -> (Vec<PlannedBath>, BathsFrom) {
    if let Some(kept) = &day.batch.chill_plan {
        return (with_all_ice(&kept.request.baths, kept.request.ice_available_kg), BathsFrom::Plan);
    }
    let litres: Vec<f64> =
        day.batch.all(EquipmentKind::Bucket).filter_map(|record| record.equipment.volume_l).collect();
    match day.batch.tap_c {
        _ if litres.is_empty() => (Vec::new(), BathsFrom::NoBuckets),
        None => (Vec::new(), BathsFrom::NoTap),
        Some(water_c) => (
            litres.into_iter().map(|water_l| PlannedBath { water_l, water_c, ice_kg: 0.0 }).collect(),
            BathsFrom::Buckets(water_c),
        ),
    }
}

/// The planned baths, what ice they have not been given yet put in the last.
fn with_all_ice(baths: &[PlannedBath], available_kg: Option<f64>) -> Vec<PlannedBath> {
    let mut baths = baths.to_vec();
    let given: f64 = baths.iter().map(|bath| bath.ice_kg).sum();
    if let (Some(last), Some(available)) = (baths.last_mut(), available_kg) {
        last.ice_kg += (available - given).max(0.0);
    }
    baths
}
