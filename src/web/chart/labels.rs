//! Puts words where nothing is yet.

use super::{
    Point,
    svg::{Anchor, Svg},
    text,
};

/// An upright box on the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    /// The room words take when written at a point.
    pub(super) fn of_words(words: &str, anchor: Anchor, at: Point) -> Self {
        let width = text::width(words);
        let left = match anchor {
            Anchor::Start => at.x,
            Anchor::Middle => at.x - width / 2.0,
            Anchor::End => at.x - width,
        };
        Self { left, top: at.y - text::RISE, right: left + width, bottom: at.y + text::FALL }
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    fn encloses(&self, other: &Self) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }

    fn grown(&self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Whether the straight line between two points touches the box
    /// (Liang and Barsky's clipping: the line's part inside all four edges).
    fn is_crossed_by(&self, from: Point, to: Point) -> bool {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        for (towards, room) in
            [(-dx, from.x - self.left), (dx, self.right - from.x), (-dy, from.y - self.top), (dy, self.bottom - from.y)]
        {
            if towards == 0.0 {
                if room < 0.0 {
                    return false;
                }
            } else if towards < 0.0 {
                enters = enters.max(room / towards);
            } else {
                leaves = leaves.min(room / towards);
            }
        }
        enters <= leaves
    }
}

/// Words, and one place they could stand.
#[derive(Clone, Debug)]
pub(super) struct Label {
    words: String,
    anchor: Anchor,
    at: Point,
}

impl Label {
    pub(super) fn new(words: impl Into<String>, anchor: Anchor, at: Point) -> Self {
        Self { words: words.into(), anchor, at }
    }

    pub(super) fn write(&self, svg: &mut Svg, class: &str) {
        svg.text(class, self.anchor, self.at, &self.words);
    }

    fn area(&self) -> Area {
        Area::of_words(&self.words, self.anchor, self.at)
    }
}

/// What is already on a part of the drawing, and so where words may still go.
#[derive(Debug)]
pub(super) struct Labels {
    bounds: Area,
    words: Vec<Area>,
    lines: Vec<Vec<Point>>,
}

impl Labels {
    /// Words placed here stay inside these bounds.
    pub(super) fn inside(bounds: Area) -> Self {
        Self { bounds, words: Vec::new(), lines: Vec::new() }
    }

    /// No words shall cross this line.
    pub(super) fn keep_off(&mut self, line: &[Point]) {
        self.lines.push(line.to_vec());
    }

    /// Writes the first of the labels that has room, and says whether one had:
    /// words that would cover others are left out.
    pub(super) fn write(&mut self, svg: &mut Svg, class: &str, choices: &[Label]) -> bool {
        let label = self.choose(choices);
        if let Some(label) = label {
            label.write(svg, class);
        }
        label.is_some()
    }

    /// Keeps the first of the labels that has room, to be written later.
    pub(super) fn choose<'a>(&mut self, choices: &'a [Label]) -> Option<&'a Label> {
        let label = choices.iter().find(|label| self.has_room(label.area()))?;
        self.words.push(label.area());
        Some(label)
    }

    /// Whether a straight line would cross no words.
    pub(super) fn is_clear(&self, from: Point, to: Point) -> bool {
        !self.words.iter().any(|taken| taken.is_crossed_by(from, to))
    }

    fn has_room(&self, area: Area) -> bool {
        let beside = Area { left: area.left - 5.0, right: area.right + 5.0, ..area };
        let around = area.grown(3.0);
        self.bounds.encloses(&area)
            && !self.words.iter().any(|taken| taken.overlaps(&beside))
            && !self.lines.iter().any(|line| match line.as_slice() {
                [one] => around.is_crossed_by(*one, *one),
                line => line.windows(2).any(|pair| around.is_crossed_by(pair[0], pair[1])),
            })
    }
}

