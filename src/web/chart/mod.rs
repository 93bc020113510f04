//! Pictures of a brew day, drawn on the server as SVG.
//!
//! A chart takes plain numbers, already in the units its reader uses, and
//! labels already written out; it knows nothing of batches, clocks or °F. It
//! gives back a [`Picture`] for the page, and a [`Table`] of the same numbers
//! for the reader who can't use the picture.
//!
//! Reading order: [`Cooling`] is the chart the rest were learnt from. It is
//! made of a `frame` (axes and grid, from a `scale`), marks written with
//! `svg`, and words placed by `labels` so that none covers another or a
//! line. Long series go through [`thin()`] first.
//!
//! Colours, dashes and type sizes live in `static/chart.css`; an SVG carries
//! class names only, because the pages' Content-Security-Policy forbids inline
//! style. Sizes here are units of a drawing 360 wide, about one per pixel on a
//! phone.

mod cooling;
mod day;
mod frame;
mod labels;
mod overlay;
mod panels;
mod scale;
mod spark;
mod svg;
mod table;
mod text;
mod thin;
mod trend;

#[cfg(test)]
mod checks;
#[cfg(test)]
mod gallery;
#[cfg(test)]
mod palette;

pub use cooling::{Cooling, Forecast, Stage};
pub use day::{Day, Event, EventKind, Trace};
pub use overlay::{MOST_TOGETHER, Overlay, Run};
pub use spark::Spark;
pub use svg::Picture;
pub use table::{Column, Table};
pub use thin::thin;
pub use trend::{Estimate, Trend};

/// One reading: where it is along the picture, and how high.
///
/// What the numbers mean is the chart's to say: minutes and degrees mostly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Along: minutes, mostly.
    pub x: f64,
    /// Up: degrees, mostly.
    pub y: f64,
}

impl Point {
    /// A point at `x`, `y`.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    fn is_drawable(&self) -> bool {
        drawable(self.x) && drawable(self.y)
    }
}

/// Beyond this no number is a reading, and arithmetic on it stops meaning much.
const LARGEST: f64 = 1e9;

/// Whether a number can be drawn.
fn drawable(value: f64) -> bool {
    // Not-a-number is no less than anything, and fails here too.
    value.abs() <= LARGEST
}

/// How many of the points can be drawn.
fn known(points: &[Point]) -> usize {
    points.iter().filter(|p| p.is_drawable()).count()
}

/// The points that can be drawn, in order along x, at most `most` of them.
fn prepared(points: &[Point], most: usize) -> Vec<Point> {
    let mut fit: Vec<Point> = points.iter().copied().filter(Point::is_drawable).collect();
    fit.sort_by(|a, b| a.x.total_cmp(&b.x));
    thin(&fit, most)
}
