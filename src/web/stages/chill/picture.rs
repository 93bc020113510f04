//! The cooling curve with what is still to come.

use crate::brewday::chill_now::{ChillNow, InRange};
use crate::web::chart::{Forecast, Picture, Table};
use crate::web::chill_picture::ChillPicture;
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
        let degrees = |celsius: f64| page.frame.degrees(celsius);
        let moving = now.filter(|now| now.hold.in_range != Some(InRange::Within));
        let path = moving.and_then(|now| now.outlook.as_ref().ok()).map(|outlook| outlook.path.as_slice());
        let ahead = path.unwrap_or_default().iter().map(|at| Forecast {
            at: at.minutes,
            low: degrees(at.low_c),
            likely: degrees(at.likely_c),
            high: degrees(at.high_c),
        });
        let picture =
            ChillPicture::of(&page.day, now.map(|now| &*now.chill), &page.frame).with_forecast(ahead.collect());
        let (svg, table) = picture.drawn();
        Self {
            svg,
            caption: if now.is_some_and(|now| !now.chill.from_flame_out) {
                "Flame-out is not logged: the minutes count from the first bath. Green: your yeast’s range."
            } else if !picture.has_forecast() {
                "Green: your yeast’s range."
            } else {
                "Dashed: where this bath takes it. Green: your yeast’s range."
            },
            has_rows: picture.has_readings(),
            table,
            csv_href: format!("/api/v1/batches/{}/readings.csv", page.day.batch.id),
        }
    }
}
