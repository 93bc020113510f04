//! Medians, what they are sure to, and the tail of a distribution.

/// A median with the interval that holds it in 95 of 100 redrawings.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Median {
    pub(crate) value: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Median {
    /// By the bootstrap: 2,000 redrawings with replacement, the same each time.
    pub(crate) fn of(values: &[f64]) -> Self {
        let mut state = 1_u64;
        let mut draw = || {
            // A linear congruential generator (Knuth's MMIX constants, from memory).
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            values[(state >> 33) as usize % values.len()]
        };
        let mut medians: Vec<f64> = (0..2_000).map(|_| middle((0..values.len()).map(|_| draw()).collect())).collect();
        medians.sort_by(f64::total_cmp);
        Self { value: middle(values.to_vec()), low: quantile(&medians, 0.025), high: quantile(&medians, 0.975) }
    }
}

/// The middle of values in any order.
pub(crate) fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    quantile(&values, 0.5)
}

/// The value below which this share of the sorted values lies.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    sorted.get(((last as f64) * share).round() as usize).copied().unwrap_or(f64::NAN)
}
