//! Chance that comes out the same each time.

/// SplitMix64 (its constants from memory): more than good enough for a thermometer's last digit.
#[derive(Clone, Debug)]
pub(super) struct Dice(pub(super) u64);

impl Dice {
    pub(super) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Anything between two numbers, all alike.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.bits() >> 11) as f64 / (1_u64 << 53) as f64)
    }
}
