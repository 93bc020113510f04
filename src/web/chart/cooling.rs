//! The cooling curve: what the wort did since flame-out, and what it will do.

use super::{
    Picture, Point, Table, drawable,
    frame::{FOOT, Frame, LEADING, MOST_POINTS, WIDTH, empty},
    labels::{Area, Label, Labels},
    prepared,
    scale::{Steps, Ticks, range},
    svg::{Anchor, Shape, Svg},
    table::Length,
    text::{self, count, number, short},
};

const HEIGHT: f64 = 190.0;
const STRIP: f64 = 9.0;
/// Marks closer together than this on average run into one thick line.
const ROOM_PER_MARK: f64 = 9.0;

/// One cooling stage along the chill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage<'a> {
    /// What it is called in the picture, short: "bath 2", "ice bath".
    pub label: &'a str,
    /// Minutes since flame-out at which it began.
    pub from: f64,
    /// When it ended; `None` where the next one or the present ends it.
    pub until: Option<f64>,
}

/// What is expected at one instant to come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// Minutes since flame-out.
    pub at: f64,
    /// The coolest that is likely.
    pub low: f64,
    /// The best guess.
    pub likely: f64,
    /// The warmest that is likely.
    pub high: f64,
}

/// A chill, in minutes since flame-out and degrees of the reader's unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cooling<'a> {
    /// The picture's name: "Cooling curve of Lantern Row Pale, batch 14".
    pub title: &'a str,
    /// "°C" or "°F"; the numbers are in it already.
    pub unit: &'a str,
    /// The wort's readings, in any order; ones that are no number are left out.
    pub readings: &'a [Point],
    /// Cooling stages in the order they began.
    pub stages: &'a [Stage<'a>],
    /// The rest of the chill, from the last reading on; may be empty.
    pub forecast: &'a [Forecast],
    /// The yeast's range, coolest and warmest.
    pub pitch: Option<(f64, f64)>,
    /// Where the brewer wants to pitch.
    pub target: Option<f64>,
    /// Readings that dipped and climbed again: not yet the wort's temperature.
    pub dips: &'a [Point],
    /// The reading at which the wort counted as settled.
    pub settled: Option<Point>,
}

