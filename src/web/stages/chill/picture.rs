//! The cooling curve with what is still to come.

use time::OffsetDateTime;

use super::words::stage_label;
use crate::brewday::chill_now::{ChillNow, InRange};
use crate::brewday::choices::Cooling as Method;
use crate::science::chilling::hold::{self, Hold};
use crate::science::units::{Temperature, TimeSpan};
use crate::web::chart::{Cooling, Forecast, Picture, Point, Stage, Table};
use crate::web::stages::frame::StageFrame;

/// A picture, what stands under it, and its numbers.
#[derive(Clone, Debug)]
pub(super) struct PictureTold {
    pub(super) svg: Picture,
    pub(super) caption: &'static str,
    pub(super) table: Table,
    pub(super) csv_href: String,
    /// Whether there is anything in the table.
    pub(super) has_rows: bool,
}

impl PictureTold {
    pub(super) fn of(page: &StageFrame, now: Option<&ChillNow>) -> Self {
        let (frame, batch) = (&page.frame, &page.day.batch);
        let recipe = &batch.recipe;
        let title = format!("Cooling curve of {}, batch {}", batch.name, batch.id);
        let degrees = |celsius: f64| frame.degrees(celsius);
        let point = |at: TimeSpan, wort: Temperature| Point::new(at.minutes(), degrees(wort.celsius()));
        let readings = now.map(|now| now.chill.series.readings()).unwrap_or_default();
        let points: Vec<Point> = readings.iter().map(|reading| point(reading.at, reading.wort)).collect();
        let stages = now.map(stages).unwrap_or_default();
        let holds = now.map(|now| hold::verdicts(readings, &now.chill.rule())).unwrap_or_default();
        let moving = now.filter(|now| now.hold.in_range != Some(InRange::Within));
        let path = moving.and_then(|now| now.outlook.as_ref().ok()).map(|outlook| outlook.path.as_slice());
        let forecast: Vec<Forecast> = path
            .unwrap_or_default()
            .iter()
            .map(|at| Forecast {
                at: at.minutes,
                low: degrees(at.low_c),
                likely: degrees(at.likely_c),
                high: degrees(at.high_c),
            })
            .collect();
        let target = Temperature::from_celsius(recipe.target_pitch_c);
        let settled = now.and_then(|now| now.chill.first_settled(target));
        let settled = settled.and_then(|at| readings.iter().find(|reading| reading.at == at));
        let cooling = Cooling {
            title: &title,
            unit: frame.degree_unit(),
            readings: &points,
            stages: &stages
                .iter()
                .map(|(label, from, until)| Stage { label, from: *from, until: *until })
                .collect::<Vec<_>>(),
            forecast: &forecast,
            pitch: Some((degrees(recipe.pitch_low_c), degrees(recipe.pitch_high_c))),
            target: Some(degrees(recipe.target_pitch_c)),
            dips: &dips(&holds, point),
            settled: settled.map(|reading| point(reading.at, reading.wort)),
        };
        Self {
            svg: cooling.svg(),
            caption: if now.is_some_and(|now| !now.chill.from_flame_out) {
                "Flame-out is not logged: the minutes count from the first bath. Green: your yeast’s range."
            } else if forecast.is_empty() {
                "Green: your yeast’s range."
            } else {
                "Dashed: where this bath takes it. Green: your yeast’s range."
            },
            has_rows: !points.is_empty(),
            table: cooling.table(),
            csv_href: format!("/api/v1/batches/{}/readings.csv", batch.id),
        }
    }
}

/// Label, start and end of each stage, in minutes.
fn stages(now: &ChillNow) -> Vec<(String, f64, Option<f64>)> {
    let mut baths = 0;
    let minutes = |at: OffsetDateTime| now.chill.minutes(at);
    let stages = now.chill.stages.iter();
    stages
        .map(|stage| {
            baths += usize::from(matches!(stage.cooling.method, Method::StillBath | Method::IceBath));
            (stage_label(stage, baths), minutes(stage.started), stage.ended.map(minutes))
        })
        .collect()
}

/// The lowest point of each passing dip.
fn dips(holds: &[Hold], point: impl Fn(TimeSpan, Temperature) -> Point) -> Vec<Point> {
    let mut dips: Vec<Point> =
        holds.iter().filter_map(|hold| hold.dip).map(|dip| point(dip.lowest_at, dip.lowest)).collect();
    dips.dedup();
    dips
}
