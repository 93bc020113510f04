//! Draws a chill: from the ground up, so that what matters most lies on top.

use super::{
    super::{
        Picture, Point,
        frame::{FOOT, Frame, LEADING, WIDTH},
        labels::{Area, Label, Labels},
        scale::{Steps, Ticks, range},
        svg::{Anchor, Shape, Svg},
        text::{self, number},
    },
    Chill, Cooling, Forecast, names,
};

const HEIGHT: f64 = 190.0;
/// Height of the strip of blues under the plot.
const STRIP: f64 = 9.0;
/// The first minutes of a chill shouldn't fill the whole width.
const LEAST_MINUTES: f64 = 10.0;
/// Marks closer together than this on average run into one thick line.
const ROOM_PER_MARK: f64 = 9.0;

/// Where the curves of a chill lie on the drawing.
pub(super) struct Curves {
    pub(super) wort: Vec<Point>,
    /// Each of these sets out from the wort's last reading.
    pub(super) likely: Vec<Point>,
    pub(super) warmest: Vec<Point>,
    pub(super) coolest: Vec<Point>,
}

impl Curves {
    fn of(chill: &Chill<'_>, frame: &Frame) -> Self {
        let ahead = |of: fn(&Forecast) -> f64| {
            let expected = chill.forecast.iter().map(|f| Point::new(f.at, of(f)));
            std::iter::once(chill.last()).chain(expected).map(|p| frame.place(p)).collect()
        };
        Self {
            wort: frame.trace(&chill.readings),
            likely: ahead(|f| f.likely),
            warmest: ahead(|f| f.high),
            coolest: ahead(|f| f.low),
        }
    }
}

pub(super) fn picture(cooling: &Cooling<'_>, chill: &Chill<'_>, told: &str) -> Picture {
    let along = along(chill);
    let top = 2.0 * LEADING + if needs_two_rows(chill, along) { LEADING } else { 0.0 };
    let frame = Frame::new((top, HEIGHT), values(chill), along, "°", 10.0);
    let curves = Curves::of(chill, &frame);

    let mut svg = Svg::new("cooling", (WIDTH, top + HEIGHT + STRIP + FOOT), cooling.title, told);
    Frame::head(&mut svg, &format!("wort, {}", cooling.unit));
    pitch(&mut svg, &frame, chill);
    frame.rows(&mut svg);
    stages(&mut svg, &frame, chill, along.1);
    let ticks = Ticks::within(along.0, along.1, 6, Steps::Minutes);
    frame.foot(&mut svg, STRIP, &ticks, |minutes| number(minutes, 0), "minutes since flame-out");
    wort(&mut svg, &frame, chill, &curves);
    names::write(&mut svg, &frame, chill, &curves);
    svg.finish()
}

/// From flame-out to the last minute that has anything to show, and a little
/// room for the last marker.
fn along(chill: &Chill<'_>) -> (f64, f64) {
    let stages = chill.stages.iter().flat_map(|s| [Some(s.from), s.until]).flatten();
    let ends = chill.forecast.iter().map(|f| f.at).chain(stages).chain([chill.last().x]);
    let start = chill.first().x.min(0.0);
    let end = ends.fold(start + LEAST_MINUTES, f64::max);
    (start, end + (end - start) * 0.03)
}

fn values(chill: &Chill<'_>) -> (f64, f64) {
    let forecast = chill.forecast.iter().flat_map(|f| [f.low, f.likely, f.high]);
    let pitch = chill.pitch.into_iter().flat_map(|(low, high)| [low, high]);
    let readings = chill.readings.iter().chain(&chill.dips).chain(&chill.settled).map(|p| p.y);
    range(readings.chain(forecast).chain(pitch).chain(chill.target)).unwrap_or((0.0, 100.0))
}

/// Whether two stages begin so close together that their names need a row each.
fn needs_two_rows(chill: &Chill<'_>, (start, end): (f64, f64)) -> bool {
    let unit = (WIDTH - 50.0) / (end - start);
    chill.stages.windows(2).any(|pair| (pair[1].from - pair[0].from) * unit < text::width(pair[0].label) + 12.0)
}

fn pitch(svg: &mut Svg, frame: &Frame, chill: &Chill<'_>) {
    let (left, right) = (frame.plot.left, frame.plot.right);
    let mut level = |class: &str, value: f64| {
        let y = frame.y.place(value);
        svg.line(class, Point::new(left, y), Point::new(right, y));
    };
    if let Some((low, high)) = chill.pitch {
        level("pitch-edge", low);
        level("pitch-edge", high);
    }
    if let Some(target) = chill.target {
        level("target", target);
    }
    if let Some((low, high)) = chill.pitch {
        let (top, bottom) = (frame.y.place(high), frame.y.place(low));
        svg.rect("pitch", Point::new(left, top), right - left, bottom - top);
    }
}

/// Dotted lines where the stages begin, their names above the plot, and the
/// strip of blues under it.
fn stages(svg: &mut Svg, frame: &Frame, chill: &Chill<'_>, end: f64) {
    let plot = frame.plot;
    for (i, stage) in chill.stages.iter().enumerate() {
        let next = chill.stages.get(i + 1).map(|s| s.from);
        let until = frame.x.held(stage.until.or(next).unwrap_or(end));
        let from = frame.x.held(stage.from);
        let blue = format!("water water-{}", (i + 1).min(4));
        svg.rect(&blue, Point::new(from, plot.bottom), until - from - 1.5, STRIP);
        svg.line("stage", Point::new(from, plot.top - 4.0), Point::new(from, plot.bottom + STRIP));
    }
    let room = Area { left: plot.left - 4.0, top: LEADING - 3.0, right: WIDTH, bottom: plot.top };
    let mut labels = Labels::inside(room);
    // The stage that runs now is the one looked for, so it is named first.
    for stage in chill.stages.iter().rev() {
        let x = frame.x.held(stage.from);
        let (near, far) = (plot.top - 8.0, plot.top - 8.0 - LEADING);
        let (after, before) = ((Anchor::Start, x - 1.0), (Anchor::End, (x + 8.0).min(WIDTH)));
        let places = [(after, near), (after, far), (before, near), (before, far)];
        let choices = places.map(|((anchor, x), y)| Label::new(stage.label, anchor, Point::new(x, y)));
        labels.write(svg, "stage-name", &choices);
    }
}

fn wort(svg: &mut Svg, frame: &Frame, chill: &Chill<'_>, curves: &Curves) {
    let band: Vec<Point> = curves.warmest.iter().chain(curves.coolest.iter().rev()).copied().collect();
    svg.polygon("likely", &band);
    svg.polyline("forecast", &curves.likely);
    svg.polyline("wort", &curves.wort);
    let has_room = curves.wort.len() as f64 * ROOM_PER_MARK < frame.plot.right - frame.plot.left;
    for (i, at) in curves.wort.iter().enumerate() {
        if has_room || i + 1 == curves.wort.len() {
            svg.mark("reading", Shape::Round, *at, 3.2);
        }
    }
    for dip in &chill.dips {
        svg.circle("dip", frame.place(*dip), 7.5);
    }
    if let Some(settled) = chill.settled {
        svg.mark("settled", Shape::Diamond, frame.place(settled), 4.5);
    }
}
