//! The axes, gridlines and figures that most charts stand in.

use super::{
    Point,
    labels::Area,
    scale::{Scale, Steps, Ticks},
    svg::{Anchor, Svg},
    text,
};

/// Every full-size drawing is this wide.
pub(super) const WIDTH: f64 = 360.0;
/// From one baseline of text to the next.
pub(super) const LEADING: f64 = 19.0;
/// From the plot to the baseline of the figures along the foot, clear of the
/// lowest figure up the side.
pub(super) const FIGURES: f64 = text::RISE + 9.5;
/// Room for the figures along the foot, and for the words that name them.
pub(super) const FOOT: f64 = FIGURES + LEADING + text::FALL + 1.0;
/// No more gridlines than this: more are harder to read off, not easier.
pub(super) const MOST_GRIDLINES: usize = 6;
/// No drawing shows more than this of one series: about two points a pixel.
pub(super) const MOST_POINTS: usize = 600;

/// What lies where: the plot's box and the two scales that fill it.
#[derive(Debug)]
pub(super) struct Frame {
    pub(super) plot: Area,
    pub(super) x: Scale,
    pub(super) y: Scale,
    rows: Ticks,
    after: &'static str,
}

impl Frame {
    /// A frame `height` high whose top edge is at `top`, with room on the left
    /// for the figures of a vertical axis around `values`, each followed by
    /// `after` (a degree sign, or nothing).
    pub(super) fn new(
        (top, height): (f64, f64),
        values: (f64, f64),
        along: (f64, f64),
        after: &'static str,
        right: f64,
    ) -> Self {
        let rows = Ticks::around(values.0, values.1, MOST_GRIDLINES, Steps::Decimal);
        let decimals = rows.decimals();
        let widest = rows.values.iter().map(|v| text::width(&text::number(*v, decimals))).fold(0.0, f64::max);
        let plot = Area { left: widest + text::width(after) + 8.0, top, right: WIDTH - right, bottom: top + height };
        let x = Scale::new(along, (plot.left, plot.right));
        let y = Scale::new((rows.first(), rows.last()), (plot.bottom, plot.top));
        Self { plot, x, y, rows, after }
    }

    /// Where a reading lands.
    pub(super) fn place(&self, point: Point) -> Point {
        Point::new(self.x.place(point.x), self.y.place(point.y))
    }

    /// Where several readings land.
    pub(super) fn trace(&self, points: &[Point]) -> Vec<Point> {
        points.iter().map(|p| self.place(*p)).collect()
    }

    /// The name of what goes up, and its unit, above the plot on the left.
    pub(super) fn head(svg: &mut Svg, words: &str) {
        svg.text("axis", Anchor::Start, Point::new(0.0, text::RISE + 2.0), &text::cut(words, WIDTH));
    }

    /// Gridlines, each with its figure to the left.
    pub(super) fn rows(&self, svg: &mut Svg) {
        for value in &self.rows.values {
            let y = self.y.place(*value);
            svg.line("grid", Point::new(self.plot.left, y), Point::new(self.plot.right, y));
            let figure = text::number(*value, self.rows.decimals()) + self.after;
            let at = Point::new(self.plot.left - 6.0, y);
            svg.text_beside("axis", Anchor::End, at, &[figure]);
        }
    }

    /// Figures along the foot, `below` the plot, and the words that name them
    /// on the line after.
    pub(super) fn foot(&self, svg: &mut Svg, below: f64, ticks: &Ticks, figure: impl Fn(f64) -> String, words: &str) {
        let base = self.plot.bottom + below;
        svg.line("base", Point::new(self.plot.left, self.plot.bottom), Point::new(self.plot.right, self.plot.bottom));
        let within = |words: &str, x: f64| x.clamp(text::width(words) / 2.0, WIDTH - text::width(words) / 2.0);
        let figures: Vec<(f64, String)> = ticks
            .values
            .iter()
            .map(|v| (figure(*v), self.x.place(*v)))
            .map(|(words, x)| (within(&words, x), words))
            .collect();
        // Every second figure, or third, where all of them would run together.
        let every = (1..=figures.len().max(1)).find(|every| is_apart(&figures, *every)).unwrap_or(1);
        for value in &ticks.values {
            let x = self.x.place(*value);
            svg.line("tick", Point::new(x, base), Point::new(x, base + 4.0));
        }
        for (middle, figure) in figures.iter().step_by(every) {
            svg.text("axis", Anchor::Middle, Point::new(*middle, base + FIGURES), figure);
        }
        let at = Point::new((self.plot.left + self.plot.right) / 2.0, base + FIGURES + LEADING);
        svg.text("axis", Anchor::Middle, at, &text::cut(words, self.plot.right - self.plot.left));
    }
}

fn is_apart(figures: &[(f64, String)], every: usize) -> bool {
    let shown: Vec<_> = figures.iter().step_by(every).collect();
    shown
        .windows(2)
        .all(|pair| pair[1].0 - pair[0].0 >= (text::width(&pair[0].1) + text::width(&pair[1].1)) / 2.0 + 6.0)
}

/// What a drawing says in its middle when there is nothing to draw.
pub(super) fn empty(kind: &str, title: &str, words: [&str; 2]) -> super::Picture {
    let mut svg = Svg::new(kind, (WIDTH, 100.0), title, &words.join(" "));
    for (i, line) in words.iter().enumerate() {
        svg.text("axis", Anchor::Middle, Point::new(WIDTH / 2.0, 45.0 + i as f64 * LEADING * 1.2), line);
    }
    svg.finish()
}
