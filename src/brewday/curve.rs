//! The wort's cooling as a few points, for the small curve in a list.

use super::BrewDay;
use super::choices::Place;

/// The most points a curve is kept with; the drawing is a thumb wide.
const POINTS: usize = 40;

/// Minutes since flame-out and the wort's temperature in °C, in the order they
/// were read, thinned to 40 points with the first and the last among them.
///
/// Empty where there is no flame-out yet, or no reading after it.
#[must_use]
pub fn curve_points(day: &BrewDay) -> Vec<(f64, f64)> {
    let Some(flame_out) = day.flame_out() else { return Vec::new() };
    let readings = day
        .temperatures(Place::Wort)
        .filter(|reading| reading.at >= flame_out)
        .map(|reading| ((reading.at - flame_out).as_seconds_f64() / 60.0, reading.temperature_c));
    thinned(readings.collect())
}

fn thinned(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    if points.len() <= POINTS {
        return points;
    }
    (0..POINTS).map(|index| points[index * (points.len() - 1) / (POINTS - 1)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_curve_keeps_its_ends_and_its_order() {
        let long: Vec<_> = (0..1000).map(|minute| (f64::from(minute), 95.0)).collect();
        let thin = thinned(long);
        assert_eq!(thin.len(), POINTS);
        assert_eq!((thin[0].0, thin[POINTS - 1].0), (0.0, 999.0));
        assert!(thin.is_sorted_by(|one, next| one.0 < next.0));
    }

    #[test]
    fn a_short_curve_is_kept_whole() {
        let short = vec![(0.0, 98.0), (1.5, 80.0)];
        assert_eq!(thinned(short.clone()), short);
    }
}
