//! A whole brew day along the clock: temperatures, stages and additions.

mod lane;

use lane::Lane;

use super::{
    MOST_TOGETHER, Picture, Point, Table, drawable,
    frame::{FIGURES, Frame, LEADING, MOST_POINTS, WIDTH, empty},
    known,
    labels::{Area, Label, Labels},
    prepared,
    scale::{Steps, Ticks, range},
    svg::{Anchor, Svg, series},
    table::Length,
    text::{self, clock, count, number},
};

const HEIGHT: f64 = 180.0;

/// The temperatures of one place: the mash, the wort.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trace<'a> {
    /// The place: "mash".
    pub label: &'a str,
    /// Minutes since the day's first midnight, by the brew space's clock, and degrees.
    pub readings: &'a [Point],
}

/// What sort of thing happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EventKind {
    /// A stage of the day began: a line up the picture.
    Stage,
    /// Something went into the mash or the kettle: a diamond.
    Addition,
    /// Anything else: a dot.
    Other,
}

/// Something that happened at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event<'a> {
    /// Minutes since the day's first midnight, by the brew space's clock.
    pub at: f64,
    /// What, short: "boil", "Hop 25 g".
    pub label: &'a str,
    /// Its sort.
    pub kind: EventKind,
}

/// A brew day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Day<'a> {
    /// The picture's name: "The day of Lantern Row Pale, batch 14".
    pub title: &'a str,
    /// "°C" or "°F"; the numbers are in it already.
    pub unit: &'a str,
    /// Up to four places; the table has any beyond.
    pub traces: &'a [Trace<'a>],
    /// In any order.
    pub events: &'a [Event<'a>],
}