impl Cooling<'_> {
    /// The picture.
    #[must_use]
    pub fn svg(&self) -> Picture {
        let readings = prepared(self.readings, MOST_POINTS);
        if readings.is_empty() {
            let words = ["The cooling curve appears here", "with the wort's first reading after flame-out."];
            return empty("cooling", self.title, words);
        }
        let forecast = self.forecast();
        let end = self.end(&readings, &forecast);
        let start = readings[0].x.min(0.0);
        let values = readings
            .iter()
            .map(|p| p.y)
            .chain(forecast.iter().flat_map(|f| [f.low, f.likely, f.high]))
            .chain(self.pitch.into_iter().flat_map(|(low, high)| [low, high]))
            .chain(self.target)
            .filter(|v| drawable(*v));
        let values = range(values).unwrap_or((0.0, 100.0));
        // Room at the end for the last marker and its figure.
        let along = (start, end + (end - start).max(1.0) * 0.03);
        let top = 2.0 * LEADING + if self.needs_two_rows(along) { LEADING } else { 0.0 };
        let frame = Frame::new((top, HEIGHT), values, along, "°", 10.0);
        let ticks = Ticks::within(along.0, along.1, 6, Steps::Minutes);

        let height = top + HEIGHT + STRIP + FOOT;
        let mut svg = Svg::new("cooling", (WIDTH, height), self.title, &self.told(&readings, &forecast));
        Frame::head(&mut svg, &format!("wort, {}", self.unit));
        self.draw_pitch(&mut svg, &frame);
        frame.rows(&mut svg);
        self.draw_stages(&mut svg, &frame, end);
        frame.foot(&mut svg, STRIP, &ticks, |v| number(v, 0), "minutes since flame-out");
        self.draw_wort(&mut svg, &frame, &readings, &forecast);
        svg.finish()
    }

    /// The same numbers for the page, thinned where there are very many.
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
        let wort = format!("#Wort, {}", self.unit);
        let mut table = Table::new(self.title, &["#Minutes since flame-out", &wort, "Stage", "Remark"]);
        let shown = length.of(self.readings);
        table.say_thinned(shown.len(), self.readings.len());
        table.rows = shown
            .iter()
            .map(|p| vec![number(p.x, 1), number(p.y, 1), self.stage_at(p.x).to_owned(), self.remark(p).to_owned()])
            .chain(self.forecast.iter().map(|f| {
                let likely = format!("forecast, {} to {}", number(f.low, 1), number(f.high, 1));
                vec![number(f.at, 1), number(f.likely, 1), self.stage_at(f.at).to_owned(), likely]
            }))
            .collect();
        table
    }

    fn stage_at(&self, minute: f64) -> &str {
        let began = self.stages.iter().rev().find(|s| s.from <= minute);
        began.filter(|s| s.until.is_none_or(|until| minute <= until)).map_or("", |s| s.label)
    }

    fn remark(&self, reading: &Point) -> &'static str {
        if self.dips.contains(reading) {
            "passing dip"
        } else if self.settled == Some(*reading) {
            "settled"
        } else {
            ""
        }
    }

    fn forecast(&self) -> Vec<Forecast> {
        let is_drawable = |f: &&Forecast| [f.at, f.low, f.likely, f.high].into_iter().all(drawable);
        self.forecast.iter().filter(is_drawable).copied().collect()
    }

    /// The last minute that has anything to show.
    fn end(&self, readings: &[Point], forecast: &[Forecast]) -> f64 {
        let stages = self.stages.iter().flat_map(|s| [Some(s.from), s.until]).flatten();
        let ends = readings.iter().map(|p| p.x).chain(forecast.iter().map(|f| f.at)).chain(stages);
        range(ends.filter(|v| drawable(*v))).map_or(1.0, |(_, end)| end.max(0.0))
    }

    /// Whether two stages begin so close together that their names need a row each.
    fn needs_two_rows(&self, (start, end): (f64, f64)) -> bool {
        let per_minute = 310.0 / (end - start);
        let crowded = |pair: &[Stage<'_>]| (pair[1].from - pair[0].from) * per_minute < text::width(pair[0].label) + 12.0;
        self.stages.windows(2).any(crowded)
    }

    /// One sentence or two for the reader who can't see the curve.
    fn told(&self, readings: &[Point], forecast: &[Forecast]) -> String {
        let (first, last) = (readings[0], readings[readings.len() - 1]);
        let unit = self.unit;
        let mut told = if readings.len() == 1 {
            format!("One reading: {} {unit}, {} min after flame-out.", number(last.y, 1), number(last.x, 0))
        } else {
            format!(
                "The wort went from {} to {} {unit} between {} and {} min after flame-out, in {}.",
                number(first.y, 1),
                number(last.y, 1),
                number(first.x, 0),
                number(last.x, 0),
                count(self.readings.len(), "reading"),
            )
        };
        if !self.stages.is_empty() {
            let stages: Vec<_> = self.stages.iter().map(|s| format!("{} from {} min", s.label, number(s.from, 0))).collect();
            told += &format!(" Cooling stages: {}.", stages.join(", "));
        }
        for dip in self.dips {
            told += &format!(" Passing dip to {} {unit} at {} min.", number(dip.y, 1), number(dip.x, 0));
        }
        if let Some(settled) = self.settled {
            told += &format!(" Settled at {} {unit} after {} min.", number(settled.y, 1), number(settled.x, 0));
        }
        if let Some(last) = forecast.last() {
            let (low, high) = (number(last.low, 1), number(last.high, 1));
            told += &format!(" Forecast: {} {unit} ({low} to {high}) at {} min.", number(last.likely, 1), number(last.at, 0));
        }
        if let Some((low, high)) = self.pitch {
            told += &format!(" Pitch range {} to {} {unit}.", short(low), short(high));
        }
        told
    }

    fn draw_pitch(&self, svg: &mut Svg, frame: &Frame) {
        let (left, right) = (frame.plot.left, frame.plot.right);
        if let Some((low, high)) = self.pitch.filter(|(low, high)| drawable(*low) && drawable(*high)) {
            let (top, bottom) = (frame.y.place(high), frame.y.place(low));
            svg.rect("pitch", Point::new(left, top), right - left, bottom - top);
            svg.line("pitch-edge", Point::new(left, top), Point::new(right, top));
            svg.line("pitch-edge", Point::new(left, bottom), Point::new(right, bottom));
        }
        if let Some(target) = self.target.filter(|v| drawable(*v)) {
            let y = frame.y.place(target);
            svg.line("target", Point::new(left, y), Point::new(right, y));
        }
    }

    /// Dotted lines where the stages begin, their names above the plot, and
    /// the strip of blues under it.
    fn draw_stages(&self, svg: &mut Svg, frame: &Frame, end: f64) {
        let plot = frame.plot;
        let mut labels = Labels::inside(Area { left: plot.left, top: LEADING, right: WIDTH, bottom: plot.top });
        let stages: Vec<&Stage<'_>> = self.stages.iter().filter(|s| drawable(s.from)).collect();
        for (i, stage) in stages.iter().enumerate() {
            let next = stages.get(i + 1).map(|s| s.from);
            let until = stage.until.filter(|v| drawable(*v)).or(next).unwrap_or(end);
            let (from, until) = (frame.x.held(stage.from), frame.x.held(until));
            let blue = format!("water water-{}", (i + 1).min(4));
            svg.rect(&blue, Point::new(from, plot.bottom), until - from - 1.5, STRIP);
            svg.line("stage", Point::new(from, plot.top - 4.0), Point::new(from, plot.bottom + STRIP));
        }
        // The stage that runs now is the one looked for, so it is named first.
        for stage in stages.iter().rev() {
            let x = frame.x.held(stage.from);
            let choices: Vec<Label> = [plot.top - 8.0, plot.top - 8.0 - LEADING]
                .into_iter()
                .flat_map(|y| [(Anchor::Start, x - 1.0, y), (Anchor::End, plot.right.max(x), y)])
                .map(|(anchor, x, y)| Label::new(stage.label, anchor, Point::new(x, y)))
                .collect();
            labels.write(svg, "stage-name", &choices);
        }
    }

    fn draw_wort(&self, svg: &mut Svg, frame: &Frame, readings: &[Point], forecast: &[Forecast]) {
        let trace = frame.trace(readings);
        let last = trace[trace.len() - 1];
        let ahead: Vec<Point> = std::iter::once(last)
            .chain(forecast.iter().map(|f| frame.place(Point::new(f.at, f.likely))))
            .collect();
        let edge = |of: fn(&Forecast) -> f64| forecast.iter().map(move |f| frame.place(Point::new(f.at, of(f))));
        let band: Vec<Point> =
            std::iter::once(last).chain(edge(|f| f.high)).chain(edge(|f| f.low).rev()).collect();
        svg.polygon("likely", &band);
        svg.polyline("forecast", &ahead);
        svg.polyline("wort", &trace);
        let has_room = trace.len() as f64 * ROOM_PER_MARK < frame.plot.right - frame.plot.left;
        for (i, at) in trace.iter().enumerate() {
            if has_room || i + 1 == trace.len() {
                svg.mark("reading", Shape::Round, *at, 3.2);
            }
        }
        let dips: Vec<Point> = self.dips.iter().filter(|p| drawable(p.x) && drawable(p.y)).map(|p| frame.place(*p)).collect();
        for dip in &dips {
            svg.circle("dip", *dip, 7.5);
        }
        let settled = self.settled.filter(|p| drawable(p.x) && drawable(p.y)).map(|p| frame.place(p));
        if let Some(at) = settled {
            svg.mark("settled", Shape::Diamond, at, 4.5);
        }
        self.name_marks(svg, frame, (&trace, &ahead), &dips, settled);
    }

    /// Words beside what they are about, the most wanted first.
    fn name_marks(
        &self,
        svg: &mut Svg,
        frame: &Frame,
        (trace, ahead): (&[Point], &[Point]),
        dips: &[Point],
        settled: Option<Point>,
    ) {
        let mut labels = Labels::inside(Area { right: WIDTH, ..frame.plot });
        labels.keep_off(trace);
        labels.keep_off(ahead);
        let around = |at: Point, words: String| {
            let high = |x: f64, y: f64, anchor| Label::new(words.clone(), anchor, Point::new(at.x + x, at.y + y));
            let (above, below) = (-12.0, 12.0 + text::RISE);
            vec![
                high(4.0, above, Anchor::Start),
                high(0.0, above, Anchor::Middle),
                high(0.0, below, Anchor::Middle),
                high(-6.0, below, Anchor::End),
                high(4.0, above - 10.0, Anchor::Start),
                high(0.0, above - 16.0, Anchor::Middle),
                high(10.0, above - 16.0, Anchor::End),
                high(0.0, below + 16.0, Anchor::Middle),
            ]
        };
        let last = trace[trace.len() - 1];
        match (settled, self.settled) {
            (Some(at), Some(reading)) => {
                labels.write(svg, "settled-name", &around(at, format!("settled, {}°", number(reading.y, 1))));
            }
            _ => {
                let now = self.readings.iter().filter(|p| drawable(p.x) && drawable(p.y)).max_by(|a, b| a.x.total_cmp(&b.x));
                let words = now.map_or_else(String::new, |p| format!("{}°", number(p.y, 1)));
                labels.write(svg, "wort-name", &around(last, words));
            }
        }
        if let Some(dip) = dips.last() {
            labels.write(svg, "dip-name", &around(*dip, "passing dip".to_owned()));
        }
        if let ([_, .., end], Some(f)) = (ahead, self.forecast.last()) {
            let words = format!("about {}°", number(f.likely, 0));
            labels.write(svg, "forecast-name", &around(*end, words));
        }
        self.name_pitch(svg, frame, &mut labels);
    }

    fn name_pitch(&self, svg: &mut Svg, frame: &Frame, labels: &mut Labels) {
        let target = self.target.filter(|v| drawable(*v));
        let pitch = self.pitch.filter(|(low, high)| drawable(*low) && drawable(*high));
        let (words, top, bottom) = match (pitch, target) {
            (Some((low, high)), Some(at)) => {
                let range = format!("pitch {} to {}°", short(low), short(high));
                (vec![format!("{range}, target {}°", short(at)), range], high, low)
            }
            (Some((low, high)), None) => (vec![format!("pitch {} to {}°", short(low), short(high))], high, low),
            (None, Some(at)) => (vec![format!("target {}°", short(at))], at, at),
            (None, None) => return,
        };
        let (above, below) = (frame.y.place(top) - 5.0, frame.y.place(bottom) + text::RISE + 4.0);
        let (left, right) = (frame.plot.left + 4.0, frame.plot.right);
        let choices: Vec<Label> = words
            .iter()
            .flat_map(|words| {
                [(Anchor::Start, left, below), (Anchor::Start, left, above), (Anchor::End, right, above), (Anchor::End, right, below)]
                    .map(|(anchor, x, y)| Label::new(words.clone(), anchor, Point::new(x, y)))
            })
            .collect();
        labels.write(svg, "pitch-name", &choices);
    }
}
