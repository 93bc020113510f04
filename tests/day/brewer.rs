//! A brewer at work: every entry goes through the forms that the pages offer.

use axum::http::StatusCode;

use crate::book::{Answer, TestBook, entry_form as form};

/// The brew day: a Saturday, six hours behind UTC in this zone [IANA tz].
pub(crate) const ZONE: &str = "America/Denver";
const DAY: &str = "2025-03-15";

/// A brewer with a book and, from some point on, a batch.
pub(crate) struct Brewer {
    pub(crate) book: TestBook,
    pub(crate) batch: i64,
}

/// A time of the brew day as a date-and-time field sends it.
pub(crate) fn at(time: &str) -> String {
    format!("{DAY}T{time}")
}

impl Brewer {
    /// Fills in a form of a page and expects to be sent on; tells where to.
    pub(crate) async fn send(&self, path: &str, form: &str, typed: &[(&str, &str)]) -> String {
        let page = self.book.get(path).await;
        assert_eq!(page.status, StatusCode::OK, "{path}");
        taken(&self.book.send(&page, form, typed).await, path)
    }

    /// Logs an entry on a stage's page, at a time of the day; gives its id.
    pub(crate) async fn log(&self, stage: &str, form: &str, time: &str, typed: &[(&str, &str)]) -> String {
        let path = format!("/batches/{}/{stage}", self.batch);
        let when = at(time);
        let typed: Vec<_> = typed.iter().copied().chain([("at", when.as_str())]).collect();
        let next = self.send(&path, form, &typed).await;
        next.split_once("?saved=").expect("what was saved").1.to_owned()
    }

    /// Logs a reading of the wort's, the mash's or the yeast's temperature from the bar.
    pub(crate) async fn read(&self, stage: &str, place: &str, time: &str, typed: &str) -> String {
        let bar = form("temperature", &[]).replacen("form", ":is(form.bar, .bar form)", 1);
        self.log(stage, &bar, time, &[("place", place), ("temperature_c", typed)]).await
    }

    /// Ticks an item of a stage's list.
    pub(crate) async fn tick(&self, stage: &str, item: &str, time: &str) -> String {
        self.log(stage, &form("check", &[("item", item)]), time, &[("outcome", "done")]).await
    }

    pub(crate) async fn page(&self, of: &str) -> Answer {
        let page = self.book.get(&format!("/batches/{}{of}", self.batch)).await;
        assert_eq!(page.status, StatusCode::OK, "{of}");
        page
    }
}

/// Where a form that was taken leads to.
fn taken(answer: &Answer, path: &str) -> String {
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{path}: {:?}", answer.texts(".field__fault"));
    answer.location.clone().expect("a redirect says where to")
}
