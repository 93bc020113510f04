//! One figure of one piece of equipment over its batches, with error bars.

use super::{
    Picture, Point, Table, drawable,
    frame::{FOOT, Frame, LEADING, WIDTH, empty},
    scale::{Ticks, range},
    svg::{Anchor, Shape, Svg},
    text::{self, count, number},
};

const HEIGHT: f64 = 150.0;
const WHISKER: f64 = 4.0;

/// A figure measured in one batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate<'a> {
    /// Which batch, short enough for an axis: "14".
    pub label: &'a str,
    /// The figure.
    pub value: f64,
    /// Its standard error, where there is one.
    pub error: Option<f64>,
    /// Whether it was measured in another way, and so stands apart from the others.
    pub is_apart: bool,
}

/// A coil's K, or another figure, batch by batch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Trend<'a> {
    /// The picture's name: "Heat passed by the copper coil".
    pub title: &'a str,
    /// What goes up, in words: "K".
    pub what: &'a str,
    /// Its unit: "W/K".
    pub unit: &'a str,
    /// What goes along, in words: "batch".
    pub along: &'a str,
    /// In the order brewed.
    pub estimates: &'a [Estimate<'a>],
    /// A level to compare with, such as the median that a plan uses.
    pub level: Option<(&'a str, f64)>,
    /// How those that stand apart were measured: "in running water".
    pub apart: &'a str,
}

impl Trend<'_> {
    /// The picture.
    #[must_use]
    pub fn svg(&self) -> Picture {
        let estimates: Vec<&Estimate<'_>> = self.estimates.iter().filter(|e| drawable(e.value)).collect();
        let level = self.level.filter(|(_, value)| drawable(*value));
        let ends = estimates.iter().flat_map(|e| [e.value - spread(e), e.value + spread(e)]);
        let Some(values) = range(ends.chain(level.map(|(_, value)| value))).filter(|_| !estimates.is_empty()) else {
            return empty(
                "trend",
                self.title,
                ["The figures appear here, batch by batch,", "once a first one can be computed."],
            );
        };
        // A figure that can't be negative should be seen against nought, unless that flattens it.
        let low = if values.0 > 0.0 && values.0 < 0.5 * values.1 { 0.0 } else { values.0 };
        let frame =
            Frame::new((LEADING + 6.0, HEIGHT), (low, values.1), (-0.5, estimates.len() as f64 - 0.5), "", 10.0);
        let ticks = Ticks { step: 1.0, values: (0..estimates.len()).map(|i| i as f64).collect() };
        let level = level.map(|(words, value)| (format!("dashed: {words}, {} {}", number(value, 0), self.unit), value));
        let has_apart = estimates.iter().any(|e| e.is_apart);
        let squares = has_apart.then(|| format!("squares: {}, by themselves", self.apart));
        let notes: Vec<&String> = level.iter().map(|(words, _)| words).chain(&squares).collect();
        let height = LEADING + 6.0 + HEIGHT + FOOT + notes.len() as f64 * LEADING;

        let mut svg = Svg::new("trend", (WIDTH, height), self.title, &self.told(&estimates));
        Frame::head(&mut svg, &format!("{}, {}", self.what, self.unit));
        frame.rows(&mut svg);
        let named = |v: f64| estimates.get(v as usize).map_or_else(String::new, |e| text::cut(e.label, 60.0));
        frame.foot(&mut svg, 0.0, &ticks, named, self.along);
        if let Some((_, value)) = level {
            let y = frame.y.place(value);
            svg.line("level", Point::new(frame.plot.left, y), Point::new(frame.plot.right, y));
        }
        for (below, note) in notes.iter().rev().enumerate() {
            let base = height - text::FALL - 2.0 - below as f64 * LEADING;
            svg.text("axis", Anchor::Start, Point::new(0.0, base), &text::cut(note, WIDTH));
        }
        let trace: Vec<Point> =
            estimates.iter().enumerate().map(|(i, e)| frame.place(Point::new(i as f64, e.value))).collect();
        let joined = trace.iter().zip(&estimates).filter(|(_, e)| !e.is_apart).map(|(at, _)| *at);
        svg.polyline("between", &joined.collect::<Vec<_>>());
        for (at, estimate) in trace.iter().zip(&estimates) {
            svg.group("estimate", |svg| {
                let apart = if estimate.is_apart { format!(", {}", self.apart) } else { String::new() };
                svg.hint(&format!("{}: {}{apart}", estimate.label, self.figure(estimate)));
                if spread(estimate) > 0.0 {
                    let (top, bottom) = (
                        frame.y.place(estimate.value + spread(estimate)),
                        frame.y.place(estimate.value - spread(estimate)),
                    );
                    svg.line("error", Point::new(at.x, top), Point::new(at.x, bottom));
                    for y in [top, bottom] {
                        svg.line("error", Point::new(at.x - WHISKER, y), Point::new(at.x + WHISKER, y));
                    }
                }
                let (class, shape) =
                    if estimate.is_apart { ("value value--apart", Shape::Square) } else { ("value", Shape::Round) };
                svg.mark(class, shape, *at, 3.6);
            });
        }
        svg.finish()
    }

    /// The same numbers in rows.
    #[must_use]
    pub fn table(&self) -> Table {
        let value = format!("#{}, {}", self.what, self.unit);
        let mut table = Table::new(self.title, &[self.along, &value, "#Standard error"]);
        table.rows = self
            .estimates
            .iter()
            .map(|e| vec![e.label.to_owned(), number(e.value, 1), e.error.map_or_else(String::new, |se| number(se, 1))])
            .collect();
        table
    }

    /// The same numbers as CSV.
    #[must_use]
    pub fn csv(&self) -> String {
        self.table().csv()
    }

    fn figure(&self, estimate: &Estimate<'_>) -> String {
        let error = estimate.error.map_or_else(String::new, |se| format!(" ± {}", number(se, 0)));
        format!("{}{error} {}", number(estimate.value, 0), self.unit)
    }

    fn told(&self, estimates: &[&Estimate<'_>]) -> String {
        let Some(last) = estimates.last() else { return String::new() };
        let (low, high) = range(estimates.iter().map(|e| e.value)).unwrap_or_default();
        let apart: Vec<&str> = estimates.iter().filter(|e| e.is_apart).map(|e| e.label).collect();
        let apart = match apart.as_slice() {
            [] => String::new(),
            some => format!(" Apart, {}: {} {}.", self.apart, self.along, some.join(", ")),
        };
        format!(
            "{}, {}: {} to {} {}; the latest, {} {}, is {}. Bars show one standard error each way.{apart}",
            self.what,
            count(estimates.len(), "figure"),
            number(low, 0),
            number(high, 0),
            self.unit,
            self.along,
            last.label,
            self.figure(last)
        )
    }
}

/// How far the error bar reaches each way.
fn spread(estimate: &Estimate<'_>) -> f64 {
    estimate.error.filter(|se| drawable(*se)).map_or(0.0, f64::abs)
}
