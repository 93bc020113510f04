//! Writes SVG: a few shapes, each with a class, all text escaped.

use std::fmt::{self, Write};

use askama::filters::HtmlSafe;

use super::{Point, text};

/// A finished SVG element, ready to stand in a page.
///
/// In a template `{{ chart }}` puts it there as it is: every word in it was
/// escaped when it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture(String);

impl Picture {
    /// The markup.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Picture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl HtmlSafe for Picture {}

/// Which end of some words stands at their point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// The shape that marks a reading, one per series, so that colour is never alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shape {
    Round,
    Square,
    Diamond,
    Triangle,
}

/// The class, and so the colour and dash, and the shape of the series at an
/// index. Whoever draws more than four series has to draw them apart.
pub(super) fn series(index: usize) -> (&'static str, Shape) {
    [
        ("series series-1", Shape::Round),
        ("series series-2", Shape::Square),
        ("series series-3", Shape::Diamond),
        ("series series-4", Shape::Triangle),
    ][index % 4]
}

/// An SVG element in the making.
#[derive(Debug)]
pub(super) struct Svg(String);

impl Svg {
    /// Opens a drawing with its title and a sentence of what it shows.
    pub(super) fn new(kind: &str, (width, height): (f64, f64), title: &str, told: &str) -> Self {
        let mut svg = Self(String::with_capacity(8 * 1024));
        svg.put(format_args!(
            r#"<svg class="chart chart-{kind}" role="img" viewBox="0 0 {} {}" xmlns="http://www.w3.org/2000/svg"><title>{}</title><desc>{}</desc>"#,
            Figure(width),
            Figure(height),
            Escaped(title),
            Escaped(told)
        ));
        svg
    }

    /// Closes the drawing.
    pub(super) fn finish(mut self) -> Picture {
        self.0.push_str("</svg>");
        Picture(self.0)
    }

