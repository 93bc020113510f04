//! From a reader's numbers to places on the drawing, and ticks worth reading.

/// What steps between ticks a reader counts in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Steps {
    /// 1, 2, 2.5, 5 and their tens: degrees, W/K.
    Decimal,
    /// Whole minutes as a clock divides them: 1, 2, 5, 10, 15, 30, 60, 120…
    Minutes,
}

const MINUTE_STEPS: [f64; 14] =
    [1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0, 240.0, 360.0, 720.0, 1440.0, 2880.0];

impl Steps {
    /// The smallest step of this kind that is at least `least`.
    fn at_least(self, least: f64) -> f64 {
        if self == Self::Minutes
            && let Some(step) = MINUTE_STEPS.into_iter().find(|step| *step >= least)
        {
            return step;
        }
        let ten = 10_f64.powf(least.log10().floor());
        // The last rung catches a quotient that rounding pushed just past 10.
        [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|m| m * ten).find(|step| *step >= least).unwrap_or(20.0 * ten)
    }
}

/// Evenly spaced values to draw gridlines at.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ticks {
    /// The gap between two.
    pub(super) step: f64,
    /// In rising order.
    pub(super) values: Vec<f64>,
}

impl Ticks {
    /// At most `most` ticks (3 or more) whose first and last enclose the data.
    pub(super) fn around(low: f64, high: f64, most: usize, steps: Steps) -> Self {
        let (low, high) = opened(low, high);
        let mut step = steps.at_least((high - low) / (most - 1) as f64);
        loop {
            let (first, last) = ((low / step).floor(), (high / step).ceil());
            if last - first < most as f64 {
                return Self { step, values: multiples(step, first, last) };
            }
            step = steps.at_least(step * 1.01);
        }
    }

    /// At most `most` ticks that lie within the data.
    pub(super) fn within(low: f64, high: f64, most: usize, steps: Steps) -> Self {
        let (low, high) = opened(low, high);
        let step = steps.at_least((high - low) / most as f64);
        let mut values = multiples(step, (low / step).ceil(), (high / step).floor());
        values.truncate(most);
        Self { step, values }
    }

    pub(super) fn first(&self) -> f64 {
        self.values.first().copied().unwrap_or(0.0)
    }

    pub(super) fn last(&self) -> f64 {
        self.values.last().copied().unwrap_or(1.0)
    }

    /// How many decimals tell one tick from the next.
    pub(super) fn decimals(&self) -> usize {
        (0..4).find(|places| is_whole(self.step * 10_f64.powi(*places as i32))).unwrap_or(4)
    }
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6 * value.abs()
}

/// Multiplying keeps 0.3 from becoming 0.30000000000000004 tick by tick.
fn multiples(step: f64, first: f64, last: f64) -> Vec<f64> {
    (0..=(last - first).max(0.0) as usize).map(|i| (first + i as f64) * step).collect()
}

/// A range with room in it: data that is all one value gets one unit each way.
fn opened(low: f64, high: f64) -> (f64, f64) {
    if high - low > 1e-9 * high.abs().max(1.0) { (low, high) } else { (low - 1.0, low + 1.0) }
}

/// A straight mapping from values to places along one axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    from: f64,
    until: f64,
    start: f64,
    end: f64,
}

impl Scale {
    /// `from` lands on `start`, `until` on `end`.
    pub(super) fn new((from, until): (f64, f64), (start, end): (f64, f64)) -> Self {
        let (from, until) = opened(from, until);
        Self { from, until, start, end }
    }

    /// Where a value lands.
    pub(super) fn place(&self, value: f64) -> f64 {
        self.start + (value - self.from) / (self.until - self.from) * (self.end - self.start)
    }

    /// Where a value lands, held to the axis if it lies beyond its ends.
    pub(super) fn held(&self, value: f64) -> f64 {
        self.place(value.clamp(self.from, self.until))
    }
}

/// The least and greatest of the values, if there are any.
pub(super) fn range(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().fold(None, |found, value| match found {
        None => Some((value, value)),
        Some((low, high)) => Some((low.min(value), high.max(value))),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A step is nice when it is 1, 2, 2.5 or 5 times a power of ten.
    fn is_nice(step: f64) -> bool {
        let mantissa = step / 10_f64.powf(step.log10().floor());
        [1.0, 2.0, 2.5, 5.0, 10.0].iter().any(|nice| (mantissa - nice).abs() < 1e-6)
    }

    proptest! {
        #[test]
        fn decimal_ticks_are_nice_few_and_cover_the_data(
            low in -1e6..1e6_f64,
            span in prop_oneof![0.0..1e-3, 0.0..10.0, 0.0..200.0, 0.0..1e6],
        ) {
            let high = low + span;
            let ticks = Ticks::around(low, high, 6, Steps::Decimal);
            prop_assert!((2..=6).contains(&ticks.values.len()), "{:?}", ticks);
            prop_assert!(ticks.first() <= low && high <= ticks.last(), "{:?}", ticks);
            prop_assert!(is_nice(ticks.step), "{:?}", ticks);
            prop_assert!(ticks.values.iter().all(|v| is_whole(v / ticks.step) || v.abs() < ticks.step * 1e-6));
        }

        #[test]
        fn minute_ticks_stay_within_and_are_few(low in -10.0..2_000.0_f64, span in 0.0..100_000.0_f64) {
            let ticks = Ticks::within(low, low + span, 6, Steps::Minutes);
            prop_assert!(ticks.values.len() <= 6);
            prop_assert!(ticks.values.iter().all(|v| *v >= low - 1.0 && *v <= low + span.max(1.0)));
            prop_assert!(ticks.step >= 1.0 && is_whole(ticks.step), "{:?}", ticks);
        }

        #[test]
        fn a_scale_keeps_order_and_ends(from in -1e3..1e3_f64, span in 1e-3..1e3_f64, part in 0.0..1.0_f64) {
            let scale = Scale::new((from, from + span), (200.0, 10.0));
            prop_assert!((scale.place(from) - 200.0).abs() < 1e-6);
            prop_assert!((scale.place(from + span) - 10.0).abs() < 1e-6);
            prop_assert!((scale.place(from + part * span) - (200.0 - 190.0 * part)).abs() < 1e-5);
        }
    }

    #[test]
    fn a_chill_in_celsius_and_in_fahrenheit_both_read_well() {
        assert_eq!(Ticks::around(17.0, 98.0, 6, Steps::Decimal).values, [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
        assert_eq!(Ticks::around(62.6, 208.4, 6, Steps::Decimal).values, [50.0, 100.0, 150.0, 200.0, 250.0]);
        assert_eq!(Ticks::within(0.0, 47.0, 6, Steps::Minutes).values, [0.0, 10.0, 20.0, 30.0, 40.0]);
    }

    #[test]
    fn one_value_gets_an_axis_around_it() {
        let ticks = Ticks::around(20.0, 20.0, 6, Steps::Decimal);
        assert!(ticks.first() < 20.0 && ticks.last() > 20.0);
        assert_eq!(ticks.decimals(), 1);
    }
}
