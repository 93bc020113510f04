//! Putting the wort right at the kettle, once its volume and gravity were read.
//!
//! What is read before the boil is first boiled on paper, as long as planned.
//! Mixing and boiling commute in a mass balance, so one account serves before
//! the boil and after it: what the kettle will hold at the end is held against
//! the plan, and each remedy is told with what it gives.
//!
//! The rule: no advice where the gravity differs from the plan's by no more than
//! [`DOUBT`] standard errors of the readings. Chasing less is chasing the
//! hydrometer. Nor is there any from readings the extract account contradicts.

use super::choices::{EquipmentKind, FermentableUse, GravityPoint, VolumePoint};
use super::plan::DayPlan;
use super::summary::readings::{corrected_gravity, volume_at_20};
use super::summary::{account, predicted};
use super::{Body, BrewDay};
use crate::science::extract::account::{Account, DOUBT, KettleReading};
use crate::science::extract::{self, Fermentable};
use crate::science::kettle::{self, BoilAdvice};
use crate::science::units::{FlowRate, Mass, Measured, Plato, SpecificGravity, Temperature, TimeSpan, Volume};
use crate::science::wort::Wort;
use crate::science::{gravity, water};

/// Extract in dry malt extract, 0 to 1; the rest is moisture (common practice, no source).
pub const DRY_EXTRACT: f64 = 0.97;
/// The longest boil that is added (common practice, no source): beyond it, extract is the way.
const LONGER_MOST: TimeSpan = TimeSpan::from_minutes(60.0);
/// The share of a boil that may be left out (common practice, no source): hops
/// and what has to boil away need the rest.
const SHORTER_MOST: f64 = 1.0 / 3.0;
/// As hot as wort gets in an open kettle, where it takes most room.
const BOILING: Temperature = Temperature::from_celsius(100.0);
/// A plan weaker than this is no plan for a wort.
const WORT_LEAST: Plato = Plato::from_degrees(0.1);

/// When the kettle was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// Before the boil, or no later reading is there.
    BeforeBoil,
    /// At the end of a boil that still goes on.
    AtTheBoil,
    /// After flame-out.
    AfterFlameOut,
    /// After the coil went in: the kettle boils no more.
    Chilling,
}

/// Wort in the fermenter: how much at 20 °C, and its gravity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// What is left of the kettle after its loss.
    pub into_fermenter: Volume,
    /// Specific gravity 20/20.
    pub gravity: SpecificGravity,
}

/// How the wort stands against the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Nearer than the readings can tell.
    OnTarget,
    /// Weaker than planned.
    Weak,
    /// Stronger than planned.
    Strong,
}

/// Something that can be done about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// Boil this much longer than planned.
    BoilLonger(TimeSpan),
    /// Boil this much shorter than planned.
    BoilShorter(TimeSpan),
    /// Boil on, or again, for this long.
    BoilOn(TimeSpan),
    /// Stir in so much dry malt extract.
    AddExtract(Mass),
    /// Add so much water, measured at 20 °C.
    AddWater(Volume),
}

/// An act and what it gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Remedy {
    /// What to do.
    pub act: Act,
    /// The wort it leads to.
    pub gives: Outcome,
    /// Where the kettle can't hold what it would make of it.
    pub runs_over: Option<RunsOver>,
}

/// The kettle held against the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// When the kettle was read.
    pub read: Read,
    /// What it leads to as it is.
    pub as_it_is: Outcome,
    /// The standard error of that gravity, from both readings; the boil-off is taken as sure.
    pub gravity_se: f64,
    /// What the plan wants.
    pub planned: Outcome,
    /// How the two compare.
    pub verdict: Verdict,
    /// What can be done, the one that ends nearest the planned volume first, and
    /// what the kettle can't hold last.
    pub remedies: Vec<Remedy>,
}

/// More hot wort than a kettle holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunsOver {
    /// The wort, boiling hot.
    pub hot: Volume,
    /// The kettle, full to the brim.
    pub brim: Volume,
}

impl RunsOver {
    /// Where this wort, boiling hot, is more than the kettle holds; `None` also
    /// where nobody said how much that is.
    #[must_use]
    pub fn of(wort: Wort, brim: Option<Volume>) -> Option<Self> {
        let (hot, brim) = (wort.volume_at(BOILING), brim?);
        (hot > brim).then_some(Self { hot, brim })
    }
}

/// What the plan wants of the kettle, and how it boils.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// Wort into the fermenter at 20 °C.
    pub into_fermenter: Volume,
    /// How strong it should be.
    pub strength: Plato,
    /// What stays in kettle and hoses.
    pub kettle_loss: Volume,
    /// What the boil takes off.
    pub boil_off: FlowRate,
    /// How long the boil is planned.
    pub boil: TimeSpan,
    /// What the kettle holds, where that is known.
    pub brim: Option<Volume>,
}

