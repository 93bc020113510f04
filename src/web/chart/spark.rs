//! The small cooling curve of one row in a list of batches.

use super::{
    Picture, Point, drawable, prepared,
    scale::{Scale, range},
    svg::{Shape, Svg},
    text::number,
};

const WIDTH: f64 = 96.0;
const HEIGHT: f64 = 28.0;
const MARGIN: f64 = 3.5;
const MOST_POINTS: usize = 60;

/// A cooling curve of 96 by 28 units with no axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spark<'a> {
    /// The picture's name: "Chill of batch 14".
    pub title: &'a str,
    /// "°C" or "°F"; the numbers are in it already.
    pub unit: &'a str,
    /// The wort's readings, in minutes since flame-out.
    pub readings: &'a [Point],
    /// Where the brewer wanted to pitch: a thin line to end on.
    pub target: Option<f64>,
    /// Minutes and degrees that fill the box, so that the rows of one list can
    /// be compared by eye; `None` fits this curve alone.
    pub fit: Option<(f64, (f64, f64))>,
}

impl Spark<'_> {
    /// The picture.
    #[must_use]
    pub fn svg(&self) -> Picture {
        let readings = prepared(self.readings, MOST_POINTS);
        let mut svg = Svg::new("spark", (WIDTH, HEIGHT), self.title, &self.told(&readings));
        let target = self.target.filter(|v| drawable(*v));
        let Some(values) = range(readings.iter().map(|p| p.y).chain(target)) else {
            svg.line("grid", Point::new(MARGIN, HEIGHT - MARGIN), Point::new(WIDTH - MARGIN, HEIGHT - MARGIN));
            return svg.finish();
        };
        let along = range(readings.iter().map(|p| p.x)).unwrap_or((0.0, 1.0));
        let fit = self.fit.filter(|(minutes, (low, high))| [*minutes, *low, *high].into_iter().all(drawable));
        let (along, values) = fit.map_or((along, values), |(minutes, values)| ((0.0, minutes), values));
        let x = Scale::new(along, (MARGIN, WIDTH - MARGIN));
        let y = Scale::new(values, (HEIGHT - MARGIN, MARGIN));
        if let Some(target) = target {
            svg.line("target", Point::new(MARGIN, y.held(target)), Point::new(WIDTH - MARGIN, y.held(target)));
        }
        let trace: Vec<Point> = readings.iter().map(|p| Point::new(x.held(p.x), y.held(p.y))).collect();
        svg.polyline("wort", &trace);
        if let Some(last) = trace.last() {
            svg.mark("end", Shape::Round, *last, 2.6);
        }
        svg.finish()
    }

    fn told(&self, readings: &[Point]) -> String {
        match readings {
            [] => "No wort readings yet.".to_owned(),
            [one] => format!("One reading: {} {}.", number(one.y, 1), self.unit),
            [first, .., last] => format!(
                "From {} to {} {} in {} min.",
                number(first.y, 1),
                number(last.y, 1),
                self.unit,
                number(last.x - first.x, 0)
            ),
        }
    }
}
