//! Chance that can be repeated.

use std::time::{SystemTime, UNIX_EPOCH};

/// How often something is done: what the environment says, else what is usual.
pub(crate) fn times(name: &str, usual: u64) -> u64 {
    match std::env::var(name) {
        Ok(times) => times.parse().unwrap_or_else(|why| panic!("{name}={times}: {why}")),
        Err(_) => usual,
    }
}

/// SplitMix64 [Steele, Lea, Flood: Fast splittable pseudorandom number generators, 2014], from memory.
#[derive(Clone, Debug)]
pub(crate) struct Chance(u64);

impl Chance {
    /// Printed, so that a run that failed can be followed again.
    pub(crate) fn new(of: &str) -> Self {
        let now = SystemTime::now().duration_since(UNIX_EPOCH).map_or(1, |since| since.as_secs());
        let seed = times("GYLEBOOK_SEED", now);
        println!("{of}: GYLEBOOK_SEED={seed}");
        Self(seed)
    }

    /// Another chance that follows from this one, for another thread.
    pub(crate) fn split(&mut self) -> Self {
        Self(self.next())
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 to `end`, which is left out.
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.next() % end.max(1)
    }

    /// Once in so many.
    pub(crate) fn once_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    pub(crate) fn one_of<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        let place = usize::try_from(self.below(from.len() as u64)).expect("an index");
        &from[place]
    }

    /// In any order.
    pub(crate) fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            let other = usize::try_from(self.below(last as u64 + 1)).expect("an index");
            all.swap(last, other);
        }
    }
}