/// Heights for labels that stand in one column, each as near to where it wants
/// to be as `gap` between neighbours allows, within `top..=bottom`.
pub(super) fn spread(wanted: &[f64], gap: f64, (top, bottom): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    let mut heights = wanted.to_vec();
    let mut free = top;
    for i in &order {
        heights[*i] = wanted[*i].max(free);
        free = heights[*i] + gap;
    }
    let mut floor = bottom;
    for i in order.iter().rev() {
        heights[*i] = heights[*i].min(floor);
        floor = heights[*i] - gap;
    }
    heights
}

#[cfg(test)]
mod tests {
    use std::slice;

    use proptest::prelude::*;

    use super::*;

    const BOX: Area = Area { left: 10.0, top: 10.0, right: 20.0, bottom: 20.0 };

    #[test]
    fn a_line_through_a_box_is_seen_and_one_past_it_is_not() {
        let crosses = |x1, y1, x2, y2| BOX.is_crossed_by(Point::new(x1, y1), Point::new(x2, y2));
        assert!(crosses(0.0, 0.0, 30.0, 30.0));
        assert!(crosses(15.0, 0.0, 15.0, 30.0));
        assert!(crosses(14.0, 14.0, 16.0, 16.0), "a line that ends inside");
        assert!(!crosses(0.0, 15.0, 30.0, 60.0));
        assert!(!crosses(0.0, 25.0, 30.0, 25.0));
        assert!(!crosses(0.0, 0.0, 9.0, 9.0), "a line that stops short");
    }

    #[test]
    fn a_second_label_takes_the_next_free_place_or_none() {
        let mut svg = Svg::new("test", (100.0, 100.0), "", "");
        let mut labels = Labels::inside(Area { left: 0.0, top: 0.0, right: 100.0, bottom: 100.0 });
        let here = Label::new("bath 1", Anchor::Start, Point::new(10.0, 20.0));
        let below = Label::new("bath 2", Anchor::Start, Point::new(12.0, 60.0));
        assert!(labels.write(&mut svg, "label", slice::from_ref(&here)));
        assert!(!labels.write(&mut svg, "label", slice::from_ref(&here)));
        assert!(labels.write(&mut svg, "label", &[here, below]));
    }

    #[test]
    fn words_keep_off_a_line_and_inside_their_bounds() {
        let mut svg = Svg::new("test", (100.0, 100.0), "", "");
        let mut labels = Labels::inside(Area { left: 0.0, top: 0.0, right: 100.0, bottom: 100.0 });
        labels.keep_off(&[Point::new(0.0, 0.0), Point::new(100.0, 100.0)]);
        let at = |x, y| [Label::new("19.4°", Anchor::Start, Point::new(x, y))];
        assert!(!labels.write(&mut svg, "label", &at(40.0, 50.0)), "on the line");
        assert!(!labels.write(&mut svg, "label", &at(80.0, 50.0)), "past the edge");
        assert!(labels.write(&mut svg, "label", &at(10.0, 80.0)), "under the line");
        assert!(!labels.is_clear(Point::new(20.0, 0.0), Point::new(20.0, 100.0)));
        assert!(labels.is_clear(Point::new(5.0, 0.0), Point::new(5.0, 100.0)));
    }

    proptest! {
        #[test]
        fn spread_labels_keep_their_gap_their_order_and_the_column(
            wanted in prop::collection::vec(0.0..200.0_f64, 0..8),
        ) {
            let heights = spread(&wanted, 18.0, (10.0, 200.0));
            let mut sorted = heights.clone();
            sorted.sort_by(f64::total_cmp);
            prop_assert!(sorted.windows(2).all(|pair| pair[1] - pair[0] >= 18.0 - 1e-9));
            prop_assert!(heights.iter().all(|h| (10.0..=200.0).contains(h)));
            for (a, b) in wanted.iter().zip(&heights).zip(wanted.iter().zip(&heights).skip(1)) {
                prop_assert!((a.0 <= b.0) == (a.1 <= b.1) || a.0 == b.0);
            }
        }
    }
}
