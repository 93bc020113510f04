//! The batches of an address: `?batch=3&batch=1`, in that order, each once.

use std::sync::Arc;

use crate::brewday::BrewDay;
use crate::brewday::choices::Choice;
use crate::brewday::plausible::Dimension;
use crate::store::Compared;
use crate::web::chart::Point;
use crate::web::chill_picture::chill_points;
use crate::web::figures_csv;
use crate::web::{App, AppError, Frame};

/// More than this and no page can tell them apart.
const MOST: usize = 60;
/// A chill so many times as long as the middle one is cut off in the picture, or
/// a wort left overnight would press all the others into a line.
const TIMES_THE_MIDDLE: f64 = 3.0;

/// What was asked for, and what of it is in the book.
#[derive(Debug)]
pub(super) struct Chosen {
    pub(super) batches: Vec<ChosenBatch>,
    unknown: Vec<String>,
    beyond: usize,
}

/// A batch that is compared.
#[derive(Debug)]
pub(super) struct ChosenBatch {
    pub(super) kept: Compared,
    /// The whole day, where every reading of it is wanted.
    day: Option<Arc<BrewDay>>,
    /// In words and tables: "Lantern Row Pale, batch 14".
    pub(super) name: String,
    /// At the end of its line: "No 14".
    pub(super) label: String,
}

/// Each batch's chill, in the order of the batches.
#[derive(Debug)]
pub(super) struct Curves(pub(super) Vec<Vec<Point>>);

impl ChosenBatch {
    pub(super) fn id(&self) -> i64 {
        self.kept.batch
    }

    /// What held its chill back.
    pub(super) fn limited_by(&self) -> &'static str {
        self.kept.summary.chill.limited_by.label()
    }

    /// What would have helped it most, or why that can't be told.
    pub(super) fn would_help(&self) -> String {
        figures_csv::would_help(&self.kept.summary)
    }
}

impl Chosen {
    /// Reads the batches of an address.
    pub(super) async fn load(app: &App, query: Option<&str>) -> Result<Self, AppError> {
        let (mut ids, mut unknown) = asked(query.unwrap_or_default());
        let beyond = ids.len().saturating_sub(MOST);
        ids.truncate(MOST);
        let mut kept = app.store.compared(&ids).await?;
        let mut batches = Vec::with_capacity(ids.len());
        for id in ids {
            match kept.remove(&id) {
                Some(kept) => batches.push(ChosenBatch {
                    name: format!("{}, batch {id}", kept.name),
                    label: format!("No {id}"),
                    kept,
                    day: None,
                }),
                None => unknown.push(id.to_string()),
            }
        }
        Ok(Self { batches, unknown, beyond })
    }

    pub(super) fn ids(&self) -> Vec<i64> {
        self.batches.iter().map(ChosenBatch::id).collect()
    }

    /// The address's query for these batches.
    pub(super) fn query(&self) -> String {
        query(&self.ids())
    }

    /// The name of the one batch, where there is but one.
    pub(super) fn alone(&self) -> Option<String> {
        let [one] = self.batches.as_slice() else { return None };
        Some(one.name.clone())
    }

    /// Sentences about what is not shown.
    pub(super) fn left_out(&self) -> Vec<String> {
        let unknown = match self.unknown.as_slice() {
            [] => None,
            [one] => Some(format!("There is no batch {one} in the book; it is left out.")),
            [more @ .., last] => {
                Some(format!("There are no batches {} and {last} in the book; they are left out.", more.join(", ")))
            }
        };
        let beyond = (self.beyond > 0)
            .then(|| format!("The first {MOST} batches are shown; {} more were asked for.", self.beyond));
        unknown.into_iter().chain(beyond).collect()
    }

    /// The same with every reading, for a few batches or a file.
    pub(super) async fn with_readings(mut self, app: &App) -> Result<Self, AppError> {
        for batch in &mut self.batches {
            batch.day = app.store.day(batch.kept.batch).await?;
        }
        Ok(self)
    }

