//! Chance that comes out the same each time: a seeded generator for noise.

/// The generator: SplitMix64 (its constants from memory), more than good enough for a thermometer's last digit.
#[derive(Clone, Debug)]
pub(super) struct Dice(u64);

impl Dice {
    /// A generator that always gives the same row for the same seed.
    pub(super) const fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Anything from 0 to 1, all alike.
    pub(super) fn share(&mut self) -> f64 {
        // 32 bits are exact in an f64 and finer than anything read on the day.
        f64::from(u32::try_from(self.bits() >> 32).unwrap_or(u32::MAX)) / f64::from(u32::MAX)
    }

    /// Anything from `low` to `high`, all alike.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// A normal deviate with this standard deviation (the sum of twelve shares).
    pub(super) fn noise(&mut self, deviation: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.share()).sum();
        (sum - 6.0) * deviation
    }
}

/// A value as an instrument with this division shows it.
pub(super) fn shown(value: f64, division: f64) -> f64 {
    let steps = (value / division).round();
    // Dividing by the whole number of divisions in one gives the nearest decimal: 19.1, not 19.100000000000001.
    steps / (1.0 / division).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_gives_one_row_and_another_seed_another() {
        let row = |seed| {
            let mut dice = Dice::seeded(seed);
            [dice.share(), dice.noise(1.0), dice.between(3.0, 4.0)]
        };
        assert_eq!(row(7), row(7));
        assert_ne!(row(7), row(8));
    }

    #[test]
    fn noise_is_as_wide_as_it_is_said_to_be() {
        let mut dice = Dice::seeded(1);
        let many: Vec<f64> = (0..4000).map(|_| dice.noise(0.3)).collect();
        let mean = many.iter().sum::<f64>() / 4000.0;
        let deviation = (many.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / 4000.0).sqrt();
        // Four standard errors of a mean and of a deviation over 4,000 values.
        assert!(mean.abs() < 0.02, "{mean}");
        assert!((deviation - 0.3).abs() < 0.014, "{deviation}");
    }

    #[test]
    fn a_reading_has_no_more_digits_than_the_instrument() {
        assert_eq!(shown(19.1499, 0.1).to_string(), "19.1");
        assert_eq!(shown(1.04672, 0.0005).to_string(), "1.0465");
        assert_eq!(shown(26.13, 0.25).to_string(), "26.25");
    }
}
