//! Many chills, a small frame each, all to one scale.

use super::{
    Overlay, Picture, Point,
    frame::{FIGURES, FOOT, LEADING, WIDTH},
    scale::{Scale, Steps, Ticks, range},
    svg::{Anchor, Shape, Svg},
    text::{self, number},
};

const COLUMNS: usize = 2;
const HEIGHT: f64 = 84.0;
const GAP: f64 = 16.0;
/// Where the band of all batches is measured, from left to right.
const SLICES: u32 = 48;

/// Frames in one picture.
const TOGETHER: usize = 8;

/// Draws every run in a frame of its own, over the band that all of them fill.
pub(super) fn draw(
    overlay: &Overlay<'_>,
    traces: &[Vec<Point>],
    along: (f64, f64),
    values: (f64, f64),
) -> Vec<Picture> {
    let band = band(traces, along);
    let some = |(index, traces): (usize, &[Vec<Point>])| some(overlay, index * TOGETHER, traces, &band, along, values);
    traces.chunks(TOGETHER).enumerate().map(some).collect()
}

/// A few of the runs, from the one with this index on.
fn some(
    overlay: &Overlay<'_>,
    first: usize,
    traces: &[Vec<Point>],
    band: &[Point],
    along: (f64, f64),
    values: (f64, f64),
) -> Picture {
    let rows = Ticks::around(values.0, values.1, 4, Steps::Decimal);
    let figure = |v: &f64| number(*v, rows.decimals()) + "°";
    let left = rows.values.iter().map(|v| text::width(&figure(v))).fold(0.0, f64::max) + 8.0;
    let width = (WIDTH - left - 8.0 - GAP) / COLUMNS as f64;
    let deep = traces.len().div_ceil(COLUMNS);
    let pitch = LEADING + HEIGHT + 12.0;
    let height = LEADING + 4.0 + deep as f64 * pitch - 12.0 + FOOT;
    let ticks = Ticks::within(along.0, along.1, 3, Steps::Minutes);

    let title = format!("{}: {} to {}", overlay.title, first + 1, first + traces.len());
    let mut svg = Svg::new("panels", (WIDTH, height), &title, &overlay.told(first, traces));
    svg.text(
        "axis",
        Anchor::Start,
        Point::new(0.0, text::RISE + 2.0),
        &format!("wort, {}; shaded: all batches", overlay.unit),
    );
    for (i, (run, trace)) in overlay.runs[first..].iter().zip(traces).enumerate() {
        let (column, row) = (i % COLUMNS, i / COLUMNS);
        let from = left + column as f64 * (width + GAP);
        let top = LEADING + 4.0 + row as f64 * pitch + LEADING;
        let x = Scale::new(along, (from, from + width));
        let y = Scale::new((rows.first(), rows.last()), (top + HEIGHT, top));
        let place = |p: &Point| Point::new(x.place(p.x), y.place(p.y));
        svg.polygon("band", &band.iter().map(place).collect::<Vec<_>>());
        for value in &rows.values {
            let level = y.place(*value);
            svg.line("grid", Point::new(from, level), Point::new(from + width, level));
            if column == 0 {
                svg.text_beside("axis", Anchor::End, Point::new(from - 6.0, level), &[figure(value)]);
            }
        }
        if i + COLUMNS >= traces.len() {
            for minute in &ticks.values {
                let (words, half) = (number(*minute, 0), text::width(&number(*minute, 0)) / 2.0);
                // Held within its own panel, clear of the neighbour's figures.
                let middle = x.place(*minute).clamp(from, from + width - half);
                svg.text("axis", Anchor::Middle, Point::new(middle, top + HEIGHT + FIGURES), &words);
            }
        }
        svg.text("run-name", Anchor::Start, Point::new(from, top - 6.0), &text::cut(run.label, width));
        let line: Vec<Point> = trace.iter().map(place).collect();
        svg.polyline("wort", &line);
        if let Some(last) = line.last() {
            svg.mark("end", Shape::Round, *last, 3.2);
        }
    }
    let foot = Point::new(left + width + GAP / 2.0, height - text::FALL - 2.0);
    svg.text("axis", Anchor::Middle, foot, "minutes since flame-out");
    svg.finish()
}

/// The area between the lowest and the highest of all runs, instant by instant.
fn band(traces: &[Vec<Point>], (start, end): (f64, f64)) -> Vec<Point> {
    let instants = (0..=SLICES).map(|i| start + (end - start) * f64::from(i) / f64::from(SLICES));
    let (low, mut high): (Vec<Point>, Vec<Point>) = instants
        .filter_map(|x| range(traces.iter().filter_map(|trace| value_at(trace, x))).map(|(low, high)| (x, low, high)))
        .map(|(x, low, high)| (Point::new(x, low), Point::new(x, high)))
        .unzip();
    high.reverse();
    low.into_iter().chain(high).collect()
}

/// The value of a run at one instant, on the straight line between its readings.
fn value_at(trace: &[Point], x: f64) -> Option<f64> {
    let after = trace.partition_point(|p| p.x < x);
    let next = trace.get(after)?;
    let Some(before) = after.checked_sub(1).map(|i| trace[i]) else { return (next.x <= x).then_some(next.y) };
    Some(before.y + (next.y - before.y) * (x - before.x) / (next.x - before.x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_counts_between_its_first_and_last_reading_only() {
        let trace = [Point::new(2.0, 90.0), Point::new(6.0, 70.0)];
        assert_eq!(
            [1.0, 2.0, 4.0, 6.0, 6.1].map(|x| value_at(&trace, x)),
            [None, Some(90.0), Some(80.0), Some(70.0), None]
        );
    }
}
