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

/// By how much the phone's clock ran ahead when it sent a form.
pub(crate) fn phone_ahead(form: &Form, now: OffsetDateTime) -> Duration {
    let sent_at = form.value("sent_at").trim().parse().ok().and_then(from_ms);
    sent_at.map_or(Duration::ZERO, |sent_at| clock_error(sent_at, now))
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
        let ago = form.take("ago").unwrap_or_default();
        let at = form.value("at").trim().to_owned();
        // Only a phone writes a time like that: the moment of the tap.
        let tapped = OffsetDateTime::parse(&at, &Rfc3339).ok();
        if let Ok(back) = ago.trim().parse() {
            *form = form.clone().with("at", utc_ms(tapped.unwrap_or(now) - Duration::minutes(back)));
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

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;
    use time::macros::datetime;

    use super::*;
    use crate::web::Frame;
    use crate::web::page::Light;
    use crate::web::when::Clock;

    const NOW: OffsetDateTime = datetime!(2026-03-07 15:00 UTC);

    /// What is kept of a reading's time, and of the form where it comes back.
    fn read(at: &str, ago: Option<&str>, typed_s_ago: i64, phone_ahead_s: i64) -> (OffsetDateTime, Form) {
        let frame = Frame { clock: Clock::at(NOW, TimeZone::UTC), ..Frame::bare(Light::default()) };
        let phone_ms = |seconds: i64| ((NOW.unix_timestamp() + phone_ahead_s + seconds) * 1_000).to_string();
        let mut pairs = vec![
            ("kind", "temperature".to_owned()),
            ("place", "mash".to_owned()),
            ("temperature_c", "66".to_owned()),
            ("at", at.to_owned()),
            ("sent_at", phone_ms(0)),
            ("typed_at", phone_ms(-typed_s_ago)),
        ];
        pairs.extend(ago.map(|ago| ("ago", ago.to_owned())));
        let pairs = pairs.into_iter().map(|(name, text)| (name.to_owned(), text)).collect();
        let (entry, form) = read_entry(Form::typed(&frame, pairs), NOW).expect("an entry");
        (entry.at, form)
    }

    #[test]
    fn a_phone_counts_from_the_tap_whatever_its_clock_says() {
        for ahead in [0, 420, -3_000] {
            let tapped = utc_ms(NOW + Duration::seconds(ahead - 60));
            assert_eq!(read(&tapped, Some(""), 60, ahead).0, datetime!(2026-03-07 14:59 UTC), "{ahead} s ahead");
            assert_eq!(read(&tapped, Some("5"), 60, ahead).0, datetime!(2026-03-07 14:54 UTC), "{ahead} s ahead");
        }
    }

    #[test]
    fn without_a_script_the_steps_count_from_when_the_form_comes() {
        assert_eq!(read("", Some("3"), 0, 0).0, datetime!(2026-03-07 14:57 UTC));
        assert_eq!(read("", Some(""), 0, 0).0, NOW);
        assert_eq!(read("", None, 0, 0).0, NOW);
    }

    #[test]
    fn a_time_typed_by_hand_stands_and_is_of_the_day_it_was_typed_on() {
        // The clock on the wall is right, whatever the phone's says.
        assert_eq!(read("14:40", Some("exact"), 0, 420).0, datetime!(2026-03-07 14:40 UTC));
        assert_eq!(read("14:40", None, 0, 420).0, datetime!(2026-03-07 14:40 UTC));
        // It waited on the phone since yesterday noon.
        assert_eq!(read("11:30", Some("exact"), 27 * 3_600, 0).0, datetime!(2026-03-06 11:30 UTC));
        // So it does where no step was chosen; a step that was chosen says otherwise.
        assert_eq!(read("09:00", Some(""), 0, 0).0, datetime!(2026-03-07 09:00 UTC));
        assert_eq!(read("09:00", Some("1"), 0, 0).0, datetime!(2026-03-07 14:59 UTC));
    }

    #[test]
    fn a_form_that_comes_back_shows_what_was_chosen_and_no_stamp_of_a_phone() {
        let (_, form) = read("2026-03-07T14:59:00.000Z", Some("5"), 0, 0);
        assert_eq!((form.value("at"), form.value("ago")), ("", "5"));
        let (_, form) = read("14:40", Some("exact"), 0, 0);
        assert_eq!((form.value("at"), form.value("ago")), ("14:40", "exact"));
    }
}
