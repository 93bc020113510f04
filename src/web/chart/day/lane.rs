//! The line of additions and other events under the clock, and their names.
//!
//! Events crowd: a boil's last additions may come a minute apart. Each name
//! hangs from its event by a thin line, to one side of it, in the first row
//! where its words have room. A name that reaches under other events should
//! hang lower than theirs, so those come first; where events block each other
//! all the same, a line passes behind a name. A name that finds no row is left
//! to the table.

use super::{
    super::{
        Point,
        frame::{Frame, LEADING, WIDTH},
        labels::{Area, Label, Labels},
        svg::{Anchor, Shape, Svg},
        text::{self, clock},
    },
    Event, EventKind,
};

/// Most rows of names.
const ROWS: usize = 8;
/// Most events that names are looked for; the rows are full long before.
const MOST_NAMED: usize = 40;
/// From the figures of the clock to the lane.
const ABOVE: f64 = 13.0;
/// From the lane to the baseline of the first row of names.
const BELOW: f64 = text::RISE + 9.0;
const MARK: f64 = 3.6;
/// From an event's line to its name.
const ASIDE: f64 = 4.0;

/// Where the events of a day lie, and which names there is room for.
pub(super) struct Lane<'a> {
    top: f64,
    y: f64,
    events: Vec<(f64, &'a Event<'a>)>,
    names: Vec<Name>,
}

struct Name {
    x: f64,
    row: usize,
    label: Label,
}

impl<'a> Lane<'a> {
    /// Lays out every event but the stages, `top` being where there is room.
    pub(super) fn under(frame: &Frame, events: &[&'a Event<'a>], top: f64) -> Self {
        let y = top + ABOVE;
        let others = events.iter().filter(|e| e.kind != EventKind::Stage);
        let mut events: Vec<_> = others.map(|e| (frame.x.place(e.at), *e)).collect();
        events.sort_by(|a, b| a.0.total_cmp(&b.0));
        let names = hang(&events, y);
        Self { top, y, events, names }
    }

    /// Where the lane ends, names and all; where it would begin if it is empty.
    pub(super) fn bottom(&self) -> f64 {
        let rows = self.names.iter().map(|name| name.row + 1).max().unwrap_or(0);
        match self.events.as_slice() {
            [] => self.top + text::FALL + 1.0,
            _ => self.y + BELOW + rows as f64 * LEADING - text::RISE,
        }
    }

    pub(super) fn draw(&self, svg: &mut Svg, frame: &Frame) {
        if self.events.is_empty() {
            return;
        }
        svg.line("lane", Point::new(frame.plot.left, self.y), Point::new(frame.plot.right, self.y));
        for name in &self.names {
            svg.line("leader", Point::new(name.x, self.y), Point::new(name.x, row_line(self.y, name.row) + text::FALL));
        }
        for (x, event) in &self.events {
            let (class, shape) = match event.kind {
                EventKind::Addition => ("addition", Shape::Diamond),
                _ => ("event", Shape::Round),
            };
            svg.group(class, |svg| {
                svg.hint(&format!("{} {}", clock(event.at), event.label));
                svg.mark("mark", shape, Point::new(*x, self.y), MARK);
            });
        }
        for name in &self.names {
            name.label.write(svg, "event-name");
        }
    }
}

/// The baseline of a row of names.
fn row_line(lane: f64, row: usize) -> f64 {
    lane + BELOW + row as f64 * LEADING
}

/// Finds the names their rows, those first that reach under fewest events whose
/// own names still have to come down between.
fn hang(events: &[(f64, &Event<'_>)], lane: f64) -> Vec<Name> {
    let mut labels = Labels::inside(Area { left: 0.0, top: lane, right: WIDTH, bottom: f64::INFINITY });
    let additions = events.iter().filter(|(_, e)| e.kind == EventKind::Addition);
    let others = events.iter().filter(|(_, e)| e.kind != EventKind::Addition);
    let named = additions.chain(others).take(MOST_NAMED).map(|(x, e)| (*x, text::cut(e.label, WIDTH * 0.45)));
    let mut waiting: Vec<(f64, String)> = named.filter(|(_, words)| !words.trim().is_empty()).collect();
    let mut names = Vec::new();
    loop {
        let sides = waiting.iter().enumerate().flat_map(|(i, _)| [(i, Anchor::Start), (i, Anchor::End)]);
        let next = sides
            .filter_map(|(i, anchor)| {
                let (x, words) = &waiting[i];
                let (left, right) = span(*x, words, anchor);
                let under =
                    waiting.iter().enumerate().filter(|(j, (x, _))| *j != i && (left..=right).contains(x)).count();
                (left >= 0.0 && right <= WIDTH).then_some((under, i, anchor))
            })
            .min_by_key(|(under, ..)| *under);
        let Some((_, i, anchor)) = next else { return names };
        let (x, words) = waiting.remove(i);
        let found = name(&mut labels, (x, lane), &words, anchor, Line::Clear);
        names.extend(found.or_else(|| name(&mut labels, (x, lane), &words, anchor, Line::Behind)));
    }
}

/// From where to where the words reach, beside an event.
fn span(x: f64, words: &str, anchor: Anchor) -> (f64, f64) {
    let far = ASIDE + text::width(words);
    if anchor == Anchor::Start { (x, x + far) } else { (x - far, x) }
}

/// How a name's line may come down: past other names, or behind their halo.
#[derive(Clone, Copy, PartialEq)]
enum Line {
    Clear,
    Behind,
}

fn name(labels: &mut Labels, (x, lane): (f64, f64), words: &str, anchor: Anchor, way: Line) -> Option<Name> {
    let aside = if anchor == Anchor::Start { ASIDE } else { -ASIDE };
    (0..ROWS).find_map(|row| {
        let line = row_line(lane, row);
        if way == Line::Clear && !labels.is_clear(Point::new(x, lane), Point::new(x, line + text::FALL)) {
            return None;
        }
        let label = labels.choose(&[Label::new(words, anchor, Point::new(x + aside, line))])?.clone();
        labels.keep_off(&[Point::new(x, lane), Point::new(x, line - text::RISE)]);
        Some(Name { x, row, label })
    })
}
