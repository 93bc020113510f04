//! The least ice, and the least water, that still reach the target.

use super::constants::{ICE_LATENT, ICE_TEMPERATURE};
use super::forecast::WITH_THE_ROOM;
use super::law::Ways;
use super::plan::{LONGEST_STAY, Request};
use super::schedule::{Job, Turn, Way};
use super::stage::{Bath, Coolant, raw};
use crate::science::units::{Conductance, Mass};

/// Longest stay that the search for the least time looks at before a change, s.
const LONGEST_BEFORE_CHANGE: f64 = 2400.0;
/// Longest stay in the last bath for the least time, s.
const LONGEST_LAST: f64 = 4.0 * 3600.0;
/// More baths than this are all used: their choices are too many to try.
const MOST_TO_CHOOSE_FROM: usize = 12;
/// Ice is found to this, kg.
const ICE_STEP: f64 = 0.005;

/// A request with its coil, and what the search for a way is told.
pub(super) struct AtHand<'a> {
    request: &'a Request,
    coil: Conductance,
    /// For the least time.
    pub(super) hurried: Job,
    /// For the least ice or water: no stay is longer than [`LONGEST_STAY`].
    pub(super) sparing: Job,
}

impl<'a> AtHand<'a> {
    pub(super) fn new(request: &'a Request, coil: Conductance) -> Self {
        // The loss acts while the coil is out, whatever it stands in otherwise.
        let (_, ways) = raw(Coolant::Room, request.kettle, coil);
        let loss = request.kettle.loss.conductance.watts_per_kelvin();
        let ways = Ways { loss, ..ways };
        let job = |longest, longest_last| {
            let change = request.change.seconds().max(0.0);
            Job::new(request.target.celsius(), change, &ways, longest, longest_last)
        };
        let stay = LONGEST_STAY.seconds();
        Self { request, coil, hurried: job(LONGEST_BEFORE_CHANGE, LONGEST_LAST), sparing: job(stay, stay) }
    }

    /// Bath `i` with this much ice.
    pub(super) fn turn(&self, i: usize, ice: Mass) -> Turn {
        let at_hand = &self.request.baths[i];
        let bath = Bath::of_water(at_hand.water, at_hand.at).with_ice(ice, ICE_TEMPERATURE);
        let (cold, ways) = raw(Coolant::Bath(bath), self.request.kettle, self.coil);
        Turn { cold, ways }
    }

    /// Whether the baths do it, and not the room given hours: the last stay is
    /// short, or the same baths would get there without the room's help.
    pub(super) fn is_done_by_baths(&self, wort: f64, chosen: &[usize], ice: &[Mass], way: &Way) -> bool {
        let last = way.0.last().map_or(0.0, |leg| leg.lasts);
        let request = Request { kettle: self.request.kettle.lagged(), ..self.request.clone() };
        let lagged = AtHand::new(&request, self.coil);
        let coldest = |wort: f64, &bath: &usize| lagged.turn(bath, ice[bath]).from(wort).coldest().0.min(wort);
        last <= WITH_THE_ROOM.seconds() || chosen.iter().fold(wort, coldest) <= self.hurried.target
    }

    /// Each bath's ice, what is left over going in the last.
    pub(super) fn ice_as_meant(&self) -> Vec<Mass> {
        let baths = self.request.baths.iter();
        let mut ice: Vec<Mass> = baths.map(|b| b.ice.max(Mass::ZERO)).collect();
        let meant: Mass = ice.iter().copied().sum();
        let over = self.request.ice_available.unwrap_or(Mass::ZERO) - meant;
        if let Some(last) = ice.last_mut() {
            *last = *last + over.max(Mass::ZERO);
        }
        ice
    }

    fn reaches(&self, row: &[Turn]) -> bool {
        let (_, end) = self.sparing.long_stays(self.request.wort.celsius(), row, 0);
        end <= self.sparing.target
    }

    /// The least ice in the last bath that reaches the target with long stays.
    pub(super) fn least_ice(&self) -> Option<Mass> {
        let last = self.request.baths.len().checked_sub(1)?;
        let mut row: Vec<Turn> = (0..=last).map(|i| self.turn(i, Mass::ZERO)).collect();
        let mut reaches = |ice: f64| {
            row[last] = self.turn(last, Mass::from_kilograms(ice));
            self.reaches(&row)
        };
        if reaches(0.0) {
            return Some(Mass::ZERO);
        }
        // More ice than this stays ice: all the heat of wort and bath goes into it.
        let wort = self.request.kettle.wort.joules_per_kelvin() * self.request.wort.celsius();
        let at_hand = &self.request.baths[last];
        let bath = Bath::of_water(at_hand.water, at_hand.at).heat().joules();
        let (mut low, mut high) = (0.0, 1.0 + (wort + bath).max(0.0) / ICE_LATENT);
        if !reaches(high) {
            return None;
        }
        while high - low > ICE_STEP {
            let middle = 0.5 * (low + high);
            if reaches(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(Mass::from_kilograms(high))
    }

    /// The baths with the least water that together reach the target with long
    /// stays; all of them where none do.
    pub(super) fn least_water(&self, ice: &[Mass]) -> Vec<usize> {
        let n = self.request.baths.len();
        let all = || (0..n).collect();
        if n > MOST_TO_CHOOSE_FROM {
            return all();
        }
        let members = |set: u32| (0..n).filter(move |i| set >> i & 1 == 1);
        let water = |set: u32| members(set).map(|i| self.request.baths[i].water).sum::<Mass>();
        let mut sets: Vec<(f64, u32)> = (1..1_u32 << n).map(|set| (water(set).kilograms(), set)).collect();
        // Of two with the same water the one with fewer changes.
        sets.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.count_ones().cmp(&b.1.count_ones())));
        let turns: Vec<Turn> = (0..n).map(|i| self.turn(i, ice[i])).collect();
        let does = |(_, set): &(f64, u32)| {
            let row: Vec<Turn> = members(*set).map(|i| turns[i]).collect();
            self.reaches(&row)
        };
        sets.into_iter().find(does).map_or_else(all, |(_, set)| members(set).collect())
    }
}
