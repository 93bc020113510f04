//! The cooling curve: what the wort did since flame-out, and what it will do.

mod draw;
mod names;

use super::{
    Picture, Point, Table, drawable,
    frame::{MOST_POINTS, empty},
    known, prepared,
    table::Length,
    text::{count, number, short},
};

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
        match Chill::of(self) {
            Some(chill) => draw::picture(self, &chill, &self.told(&chill)),
            None => {
                let words = ["The cooling curve appears here", "with the wort's first reading after flame-out."];
                empty("cooling", self.title, words)
            }
        }
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
        table.say_thinned(shown.len(), known(self.readings));
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

    /// One sentence or two for the reader who can't see the curve.
    fn told(&self, chill: &Chill<'_>) -> String {
        let (first, last) = (chill.first(), chill.last());
        let unit = self.unit;
        let mut told = if chill.readings.len() == 1 {
            format!("One reading: {} {unit}, {} min after flame-out.", number(last.y, 1), number(last.x, 0))
        } else {
            format!(
                "The wort went from {} to {} {unit} between {} and {} min after flame-out, in {}.",
                number(first.y, 1),
                number(last.y, 1),
                number(first.x, 0),
                number(last.x, 0),
                count(chill.taken, "reading"),
            )
        };
        if !chill.stages.is_empty() {
            let stages: Vec<_> =
                chill.stages.iter().map(|s| format!("{} from {} min", s.label, number(s.from, 0))).collect();
            told += &format!(" Cooling stages: {}.", stages.join(", "));
        }
        for dip in &chill.dips {
            told += &format!(" Passing dip to {} {unit} at {} min.", number(dip.y, 1), number(dip.x, 0));
        }
        if let Some(settled) = chill.settled {
            told += &format!(" Settled at {} {unit} after {} min.", number(settled.y, 1), number(settled.x, 0));
        }
        if let Some(last) = chill.forecast.last() {
            let (low, high) = (number(last.low, 1), number(last.high, 1));
            told += &format!(
                " Forecast: {} {unit} ({low} to {high}) at {} min.",
                number(last.likely, 1),
                number(last.at, 0)
            );
        }
        if let Some((low, high)) = chill.pitch {
            told += &format!(" Pitch range {} to {} {unit}.", short(low), short(high));
        }
        told
    }
}

/// What of a [`Cooling`] can be drawn: real numbers only, readings in order and
/// thinned, at least one of them.
struct Chill<'a> {
    readings: Vec<Point>,
    /// How many readings there were before thinning.
    taken: usize,
    stages: Vec<Stage<'a>>,
    forecast: Vec<Forecast>,
    pitch: Option<(f64, f64)>,
    target: Option<f64>,
    dips: Vec<Point>,
    settled: Option<Point>,
}

impl<'a> Chill<'a> {
    fn of(cooling: &Cooling<'a>) -> Option<Self> {
        let readings = prepared(cooling.readings, MOST_POINTS);
        let stage = |s: &Stage<'a>| Stage { until: s.until.filter(|v| drawable(*v)), ..*s };
        let is_known = |f: &&Forecast| [f.at, f.low, f.likely, f.high].into_iter().all(drawable);
        (!readings.is_empty()).then(|| Self {
            readings,
            taken: known(cooling.readings),
            stages: cooling.stages.iter().filter(|s| drawable(s.from)).map(stage).collect(),
            forecast: cooling.forecast.iter().filter(is_known).copied().collect(),
            pitch: cooling.pitch.filter(|(low, high)| drawable(*low) && drawable(*high)),
            target: cooling.target.filter(|v| drawable(*v)),
            dips: cooling.dips.iter().filter(|p| p.is_drawable()).copied().collect(),
            settled: cooling.settled.filter(Point::is_drawable),
        })
    }

    fn first(&self) -> Point {
        self.readings[0]
    }

    fn last(&self) -> Point {
        self.readings[self.readings.len() - 1]
    }
}