    /// The chills, in minutes since flame-out: every reading where the days are
    /// at hand, else the few points that are kept beside the summary.
    pub(super) fn curves(&self, frame: &Frame) -> Curves {
        let thinned = |batch: &ChosenBatch| {
            let points = batch.kept.curve.iter();
            points.map(|&(minutes, celsius)| Point::new(minutes, frame.degrees(celsius))).collect()
        };
        let curve = |batch: &ChosenBatch| match &batch.day {
            Some(day) => day.chilled().map(|chilled| chill_points(&chilled.chill, frame)).unwrap_or_default(),
            None => thinned(batch),
        };
        Curves(self.batches.iter().map(curve).collect())
    }

    /// Which chills can't be laid on the others at flame-out, and why.
    pub(super) fn not_aligned(&self) -> Option<String> {
        let without = |batch: &&ChosenBatch| match &batch.day {
            Some(day) => day.flame_out().is_none() && !day.cooling_stages().is_empty(),
            None => batch.kept.curve.is_empty(),
        };
        let labels: Vec<&str> = self.batches.iter().filter(without).map(|batch| batch.label.as_str()).collect();
        let what = match labels.len() {
            0 => return None,
            _ if self.batches.iter().any(|batch| batch.day.is_some()) => {
                "no flame-out is logged: the minutes count from the first bath"
            }
            _ => "no flame-out, or no wort temperature after it, is logged: there is no curve to lay on the others",
        };
        Some(format!("{}: {what}.", labels.join(", ")))
    }
}

impl Curves {
    /// Cuts off what is far longer than the rest, and says so.
    pub(super) fn cut_to_comparable(&mut self, frame: &Frame) -> Option<String> {
        let mut lengths: Vec<f64> = self.0.iter().filter_map(|curve| curve.last()).map(|point| point.x).collect();
        lengths.sort_by(f64::total_cmp);
        let middle = *lengths.get(lengths.len().checked_sub(1)? / 2)?;
        let longest = *lengths.last()?;
        let most = middle * TIMES_THE_MIDDLE;
        if most <= 0.0 || longest <= most {
            return None;
        }
        self.0.iter_mut().for_each(|curve| curve.retain(|point| point.x <= most));
        let minutes = |minutes: f64| frame.show(minutes.round(), Dimension::Minutes);
        Some(format!(
            "The picture ends at {}: the longest chill went on for {}. The table has all of it.",
            minutes(most),
            minutes(longest)
        ))
    }
}

/// `batch=1&batch=2`
pub(super) fn query(ids: &[i64]) -> String {
    ids.iter().map(|id| format!("batch={id}")).collect::<Vec<_>>().join("&")
}

/// The numbers asked for, each once, and what is no number.
fn asked(query: &str) -> (Vec<i64>, Vec<String>) {
    let (mut ids, mut unknown) = (Vec::new(), Vec::new());
    for (_, text) in form_urlencoded::parse(query.as_bytes()).filter(|(name, _)| name == "batch") {
        match text.trim().parse::<i64>() {
            Ok(id) if ids.contains(&id) => {}
            Ok(id) => ids.push(id),
            Err(_) if text.trim().is_empty() => {}
            Err(_) => unknown.push(format!("“{}”", text.chars().take(20).collect::<String>())),
        }
    }
    unknown.truncate(5);
    (ids, unknown)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::page::Light;

    #[test]
    fn an_address_gives_each_batch_once_and_keeps_what_it_cannot_read() {
        let (ids, unknown) = asked("batch=3&batch=1&batch=3&other=9&batch=&batch=x%20y&batch=%2B2");
        assert_eq!(ids, [3, 1, 2]);
        assert_eq!(unknown, ["“x y”"]);
        assert_eq!(asked("").0, Vec::<i64>::new());
    }

    #[test]
    fn a_night_on_the_terrace_does_not_flatten_the_other_chills() {
        let frame = Frame::bare(Light::Device);
        let long = |minutes: u32| (0..=minutes).map(|x| Point::new(f64::from(x), 50.0)).collect::<Vec<_>>();
        let mut curves = Curves(vec![long(30), long(40), long(840), Vec::new()]);
        let told = curves.cut_to_comparable(&frame).expect("one is far longer");
        assert!(told.contains("120\u{a0}min") && told.contains("840\u{a0}min"), "{told}");
        assert_eq!(curves.0.iter().map(Vec::len).collect::<Vec<_>>(), [31, 41, 121, 0]);
        assert_eq!(curves.cut_to_comparable(&frame), None, "now they are alike");
        assert_eq!(Curves(vec![Vec::new()]).cut_to_comparable(&frame), None);
    }
}
