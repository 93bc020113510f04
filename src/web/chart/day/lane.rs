//! The line of additions and other events under the clock, and their names.
//!
//! Events crowd: a boil's last additions may come a minute apart. Each name
//! hangs from its event by a thin line, in the first row where neither the
//! words nor the line cross what hangs there. Events in the left half have
//! their names to the right and are laid out from the middle outwards, those
//! in the right half the other way round: so a line always comes down beside
//! the names already there. A name that finds no row is left to the table.

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
const ROWS: usize = 6;
/// From the figures of the clock to the lane.
const ABOVE: f64 = 13.0;
/// From the lane to the baseline of the first row of names.
const BELOW: f64 = text::RISE + 9.0;
const MARK: f64 = 3.6;

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
        let mut labels = Labels::inside(Area { left: 0.0, top: y, right: WIDTH, bottom: f64::INFINITY });
        let middle = (frame.plot.left + frame.plot.right) / 2.0;
        let (left, right): (Vec<_>, Vec<_>) = events.iter().partition(|(x, _)| *x < middle);
        let outwards = left.iter().rev().map(|e| (e, Anchor::Start)).chain(right.iter().map(|e| (e, Anchor::End)));
        let names =
            outwards.filter_map(|((x, event), anchor)| name(&mut labels, (*x, y), event.label, anchor)).collect();
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

fn name(labels: &mut Labels, (x, lane): (f64, f64), words: &str, anchor: Anchor) -> Option<Name> {
    let aside = if anchor == Anchor::Start { 4.0 } else { -4.0 };
    (0..ROWS).find_map(|row| {
        let line = row_line(lane, row);
        let (from, until) = (Point::new(x, lane), Point::new(x, line + text::FALL));
        let label = [Label::new(text::cut(words, WIDTH * 0.45), anchor, Point::new(x + aside, line))];
        if !labels.is_clear(from, until) {
            return None;
        }
        let label = labels.choose(&label)?.clone();
        labels.keep_off(&[Point::new(x, lane), Point::new(x, line - text::RISE)]);
        Some(Name { x, row, label })
    })
}