impl Day<'_> {
    /// The picture.
    #[must_use]
    pub fn svg(&self) -> Picture {
        let traces: Vec<Vec<Point>> =
            self.traces.iter().take(MOST_TOGETHER).map(|trace| prepared(trace.readings, MOST_POINTS)).collect();
        let events: Vec<&Event<'_>> = self.events.iter().filter(|e| drawable(e.at)).collect();
        let values = range(traces.iter().flatten().map(|p| p.y));
        let times = range(traces.iter().flatten().map(|p| p.x).chain(events.iter().map(|e| e.at)));
        let (Some(values), Some((start, end))) = (values, times) else {
            return empty(
                "day",
                self.title,
                ["The day's temperatures appear here", "with the first reading of any kind."],
            );
        };
        let margin = (end - start).max(10.0) * 0.02;
        let top = 2.0 * LEADING + 4.0;
        let frame = Frame::new((top, HEIGHT), values, (start - margin, end + margin), "°", 10.0);
        let lane = Lane::under(&frame, &events, top + HEIGHT + FIGURES);
        let height = lane.bottom();

        let mut svg = Svg::new("day", (WIDTH, height), self.title, &self.told(&traces, (start, end)));
        Frame::head(&mut svg, self.unit);
        frame.rows(&mut svg);
        let ticks = Ticks::within(start - margin, end + margin, 6, Steps::Minutes);
        frame.foot(&mut svg, 0.0, &ticks, clock, "");
        draw_stages(&mut svg, &frame, &events);
        self.draw_traces(&mut svg, &frame, &traces);
        lane.draw(&mut svg, &frame);
        svg.finish()
    }

    /// The same numbers and events for the page, in the order they happened.
    #[must_use]
    pub fn table(&self) -> Table {
        self.rows(Length::Page)
    }

    /// Every reading and event, as CSV.
    #[must_use]
    pub fn csv(&self) -> String {
        self.rows(Length::Whole).csv()
    }

    fn rows(&self, length: Length) -> Table {
        let mut table = Table::new(self.title, &["Time", "What", &format!("#Temperature, {}", self.unit)]);
        let mut rows: Vec<(f64, Vec<String>)> = Vec::new();
        for trace in self.traces {
            let readings = length.of(trace.readings);
            rows.extend(readings.iter().map(|p| (p.x, vec![clock(p.x), trace.label.to_owned(), number(p.y, 1)])));
        }
        table.say_thinned(rows.len(), self.traces.iter().map(|t| known(t.readings)).sum());
        rows.extend(
            self.events
                .iter()
                .filter(|e| drawable(e.at))
                .map(|e| (e.at, vec![clock(e.at), e.label.to_owned(), String::new()])),
        );
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        table.rows = rows.into_iter().map(|(_, row)| row).collect();
        table
    }

    fn told(&self, traces: &[Vec<Point>], (start, end): (f64, f64)) -> String {
        let mut told = format!("From {} to {}.", clock(start), clock(end));
        for (trace, points) in self.traces.iter().zip(traces) {
            if let Some((low, high)) = range(points.iter().map(|p| p.y)) {
                let (low, high) = (number(low, 1), number(high, 1));
                told += &format!(" The {}: {low} to {high} {}.", trace.label, self.unit);
            }
        }
        let additions = self.events.iter().filter(|e| e.kind == EventKind::Addition).count();
        if additions > 0 {
            told += &format!(" {}, all in the table.", count(additions, "addition"));
        }
        told
    }

    fn draw_traces(&self, svg: &mut Svg, frame: &Frame, traces: &[Vec<Point>]) {
        let mut labels = Labels::inside(frame.plot);
        let lines: Vec<Vec<Point>> = traces.iter().map(|trace| frame.trace(trace)).collect();
        lines.iter().for_each(|line| labels.keep_off(line));
        for (i, line) in lines.iter().enumerate() {
            let (class, shape) = series(i);
            svg.group(class, |svg| {
                svg.polyline("line", line);
                for at in line.iter().filter(|_| line.len() <= 30) {
                    svg.mark("mark", shape, *at, 2.8);
                }
            });
        }
        for (line, trace) in lines.iter().zip(self.traces) {
            let (Some(first), Some(last)) = (line.first(), line.last()) else { continue };
            let middle = line[line.len() / 2];
            let name =
                |anchor, at: &Point, x: f64, y: f64| Label::new(trace.label, anchor, Point::new(at.x + x, at.y + y));
            let below = text::RISE + 9.0;
            let choices = [
                name(Anchor::Middle, &middle, 0.0, -9.0),
                name(Anchor::Middle, &middle, 0.0, below),
                name(Anchor::Start, last, 8.0, text::RISE / 2.0),
                name(Anchor::End, first, -8.0, text::RISE / 2.0),
                name(Anchor::End, last, 0.0, -9.0),
                name(Anchor::End, last, 0.0, below),
                name(Anchor::Start, first, 0.0, -9.0),
                name(Anchor::Start, first, 0.0, below),
                name(Anchor::Start, &middle, 12.0, 0.0),
                name(Anchor::End, &middle, -12.0, below),
            ];
            labels.write(svg, "trace-name", &choices);
        }
    }
}

/// A dotted line up the picture where a stage began, and its name above.
fn draw_stages(svg: &mut Svg, frame: &Frame, events: &[&Event<'_>]) {
    let plot = frame.plot;
    let mut labels = Labels::inside(Area { left: text::SIZE * 2.0, top: 0.0, right: WIDTH, bottom: plot.top });
    for stage in events.iter().filter(|e| e.kind == EventKind::Stage) {
        let x = frame.x.place(stage.at);
        svg.line("stage", Point::new(x, plot.top - 4.0), Point::new(x, plot.bottom));
        let near = plot.top - 8.0;
        let choices = [
            (Anchor::Start, near),
            (Anchor::Start, near - LEADING),
            (Anchor::End, near),
            (Anchor::End, near - LEADING),
        ]
        .map(|(anchor, y)| Label::new(stage.label, anchor, Point::new(x, y)));
        labels.write(svg, "stage-name", &choices);
    }
}
