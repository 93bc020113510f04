//! Chance that can be had again: a seed, told at the start.

use std::time::{SystemTime, UNIX_EPOCH};

use anyhow::{Context, Result};

/// Throws numbers (SplitMix64: Steele, Lea and Flood 2014, constants from memory).
#[derive(Clone, Debug)]
pub struct Dice {
    state: u64,
}

impl Dice {
    /// From the seed in `GYLEBOOK_SEED`, else from the clock; it is printed.
    ///
    /// # Errors
    /// The seed is no number.
    pub fn seeded() -> Result<Self> {
        let state = match std::env::var("GYLEBOOK_SEED") {
            Ok(seed) => seed.parse().context("GYLEBOOK_SEED is a whole number")?,
            Err(_) => u64::from(SystemTime::now().duration_since(UNIX_EPOCH)?.subsec_nanos()),
        };
        println!("GYLEBOOK_SEED={state}");
        Ok(Self { state })
    }

    /// Others, that throw differently.
    #[must_use]
    pub fn other(&self) -> Self {
        Self { state: !self.state }
    }

    /// A number from 0 up to, but not, this one.
    pub fn below(&mut self, end: u64) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % end
    }
}