    /// Everything `draw` adds stands in one group of this class.
    pub(super) fn group(&mut self, class: &str, draw: impl FnOnce(&mut Self)) {
        self.put(format_args!(r#"<g class="{class}">"#));
        draw(self);
        self.0.push_str("</g>");
    }

    pub(super) fn line(&mut self, class: &str, from: Point, to: Point) {
        self.put(format_args!(
            r#"<line class="{class}" x1="{}" y1="{}" x2="{}" y2="{}"/>"#,
            Figure(from.x),
            Figure(from.y),
            Figure(to.x),
            Figure(to.y)
        ));
    }

    /// A rectangle from its top left corner; nothing where it has no size.
    pub(super) fn rect(&mut self, class: &str, corner: Point, width: f64, height: f64) {
        if width > 0.0 && height > 0.0 {
            self.put(format_args!(
                r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
                Figure(corner.x),
                Figure(corner.y),
                Figure(width),
                Figure(height)
            ));
        }
    }

    /// A line through the points; nothing where there are fewer than two.
    pub(super) fn polyline(&mut self, class: &str, points: &[Point]) {
        if points.len() > 1 {
            self.put(format_args!(r#"<polyline class="{class}" points="{}"/>"#, Places(points)));
        }
    }

    /// A closed area round the points; nothing where there are fewer than three.
    pub(super) fn polygon(&mut self, class: &str, points: &[Point]) {
        if points.len() > 2 {
            self.put(format_args!(r#"<polygon class="{class}" points="{}"/>"#, Places(points)));
        }
    }

    pub(super) fn circle(&mut self, class: &str, at: Point, radius: f64) {
        self.put(format_args!(
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            Figure(at.x),
            Figure(at.y),
            Figure(radius)
        ));
    }

    /// A marker of a shape, `size` from its middle to its edge.
    pub(super) fn mark(&mut self, class: &str, shape: Shape, at: Point, size: f64) {
        let corner = |x: f64, y: f64| Point::new(at.x + x * size, at.y + y * size);
        match shape {
            Shape::Round => self.circle(class, at, size),
            Shape::Square => {
                let side = 0.88 * size;
                self.rect(class, Point::new(at.x - side, at.y - side), 2.0 * side, 2.0 * side);
            }
            Shape::Diamond => {
                self.polygon(class, &[corner(0.0, -1.25), corner(1.25, 0.0), corner(0.0, 1.25), corner(-1.25, 0.0)]);
            }
            Shape::Triangle => self.polygon(class, &[corner(0.0, -1.2), corner(1.15, 0.9), corner(-1.15, 0.9)]),
        }
    }

    /// Words on one line; nothing where there are none.
    pub(super) fn text(&mut self, class: &str, anchor: Anchor, at: Point, words: &str) {
        self.words("", class, anchor, at, words);
    }

    /// Lines of words whose middle is level with the point, at any type size
    /// the style sheet gives them.
    pub(super) fn text_beside(&mut self, class: &str, anchor: Anchor, at: Point, lines: &[String]) {
        for (row, words) in lines.iter().enumerate() {
            let down = row as f64 - (lines.len() as f64 - 1.0) / 2.0;
            let shift = format!(r#" dy="{:.2}em""#, text::MIDDLE + down * text::LINE);
            self.words(&shift, class, anchor, at, words);
        }
    }

    fn words(&mut self, shift: &str, class: &str, anchor: Anchor, at: Point, words: &str) {
        if words.trim().is_empty() {
            return;
        }
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        self.put(format_args!(
            r#"<text class="{class}" text-anchor="{anchor}" x="{}" y="{}"{shift}>{}</text>"#,
            Figure(at.x),
            Figure(at.y),
            Escaped(words)
        ));
    }

    /// What a pointer resting on the group being drawn is told.
    pub(super) fn hint(&mut self, words: &str) {
        self.put(format_args!("<title>{}</title>", Escaped(words)));
    }

    fn put(&mut self, what: fmt::Arguments<'_>) {
        // Writing to a string can't fail.
        let _ = self.0.write_fmt(what);
    }
}

/// A coordinate: a tenth of a unit is finer than any screen shows.
struct Figure(f64);

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0 * 10.0).round();
        if tenths % 10.0 == 0.0 { write!(f, "{}", (tenths / 10.0) as i64) } else { write!(f, "{:.1}", tenths / 10.0) }
    }
}

struct Places<'a>(&'a [Point]);

impl fmt::Display for Places<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, point) in self.0.iter().enumerate() {
            let gap = if i == 0 { "" } else { " " };
            write!(f, "{gap}{},{}", Figure(point.x), Figure(point.y))?;
        }
        Ok(())
    }
}

struct Escaped<'a>(&'a str);

impl fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.chars().try_for_each(|c| match c {
            '&' => f.write_str("&amp;"),
            '<' => f.write_str("&lt;"),
            '>' => f.write_str("&gt;"),
            '"' => f.write_str("&quot;"),
            '\'' => f.write_str("&#39;"),
            // XML has no way to write these, escaped or not.
            '\u{fffe}' | '\u{ffff}' => f.write_char('\u{fffd}'),
            c if c.is_control() => f.write_char(' '),
            c => f.write_char(c),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_person_typed_stays_text() {
        let typed = "</title><script>alert('1')</script> & \"so\"\u{0}\u{8}";
        let mut svg = Svg::new("test", (10.0, 10.0), typed, typed);
        svg.text("label", Anchor::Start, Point::new(0.0, 0.0), typed);
        let picture = svg.finish();
        let tree = roxmltree::Document::parse(picture.as_str()).expect("well-formed");
        let read: Vec<_> = tree.root_element().children().map(|n| n.text().unwrap_or_default()).collect();
        assert_eq!(read, vec!["</title><script>alert('1')</script> & \"so\"  "; 3]);
    }

    #[test]
    fn a_template_shows_a_picture_as_it_is() {
        use askama::Template;

        #[derive(Template)]
        #[template(source = "<p>{{ chart }}</p>", ext = "html")]
        struct Page {
            chart: Picture,
        }
        let chart = Svg::new("test", (10.0, 10.0), "a < b", "").finish();
        let page = Page { chart: chart.clone() }.render().expect("a page");
        assert_eq!(page, format!("<p>{chart}</p>"));
        assert!(page.contains("<title>a &lt; b</title>"));
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!([0.04, -0.01, 12.0, 7.25].map(|f| Figure(f).to_string()), ["0", "0", "12", "7.3"]);
    }
}
