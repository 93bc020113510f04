//! Fewer points, the same shape.

use super::Point;

/// Thins a series to at most `most` points without losing a peak.
///
/// The run is cut into slices of equal width along x, and each slice keeps its
/// lowest and its highest point, so the greatest and least values survive, and
/// a dip one reading long still shows. The first and last points always stay.
///
/// `points` must be in order along x and finite; the result is too, and holds
/// only points that were given. Fewer than `most` come back as they are; a
/// `most` below 4 counts as 4. Takes one pass over the points.
///
/// ```
/// use gylebook::web::chart::{Point, thin};
/// let probe: Vec<Point> = (0..100_000).map(|s| Point::new(f64::from(s), f64::from(s % 977))).collect();
/// let drawn = thin(&probe, 400);
/// assert!(drawn.len() <= 400);
/// assert_eq!((drawn[0], drawn[drawn.len() - 1]), (probe[0], probe[99_999]));
/// ```
#[must_use]
pub fn thin(points: &[Point], most: usize) -> Vec<Point> {
    let most = most.max(4);
    let [first, middle @ .., last] = points else { return points.to_vec() };
    if points.len() <= most {
        return points.to_vec();
    }
    let slices = (most - 2) / 2;
    let width = (last.x - first.x) / slices as f64;
    let slice_of = |p: &Point| if width > 0.0 { (((p.x - first.x) / width) as usize).min(slices - 1) } else { 0 };

    let mut kept = Vec::with_capacity(most);
    kept.push(*first);
    for slice in middle.chunk_by(|a, b| slice_of(a) == slice_of(b)) {
        let (mut lowest, mut highest) = (0, 0);
        for (i, point) in slice.iter().enumerate() {
            if point.y < slice[lowest].y {
                lowest = i;
            }
            if point.y > slice[highest].y {
                highest = i;
            }
        }
        kept.push(slice[lowest.min(highest)]);
        if lowest != highest {
            kept.push(slice[lowest.max(highest)]);
        }
    }
    kept.push(*last);
    kept
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn series() -> impl Strategy<Value = Vec<Point>> {
        prop::collection::vec((-1e4..1e4, -50.0..150.0), 0..600).prop_map(|mut pairs: Vec<(f64, f64)>| {
            pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
            pairs.into_iter().map(|(x, y)| Point::new(x, y)).collect()
        })
    }

    fn extremes(points: &[Point]) -> (f64, f64) {
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p.y), high.max(p.y)))
    }

    proptest! {
        #[test]
        fn keeps_the_ends_the_extremes_and_the_order(points in series(), most in 4_usize..300) {
            let kept = thin(&points, most);
            prop_assert!(kept.len() <= most);
            prop_assert_eq!(kept.first(), points.first());
            prop_assert_eq!(kept.last(), points.last());
            prop_assert_eq!(extremes(&kept), extremes(&points));
            prop_assert!(kept.is_sorted_by(|a, b| a.x <= b.x));
            prop_assert!(kept.iter().all(|p| points.contains(p)));
        }

        #[test]
        fn a_short_series_is_left_alone(points in series()) {
            prop_assert_eq!(thin(&points, points.len()), points);
        }
    }

    #[test]
    fn readings_that_share_one_instant_keep_their_extremes() {
        let points: Vec<Point> = (0..1_000).map(|i| Point::new(5.0, f64::from((i * 37) % 1_000))).collect();
        let kept = thin(&points, 10);
        assert!(kept.len() <= 10);
        assert_eq!(extremes(&kept), (0.0, 999.0));
    }

    #[test]
    fn one_dip_among_a_hundred_thousand_survives() {
        let points: Vec<Point> =
            (0..100_000).map(|i| Point::new(f64::from(i), if i == 61_803 { 12.0 } else { 40.0 })).collect();
        assert!(thin(&points, 400).contains(&Point::new(61_803.0, 12.0)));
    }
}
