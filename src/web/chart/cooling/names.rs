//! Words beside what they are about, instead of a legend; the most wanted first.

use super::{
    super::{
        Point,
        frame::{Frame, WIDTH},
        labels::{Area, Label, Labels},
        svg::{Anchor, Svg},
        text::{self, number, short},
    },
    Chill,
    draw::Curves,
};

pub(super) fn write(svg: &mut Svg, frame: &Frame, chill: &Chill<'_>, curves: &Curves) {
    // Up to the names of the stages, so that a first reading near the top can be named.
    let room = Area { top: frame.plot.top - 4.0, right: WIDTH, ..frame.plot };
    let mut labels = Labels::inside(room);
    for line in [&curves.wort, &curves.likely, &curves.warmest, &curves.coolest] {
        labels.keep_off(line);
    }

    let pitch_lines = chill.pitch.into_iter().flat_map(|(low, high)| [low, high]).chain(chill.target);
    for y in pitch_lines.map(|level| frame.y.place(level)) {
        labels.keep_off(&[Point::new(frame.plot.left, y), Point::new(frame.plot.right, y)]);
    }

    let last = chill.last();
    if let Some(settled) = chill.settled {
        let words = format!("settled, {}°", number(settled.y, 1));
        labels.write(svg, "settled-name", &around(frame.place(settled), &words));
    } else {
        labels.write(svg, "wort-name", &around(frame.place(last), &format!("{}°", number(last.y, 1))));
    }
    if let Some(dip) = chill.dips.last() {
        labels.write(svg, "dip-name", &around(frame.place(*dip), "passing dip"));
    }
    if let Some(end) = chill.forecast.last() {
        let words = format!("about {}°", number(end.likely, 0));
        labels.write(svg, "forecast-name", &around(frame.place(Point::new(end.at, end.likely)), &words));
    }
    labels.write(svg, "pitch-name", &pitch(frame, chill));
}

/// Places near a point: over it first, as a falling curve leaves room there.
fn around(at: Point, words: &str) -> Vec<Label> {
    let (over, under) = (-12.0, 12.0 + text::RISE);
    let places = [
        (Anchor::Start, 4.0, over),
        (Anchor::Middle, 0.0, over),
        (Anchor::End, 6.0, over),
        (Anchor::Start, 12.0, text::RISE / 2.0),
        (Anchor::Middle, 0.0, under),
        (Anchor::End, -6.0, under),
        (Anchor::Start, 4.0, over - 12.0),
        (Anchor::End, 10.0, over - 16.0),
        (Anchor::End, 10.0, over - 28.0),
        (Anchor::End, 6.0, under + 14.0),
    ];
    places.map(|(anchor, x, y)| Label::new(words, anchor, Point::new(at.x + x, at.y + y))).to_vec()
}

/// Names for the pitch range and the target, the fullest first, on the left
/// under the curve where there is mostly room.
fn pitch(frame: &Frame, chill: &Chill<'_>) -> Vec<Label> {
    let range = chill.pitch.map(|(low, high)| format!("pitch {} to {}°", short(low), short(high)));
    let target = chill.target.map(|at| format!("target {}°", short(at)));
    let both = range.iter().zip(&target).map(|(range, target)| format!("{range}, {target}")).next();
    let Some((low, high)) = chill.pitch.or(chill.target.map(|at| (at, at))) else { return Vec::new() };
    let (over, under) = (frame.y.place(high) - 8.0, frame.y.place(low) + text::RISE + 6.0);
    let (left, right) = (frame.plot.left + 5.0, frame.plot.right);
    let places = [
        (Anchor::Start, left, under),
        (Anchor::Start, left, over),
        (Anchor::End, right, over),
        (Anchor::End, right, under),
    ];
    [both, range, target]
        .into_iter()
        .flatten()
        .flat_map(|words| places.map(|(anchor, x, y)| Label::new(words.clone(), anchor, Point::new(x, y))))
        .collect()
}
