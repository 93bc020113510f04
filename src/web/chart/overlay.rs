//! Several chills in one frame, all counted from flame-out.

use super::{
    Picture, Point, Table,
    frame::{FOOT, Frame, LEADING, MOST_POINTS, WIDTH, empty},
    known,
    labels::spread,
    panels, prepared,
    scale::{Steps, Ticks, range},
    svg::{Anchor, Svg, series},
    table::Length,
    text::{self, number},
};

/// More lines than this in one frame can't be told apart, so beyond it each
/// batch gets a small frame of its own.
pub const MOST_TOGETHER: usize = 4;

const HEIGHT: f64 = 230.0;
/// The widest a batch's name at the end of its line may be.
const NAME_ROOM: f64 = 100.0;
/// From the plot to a batch's name: room for a piece of its line, as on a map's key.
const KEY: f64 = 42.0;
/// How long that piece is.
const PIECE: f64 = 24.0;
const MARK: f64 = 3.6;

/// One batch's chill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run<'a> {
    /// What it is called in words and tables: "Lantern Row Pale, batch 14".
    pub name: &'a str,
    /// What stands at the end of its line, short: "No 14".
    pub label: &'a str,
    /// The wort's readings, in minutes since flame-out.
    pub readings: &'a [Point],
}

/// Chills of several batches, in minutes since flame-out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Overlay<'a> {
    /// The picture's name: "Four chills of Lantern Row Pale".
    pub title: &'a str,
    /// "°C" or "°F"; the numbers are in it already.
    pub unit: &'a str,
    /// In the order they were chosen.
    pub runs: &'a [Run<'a>],
}

impl Overlay<'_> {
    /// The picture: one frame for up to [`MOST_TOGETHER`] batches. Beyond it a
    /// small frame each, a few to a picture so that paper can break between them,
    /// all to one scale. A batch without readings takes its place in the order all
    /// the same, so its colour stays free.
    #[must_use]
    pub fn pictures(&self) -> Vec<Picture> {
        let traces: Vec<Vec<Point>> = self.runs.iter().map(|run| prepared(run.readings, MOST_POINTS)).collect();
        let values = range(traces.iter().flatten().map(|p| p.y));
        let (Some(values), Some(along)) = (values, range(traces.iter().flatten().map(|p| p.x).chain([0.0]))) else {
            let none = ["The chills appear here together", "once these batches have wort readings."];
            return vec![empty("overlay", self.title, none)];
        };
        if self.runs.len() > MOST_TOGETHER {
            return panels::draw(self, &traces, along, values);
        }
        let names: Vec<Vec<String>> = self.runs.iter().map(|run| text::wrapped(run.label, NAME_ROOM)).collect();
        let widest = names.iter().flatten().map(|name| text::width(name)).fold(0.0, f64::max);
        let frame = Frame::new((LEADING + 6.0, HEIGHT), values, along, "°", widest + KEY);
        let height = LEADING + 6.0 + HEIGHT + FOOT;
        let mut svg = Svg::new("overlay", (WIDTH, height), self.title, &self.told(0, &traces));
        Frame::head(&mut svg, &format!("wort, {}", self.unit));
        frame.rows(&mut svg);
        let ticks = Ticks::within(along.0, along.1, 5, Steps::Minutes);
        frame.foot(&mut svg, 0.0, &ticks, |v| number(v, 0), "minutes since flame-out");
        let lines: Vec<Vec<Point>> = traces.iter().map(|trace| frame.trace(trace)).collect();
        draw_names(&mut svg, &frame, &lines, &names);
        for (i, line) in lines.iter().enumerate() {
            let (class, shape) = series(i);
            svg.group(class, |svg| {
                svg.hint(self.runs[i].name);
                svg.polyline("line", line);
                for at in marked(line, i) {
                    svg.mark("mark", shape, at, MARK);
                }
            });
        }
        vec![svg.finish()]
    }

    /// The same numbers for the page, each batch thinned where it has very many.
    #[must_use]
    pub fn table(&self) -> Table {
        self.rows(Length::Page)
    }

    /// Every reading, as CSV.
    #[must_use]
    pub fn csv(&self) -> String {
        self.rows(Length::Whole).csv()
    }

    fn rows(&self, length: Length) -> Table {
        let mut table =
            Table::new(self.title, &["Batch", "#Minutes since flame-out", &format!("#Wort, {}", self.unit)]);
        for run in self.runs {
            table.rows.extend(
                length.of(run.readings).iter().map(|p| vec![run.name.to_owned(), number(p.x, 1), number(p.y, 1)]),
            );
        }
        table.say_thinned(table.rows.len(), self.runs.iter().map(|run| known(run.readings)).sum());
        table
    }

    /// The runs from the one with this index on, in words.
    pub(super) fn told(&self, first: usize, traces: &[Vec<Point>]) -> String {
        let told = self.runs[first..].iter().zip(traces).map(|(run, trace)| match trace.as_slice() {
            [] => format!("{}: no wort readings.", run.name),
            [.., last] => format!("{}: {} {} after {} min.", run.name, number(last.y, 1), self.unit, number(last.x, 0)),
        });
        told.collect::<Vec<_>>().join(" ")
    }
}

/// The readings that get a marker: some way apart, each series at its own
/// places so that two that run together can still be told apart, and the last.
fn marked(line: &[Point], series: usize) -> Vec<Point> {
    const APART: f64 = 34.0;
    let Some(last) = line.last() else { return Vec::new() };
    let mut marked: Vec<Point> = Vec::new();
    let mut next = line[0].x + APART * series as f64 / MOST_TOGETHER as f64;
    for at in line.iter().filter(|at| last.x - at.x > APART / 2.0) {
        if at.x >= next {
            marked.push(*at);
            next = at.x + APART;
        }
    }
    marked.push(*last);
    marked
}

/// Each batch's name, in a column right of the plot, behind a piece of its line
/// with its marker; a thin line leads there from where its curve ends.
fn draw_names(svg: &mut Svg, frame: &Frame, lines: &[Vec<Point>], names: &[Vec<String>]) {
    const LINE: f64 = text::LINE * text::SIZE;
    let ends: Vec<(usize, Point)> = lines.iter().enumerate().filter_map(|(i, line)| Some((i, *line.last()?))).collect();
    let wanted: Vec<f64> = ends.iter().map(|(_, end)| end.y).collect();
    let deepest = names.iter().map(Vec::len).max().unwrap_or(1) as f64;
    let half = (deepest - 1.0) * LINE / 2.0 + text::RISE / 2.0 + text::FALL;
    let column = (frame.plot.top + half, frame.plot.bottom + FOOT - half);
    let (from, to) = (frame.plot.right + KEY - 6.0 - PIECE, frame.plot.right + KEY - 6.0);
    for ((i, end), y) in ends.iter().zip(spread(&wanted, deepest * LINE + 4.0, column)) {
        let (class, shape) = series(*i);
        svg.polyline("leader", &[*end, Point::new(frame.plot.right, end.y), Point::new(from - 3.0, y)]);
        svg.group(class, |svg| {
            svg.polyline("line", &[Point::new(from, y), Point::new(to, y)]);
            svg.mark("mark", shape, Point::new((from + to) / 2.0, y), MARK);
        });
        svg.text_beside("run-name", Anchor::Start, Point::new(to + 6.0, y), &names[*i]);
    }
}
