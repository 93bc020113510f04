//! The day's two pictures: the cooling curve and the whole day.

use time::Duration;

use crate::brewday::chill::Chill;
use crate::brewday::choices::{Choice, Cooling as Method, Place};
use crate::brewday::plausible::Dimension;
use crate::brewday::{Body, BrewDay, Summary};
use crate::science::chilling::hold;
use crate::web::Frame;
use crate::web::chart::{Cooling, Day, Event, EventKind, Picture, Point, Stage, Trace};

/// A day's picture ends here where nothing else ends it.
const LONGEST_DAY: Duration = Duration::hours(24);

/// The wort's readings from flame-out until the yeast went in, in minutes since
/// flame-out and the brewer's own degrees.
#[must_use]
pub fn chill_points(chill: &Chill, frame: &Frame) -> Vec<Point> {
    let readings = chill.series.readings().iter();
    readings.map(|reading| Point::new(reading.at.minutes(), frame.degrees(reading.wort.celsius()))).collect()
}

/// The cooling curve; none without a wort reading after flame-out.
pub(super) fn cooling(day: &BrewDay, summary: &Summary, frame: &Frame) -> Option<Picture> {
    let chill = Chill::of(day)?;
    let readings = chill_points(&chill, frame);
    let labels = stage_labels(&chill);
    let stages: Vec<Stage<'_>> = chill
        .stages
        .iter()
        .zip(&labels)
        .map(|(stage, label)| Stage {
            label,
            from: chill.minutes(stage.started),
            until: stage.ended.map(|ended| chill.minutes(ended)),
        })
        .collect();
    let recipe = &day.batch.recipe;
    let settled_at = summary.chill.minutes_to_settled;
    let title = format!("Cooling curve of {}, batch {}", day.batch.name, day.batch.id);
    let picture = Cooling {
        title: &title,
        unit: frame.degree_unit(),
        readings: &readings,
        stages: &stages,
        pitch: Some((frame.degrees(recipe.pitch_low_c), frame.degrees(recipe.pitch_high_c))),
        target: Some(frame.degrees(recipe.target_pitch_c)),
        dips: &dips(&chill, frame),
        settled: settled_at.and_then(|minute| readings.iter().copied().find(|point| point.x >= minute - 1e-6)),
        ..Cooling::default()
    };
    (!readings.is_empty()).then(|| picture.svg())
}

/// "bath 1", "bath 2", "ice bath": still baths are counted, the rest named.
pub(super) fn stage_labels(chill: &Chill) -> Vec<String> {
    let methods: Vec<Method> = chill.stages.iter().map(|stage| stage.cooling.method).collect();
    methods
        .iter()
        .enumerate()
        .map(|(index, method)| match method {
            Method::StillBath => {
                let number = methods[..=index].iter().filter(|one| **one == Method::StillBath).count();
                format!("bath {number}")
            }
            other => other.label().to_lowercase(),
        })
        .collect()
}

fn dips(chill: &Chill, frame: &Frame) -> Vec<Point> {
    let mut dips: Vec<Point> = hold::verdicts(chill.series.readings(), &chill.rule())
        .iter()
        .filter_map(|hold| hold.dip)
        .map(|dip| Point::new(dip.lowest_at.minutes(), frame.degrees(dip.lowest.celsius())))
        .collect();
    dips.dedup();
    dips
}

/// The whole day; none before its first temperature.
pub(super) fn whole_day(day: &BrewDay, frame: &Frame) -> Option<Picture> {
    let began = day.brewed_at();
    let ends = day.pitched().map_or(began + LONGEST_DAY, |(at, _)| at + Duration::hours(1));
    let first = frame.clock.minute_of_day(began);
    let along = |at: time::OffsetDateTime| first + (at - began).as_seconds_f64() / 60.0;
    let is_of_the_day = |at: time::OffsetDateTime| (began..=ends).contains(&at);
    let points = |place| {
        let readings = day.temperatures(place).filter(|reading| is_of_the_day(reading.at));
        readings.map(|one| Point::new(along(one.at), frame.degrees(one.temperature_c))).collect::<Vec<_>>()
    };
    let (mash, wort) = (points(Place::Mash), points(Place::Wort));
    let told: Vec<(f64, String, EventKind)> = day
        .standing
        .iter()
        .filter(|entry| is_of_the_day(entry.at))
        .filter_map(|entry| Some((along(entry.at), event(&entry.body, frame)?)))
        .map(|(at, (label, kind))| (at, label, kind))
        .collect();
    let events: Vec<Event<'_>> = told.iter().map(|(at, label, kind)| Event { at: *at, label, kind: *kind }).collect();
    let title = format!("The day of {}, batch {}", day.batch.name, day.batch.id);
    let traces: Vec<Trace<'_>> = [Trace { label: "mash", readings: &mash }, Trace { label: "wort", readings: &wort }]
        .into_iter()
        .filter(|trace| !trace.readings.is_empty())
        .collect();
    let picture = Day { title: &title, unit: frame.degree_unit(), traces: &traces, events: &events };
    (!traces.is_empty()).then(|| picture.svg())
}

fn event(body: &Body, frame: &Frame) -> Option<(String, EventKind)> {
    match body {
        Body::BoilStarted => Some(("boil".to_owned(), EventKind::Stage)),
        Body::FlameOut => Some(("flame-out".to_owned(), EventKind::Stage)),
        Body::Addition { what, mass_kg, .. } => {
            Some((format!("{what} {}", frame.show(*mass_kg, Dimension::SmallMass)), EventKind::Addition))
        }
        Body::Pitched(_) => Some(("pitch".to_owned(), EventKind::Stage)),
        _ => None,
    }
}
