//! When it happened: from what a form says, whenever it comes.
//!
//! A phone may send hours after the tap. It says when it was tapped (`typed_at`)
//! and when it sends (`sent_at`), both by its own clock, so that the server can
//! tell how long the entry waited and how wrong that clock is.
//!
//! Under the thumb a reading is set back by steps (`ago`, in minutes) or to a time
//! typed by hand (`ago=exact` and `at`); without a script the steps count from when
//! the form comes.

use serde_json::{Value, json};
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339};
use uuid::Uuid;

use crate::brewday::{Entry, Fault, entry::clock_error};
use crate::web::form::Form;
use crate::web::when::utc_ms;

/// What `ago` says where the time is typed by hand.
const EXACT: &str = "exact";
/// How far back a reading can be set in steps: minutes, and the words for it.
pub const AGO: [(&str, &str); 6] = [
    ("", "just now"),
    ("1", "1 min ago"),
    ("3", "3 min ago"),
    ("5", "5 min ago"),
    ("10", "10 min ago"),
    (EXACT, "at a time"),
];

/// Reads an entry from a form: what it leaves out about when is now.
///
/// The form comes back with the entry, in case the log has to refuse it.
///
/// # Errors
/// The form, with every fault found.
pub(crate) fn read_entry(mut form: Form, now: OffsetDateTime) -> Result<(Entry, Form), Form> {
    let when = When::take(&mut form, now);
    let back = |form: Form| form.with("at", when.by_hand.as_str()).with("ago", when.ago.as_str());
    let kept = back(form.clone());
    let read = form.written_at(now - when.waited).read(|body| entry_from(body.clone(), &when, now));
    read.map(|entry| (entry, kept)).map_err(back)
}

/// What a form says about when.
struct When {
    /// The steps chosen, as they were sent.
    ago: String,
    /// The time typed by hand; empty where there is none.
    by_hand: String,
    /// How long it waited on the phone.
    waited: Duration,
    /// How far the phone's clock runs ahead.
    clock_error: Duration,
}

impl When {
    /// Leaves in the form the one time that counts.
    fn take(form: &mut Form, now: OffsetDateTime) -> Self {
        let mut moment = |name| form.take(name).and_then(|ms| from_ms(ms.trim().parse().ok()?));
        let (sent_at, typed_at) = (moment("sent_at"), moment("typed_at"));
        let steps = form.take("ago");
        let (had_steps, ago) = (steps.is_some(), steps.unwrap_or_default());
        let at = form.value("at").trim().to_owned();
        // Only a phone writes a time like that: the moment of the tap.
        let tapped = OffsetDateTime::parse(&at, &Rfc3339).ok();
        if let Ok(back) = ago.trim().parse() {
            *form = form.clone().with("at", utc_ms(tapped.unwrap_or(now) - Duration::minutes(back)));
        } else if ago.is_empty() && had_steps && tapped.is_none() {
            form.take("at");
        }
        Self {
            ago,
            by_hand: if tapped.is_some() { String::new() } else { at },
            waited: sent_at.zip(typed_at).map_or(Duration::ZERO, |(sent, typed)| (sent - typed).max(Duration::ZERO)),
            // A time typed by hand was read from a clock on the wall.
            clock_error: sent_at
                .filter(|_| tapped.is_some())
                .map_or(Duration::ZERO, |sent_at| clock_error(sent_at, now)),
        }
    }
}

fn from_ms(ms: i64) -> Option<OffsetDateTime> {
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(ms) * 1_000_000).ok()
}

/// An entry from a form's body, with the phone's clock put right.
fn entry_from(mut body: Value, when: &When, now: OffsetDateTime) -> Result<Entry, Vec<Fault>> {
    if let Some(fields) = body.as_object_mut() {
        fields.entry("at").or_insert_with(|| json!(utc_ms(now)));
        fields.entry("id").or_insert_with(|| json!(Uuid::now_v7()));
    }
    Entry::from_body(&body, now, when.clock_error)
}
