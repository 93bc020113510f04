//! A day's cooling curve, wherever it is drawn: on the chill page while it is
//! happening, on the record afterwards.

use super::Frame;
use super::chart::{Cooling, Forecast, Picture, Point, Stage, Table};
use super::stage_labels::stage_labels;
use crate::brewday::BrewDay;
use crate::brewday::chill::Chill;
use crate::science::units::{Temperature, TimeSpan};

/// What the picture shows, in the brewer's degrees and minutes since flame-out.
#[derive(Clone, Debug)]
pub(crate) struct ChillPicture {
    title: String,
    unit: &'static str,
    readings: Vec<Point>,
    /// Label, start, end.
    stages: Vec<(String, f64, Option<f64>)>,
    pitch: (f64, f64),
    target: f64,
    dips: Vec<Point>,
    settled: Option<Point>,
    forecast: Vec<Forecast>,
}

/// The wort's readings from flame-out until the yeast went in, in minutes since
/// flame-out and the brewer's own degrees.
#[must_use]
pub(crate) fn chill_points(chill: &Chill, frame: &Frame) -> Vec<Point> {
    chill.series.readings().iter().map(|reading| point(frame, reading.at, reading.wort)).collect()
}

fn point(frame: &Frame, at: TimeSpan, wort: Temperature) -> Point {
    Point::new(at.minutes(), frame.degrees(wort.celsius()))
}

impl ChillPicture {
    /// The day's chill; an empty picture before it has begun.
    pub(crate) fn of(day: &BrewDay, chill: Option<&Chill>, frame: &Frame) -> Self {
        let (batch, recipe) = (&day.batch, &day.batch.recipe);
        let target = Temperature::from_celsius(recipe.target_pitch_c);
        let settled = chill.and_then(|chill| {
            let at = chill.first_settled(target)?;
            // Of a probe's many readings the hold takes some: the first not before it.
            chill.series.readings().iter().find(|reading| reading.at >= at)
        });
        Self {
            title: format!("Cooling curve of {}, batch {}", batch.name, batch.id),
            unit: frame.degree_unit(),
            readings: chill.map(|chill| chill_points(chill, frame)).unwrap_or_default(),
            stages: chill.map(stages).unwrap_or_default(),
            pitch: (frame.degrees(recipe.pitch_low_c), frame.degrees(recipe.pitch_high_c)),
            target: frame.degrees(recipe.target_pitch_c),
            dips: chill.map(|chill| dips(chill, frame)).unwrap_or_default(),
            settled: settled.map(|reading| point(frame, reading.at, reading.wort)),
            forecast: Vec::new(),
        }
    }

    /// The same with what is still to come.
    pub(crate) fn with_forecast(self, forecast: Vec<Forecast>) -> Self {
        Self { forecast, ..self }
    }

    /// Whether there is a reading to draw.
    pub(crate) fn has_readings(&self) -> bool {
        !self.readings.is_empty()
    }

    /// Whether anything is still to come.
    pub(crate) fn has_forecast(&self) -> bool {
        !self.forecast.is_empty()
    }

    /// The picture and the same numbers.
    pub(crate) fn drawn(&self) -> (Picture, Table) {
        let stages = self.stages.iter().map(|(label, from, until)| Stage { label, from: *from, until: *until });
        let stages: Vec<Stage<'_>> = stages.collect();
        let cooling = Cooling {
            title: &self.title,
            unit: self.unit,
            readings: &self.readings,
            stages: &stages,
            forecast: &self.forecast,
            pitch: Some(self.pitch),
            target: Some(self.target),
            dips: &self.dips,
            settled: self.settled,
        };
        (cooling.svg(), cooling.table())
    }
}

fn stages(chill: &Chill) -> Vec<(String, f64, Option<f64>)> {
    let labels = stage_labels(chill.stages.iter().map(|stage| stage.cooling.method));
    let minutes = |at| chill.minutes(at);
    let stages = labels.into_iter().zip(&chill.stages);
    stages.map(|(label, stage)| (label, minutes(stage.started), stage.ended.map(minutes))).collect()
}

/// The lowest point of each passing dip.
fn dips(chill: &Chill, frame: &Frame) -> Vec<Point> {
    let lowest = chill.verdicts().iter().filter_map(|hold| hold.dip).map(|dip| point(frame, dip.lowest_at, dip.lowest));
    let mut dips: Vec<Point> = lowest.collect();
    dips.dedup();
    dips
}