impl Correction {
    /// The kettle of a day against its plan: by the post-boil readings, else by
    /// the pre-boil readings. `None` where both of a pair are not there yet, once
    /// the yeast is in, and where the readings contradict each other.
    #[must_use]
    pub fn of(day: &BrewDay, plan: &DayPlan) -> Option<Self> {
        let recipe = day.batch.scaled_recipe();
        let aim = Aim {
            into_fermenter: Volume::from_litres(recipe.volume_l),
            strength: Plato::from_degrees(plan.expected.original_plato),
            kettle_loss: plan.kettle_loss,
            boil_off: plan.boil_off,
            boil: TimeSpan::from_minutes(recipe.boil_min),
            brim: day.batch.first(EquipmentKind::Kettle).and_then(|kettle| kettle.volume_l).map(Volume::from_litres),
        };
        if day.pitched().is_some() || aim.strength < WORT_LEAST || contradicted(day) {
            return None;
        }
        let is_chilling = day.standing.iter().any(|entry| matches!(entry.body, Body::CoolingStarted(_)));
        let read = match day.flame_out() {
            _ if is_chilling => Read::Chilling,
            Some(_) => Read::AfterFlameOut,
            None => Read::AtTheBoil,
        };
        match kettle_read(day, VolumePoint::PostBoil, GravityPoint::PostBoil) {
            Some(reading) => Some(Self::after_boil(reading, read, &aim)),
            None if read == Read::AtTheBoil => {
                let reading = kettle_read(day, VolumePoint::PreBoil, GravityPoint::PreBoil)?;
                let goods = predicted::goods(&recipe, FermentableUse::Kettle);
                Some(Self::before_boil(reading, &goods, &aim))
            }
            None => None,
        }
    }

    /// A kettle read before the boil, with the goods that are still to go into it.
    ///
    /// It is boiled on paper for the time planned; the remedies are a longer or a
    /// shorter boil, else extract or water.
    ///
    /// ```
    /// use gylebook::brewday::correction::{Act, Aim, Correction, Verdict};
    /// use gylebook::science::extract::account::KettleReading;
    /// use gylebook::science::units::{FlowRate, Measured, Plato, TimeSpan, Volume};
    /// let aim = Aim {
    ///     into_fermenter: Volume::from_litres(20.0),
    ///     strength: Plato::from_degrees(12.0),
    ///     kettle_loss: Volume::from_litres(2.0),
    ///     boil_off: FlowRate::from_litres_per_hour(3.0),
    ///     boil: TimeSpan::from_minutes(60.0),
    ///     brim: None,
    /// };
    /// let kettle = KettleReading {
    ///     volume: Measured::new(25.0, 0.15),
    ///     gravity: Measured::new(1.040, 0.0006),
    /// };
    /// let told = Correction::before_boil(kettle, &[], &aim);
    /// assert_eq!(told.verdict, Verdict::Weak);
    /// // Extract keeps the volume, so it comes first; a longer boil is the other way.
    /// let longer = told.remedies.iter().find_map(|one| match one.act {
    ///     Act::BoilLonger(by) => Some(by.minutes()),
    ///     _ => None,
    /// });
    /// // 25 L hold 2.594 kg: at 12 °P that is 20.66 L, so 4.34 L have to go, at 3 L/h.
    /// assert!((longer.unwrap() - 26.9).abs() < 0.3);
    /// ```
    #[must_use]
    pub fn before_boil(reading: KettleReading, goods: &[Fermentable], aim: &Aim) -> Self {
        let start = |litres, sg| with_goods(wort(litres, sg), goods);
        let at_the_end = |litres, sg| {
            let before = start(litres, sg);
            kettle::boiled(before, aim.boil_off, aim.boil).unwrap_or(before)
        };
        let boil = || {
            let before = start(reading.volume.value, reading.gravity.value);
            match kettle::boil_advice(before, aim.boil_off, aim.boil, aim.strength).ok()? {
                BoilAdvice::Longer(by, after) => (by <= LONGER_MOST).then_some((Act::BoilLonger(by), after)),
                BoilAdvice::Shorter(by, after) => {
                    (by <= aim.boil * SHORTER_MOST).then_some((Act::BoilShorter(by), after))
                }
            }
        };
        let now = start(reading.volume.value, reading.gravity.value);
        Self::told(Read::BeforeBoil, reading, now, at_the_end, boil, aim)
    }

