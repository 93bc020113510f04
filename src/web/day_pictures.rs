//! The day's two pictures: the cooling curve and the whole day.

use time::Duration;

use crate::brewday::choices::Place;
use crate::brewday::plausible::Dimension;
use crate::brewday::{Body, BrewDay};
use crate::web::Frame;
use crate::web::chart::{Day, Event, EventKind, Picture, Point, Trace};
use crate::web::chill_picture::ChillPicture;

/// A day's picture ends here where nothing else ends it.
const LONGEST_DAY: Duration = Duration::hours(24);

/// The cooling curve; none without a wort reading after flame-out.
pub(crate) fn cooling(day: &BrewDay, frame: &Frame) -> Option<Picture> {
    let picture = ChillPicture::of(day, Some(&day.chilled()?.chill), frame);
    picture.has_readings().then(|| picture.drawn().0)
}

/// The whole day; none before its first temperature.
pub(crate) fn whole_day(day: &BrewDay, frame: &Frame) -> Option<Picture> {
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
