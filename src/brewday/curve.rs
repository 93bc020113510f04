//! The wort's cooling as a few points, for the small curve in a list and the
//! curves of a comparison.

use super::BrewDay;

/// The most points a curve is kept with.
const POINTS: usize = 80;

/// Minutes since flame-out and the wort's temperature in °C until the yeast went
/// in, thinned to 80 points: the ends are among them, and every peak and dip.
///
/// Empty where there is no flame-out yet, or no reading after it.
#[must_use]
pub fn curve_points(day: &BrewDay) -> Vec<(f64, f64)> {
    let chill = day.chilled().map(|chilled| &chilled.chill).filter(|chill| chill.from_flame_out);
    let Some(chill) = chill else { return Vec::new() };
    let readings = chill.series.readings().iter();
    // To the thousandth of a minute: a sixteenth of a second, in half the digits.
    thinned(readings.map(|one| ((one.at.minutes() * 1000.0).round() / 1000.0, one.wort.celsius())).collect())
}

/// The lowest and the highest of each stretch of equally many points.
fn thinned(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let [first, middle @ .., last] = points.as_slice() else { return points };
    if points.len() <= POINTS {
        return points;
    }
    let stretch = middle.len().div_ceil((POINTS - 2) / 2);
    let mut kept = vec![*first];
    for some in middle.chunks(stretch) {
        let by_height = |one: &&(f64, f64), other: &&(f64, f64)| one.1.total_cmp(&other.1);
        if let (Some(low), Some(high)) = (some.iter().min_by(by_height), some.iter().max_by(by_height)) {
            let (earlier, later) = if low.0 <= high.0 { (low, high) } else { (high, low) };
            kept.push(*earlier);
            if later != earlier {
                kept.push(*later);
            }
        }
    }
    kept.push(*last);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_curve_keeps_its_ends_its_order_and_a_dip_of_one_reading() {
        let mut long: Vec<_> = (0..1000).map(|minute| (f64::from(minute), 95.0 - f64::from(minute % 7))).collect();
        long[618].1 = 12.0;
        let thin = thinned(long.clone());
        assert!(thin.len() <= POINTS && thin.len() > POINTS / 2, "{}", thin.len());
        assert_eq!((thin[0].0, thin[thin.len() - 1].0), (0.0, 999.0));
        assert!(thin.is_sorted_by(|one, next| one.0 < next.0));
        assert!(thin.contains(&long[618]), "{thin:?}");
    }

    #[test]
    fn a_short_curve_is_kept_whole() {
        let short = vec![(0.0, 98.0), (1.5, 80.0)];
        assert_eq!(thinned(short.clone()), short);
        assert_eq!(thinned(Vec::new()), []);
    }
}