    /// A kettle read at the end of the boil: extract, water, or some more boiling
    /// unless it is already being chilled.
    #[must_use]
    pub fn after_boil(reading: KettleReading, read: Read, aim: &Aim) -> Self {
        let now = wort(reading.volume.value, reading.gravity.value);
        let boil = || {
            let (lasts, after) = kettle::boil_until(now, aim.boil_off, aim.strength).ok()?;
            (read != Read::Chilling && lasts <= LONGER_MOST).then_some((Act::BoilOn(lasts), after))
        };
        Self::told(read, reading, now, wort, boil, aim)
    }

    /// Weighs what the kettle leads to against the plan; looks for remedies only
    /// where the readings can tell the two apart.
    fn told(
        read: Read,
        reading: KettleReading,
        now: Wort,
        at_the_end: impl Fn(f64, f64) -> Wort,
        boil: impl Fn() -> Option<(Act, Wort)>,
        aim: &Aim,
    ) -> Self {
        let end = at_the_end(reading.volume.value, reading.gravity.value);
        let sg = |litres, sg| gravity::specific_gravity(at_the_end(litres, sg).strength).ratio();
        let expected = reading.volume.with(reading.gravity, sg);
        let planned = Outcome { into_fermenter: aim.into_fermenter, gravity: gravity::specific_gravity(aim.strength) };
        let verdict = verdict(expected, planned.gravity);
        let found = match verdict {
            Verdict::OnTarget => [None, None],
            Verdict::Weak => [boil(), kettle::add_extract(end, DRY_EXTRACT, aim.strength).ok().map(extract_act)],
            Verdict::Strong => [boil(), kettle::add_water(end, aim.strength).ok().map(water_act)],
        };
        let outcome = |wort: Wort| Outcome {
            into_fermenter: (wort.volume - aim.kettle_loss).max(Volume::ZERO),
            gravity: gravity::specific_gravity(wort.strength),
        };
        let remedy = |(act, after)| {
            let runs_over = added(now, act).and_then(|wort| RunsOver::of(wort, aim.brim));
            Remedy { act, gives: outcome(after), runs_over }
        };
        let mut remedies: Vec<Remedy> = found.into_iter().flatten().map(remedy).collect();
        // What the kettle can't hold comes last, however near it would end.
        let astray = |one: &Remedy| (one.gives.into_fermenter - aim.into_fermenter).abs().litres();
        let order = |one: &Remedy, other: &Remedy| astray(one).total_cmp(&astray(other));
        remedies.sort_by(|one, other| {
            one.runs_over.is_some().cmp(&other.runs_over.is_some()).then_with(|| order(one, other))
        });
        Self { read, as_it_is: outcome(end), gravity_se: expected.se, planned, verdict, remedies }
    }
}

fn verdict(expected: Measured, planned: SpecificGravity) -> Verdict {
    let off = expected.value - planned.ratio();
    if off.abs() <= DOUBT * expected.se {
        Verdict::OnTarget
    } else if off < 0.0 {
        Verdict::Weak
    } else {
        Verdict::Strong
    }
}

/// The wort in the kettle once an addition is in: now, before any of it boils off.
fn added(now: Wort, act: Act) -> Option<Wort> {
    match act {
        Act::AddExtract(mass) => {
            Some(Wort::of(now.extract() + mass * DRY_EXTRACT, now.water() + mass * (1.0 - DRY_EXTRACT)))
        }
        Act::AddWater(volume) => {
            Some(Wort::of(now.extract(), now.water() + water::mass(volume, Temperature::REFERENCE)))
        }
        Act::BoilLonger(_) | Act::BoilShorter(_) | Act::BoilOn(_) => None,
    }
}

fn extract_act((mass, after): (Mass, Wort)) -> (Act, Wort) {
    (Act::AddExtract(mass), after)
}

fn water_act((volume, after): (Volume, Wort)) -> (Act, Wort) {
    (Act::AddWater(volume), after)
}

fn wort(litres: f64, sg: f64) -> Wort {
    Wort::new(Volume::from_litres(litres), gravity::plato(SpecificGravity::from_ratio(sg)))
}

/// The wort once goods of the recipe are dissolved in it.
fn with_goods(wort: Wort, goods: &[Fermentable]) -> Wort {
    if goods.is_empty() {
        return wort;
    }
    let water: Mass = goods.iter().map(|each| each.water()).sum();
    Wort::of(wort.extract() + extract::potential(goods), wort.water() + water)
}

/// Whether the boil seems to have made or lost extract: then one of the readings is off.
fn contradicted(day: &BrewDay) -> bool {
    account(day).is_ok_and(|account| !Account::closes(account))
}

fn kettle_read(day: &BrewDay, volume: VolumePoint, gravity: GravityPoint) -> Option<KettleReading> {
    Some(KettleReading { volume: volume_at_20(day, volume).ok()?, gravity: corrected_gravity(day, gravity).ok()? })
}

#[cfg(test)]
mod tests;
