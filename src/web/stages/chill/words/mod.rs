//! The chill in a brewer's words: second person, numbers first, never a code.
//!
//! Every sentence is made of figures that [`chill_now`](crate::brewday::chill_now)
//! worked out; nothing is worked out here. [`verdict`] says whether the reading
//! is true yet, [`card`] what to do now, [`beside`] what is said once beside them.

mod beside;
mod card;
#[cfg(test)]
mod tests;
mod verdict;

use time::{Duration, OffsetDateTime};

use crate::brewday::chill_now::{BathReady, ChillNow};
use crate::brewday::choices::Cooling;
use crate::brewday::plausible::Dimension;
use crate::science::chilling::live::Source;
use crate::science::units::{Mass, Temperature, TimeSpan};
use crate::web::Frame;

pub(super) use card::CardTold;
pub(super) use verdict::VerdictTold;

/// Less than this is not worth a sentence.
const WORTH: TimeSpan = TimeSpan::from_seconds(30.0);
/// A saving beyond this says that the other way leads nowhere.
const FOR_EVER: TimeSpan = TimeSpan::from_seconds(3600.0);

/// A wort this near its target is there: what the hold allows for too.
const TOLERANCE_K: f64 = 0.5;

/// The words of one chill on one page.
pub(super) struct Words<'a> {
    pub(super) frame: &'a Frame,
    pub(super) now: &'a ChillNow,
    /// Where the batch's pages are: `/batches/14`.
    pub(super) batch: String,
    /// What coil and hoses hold, L.
    pub(super) hold_up_l: Option<f64>,
    /// The yeast's range, °C.
    pub(super) pitch_c: (f64, f64),
    /// Where the wort is to be, °C.
    pub(super) target_c: f64,
}

impl Words<'_> {
    fn degrees(&self, at: Temperature) -> String {
        self.frame.show(at.celsius(), Dimension::Temperature).to_string()
    }

    /// To a whole degree: what a forecast is worth.
    fn about(&self, at: Temperature) -> String {
        whole_degrees(self.frame, at)
    }

    /// Ice to get ready: to the next tenth, as a little less would not do.
    fn ice(&self, mass: Mass) -> String {
        self.frame.show((mass.kilograms() * 10.0).ceil() / 10.0, Dimension::Mass).to_string()
    }

    fn litres(&self, litres: f64) -> String {
        self.frame.show(litres, Dimension::Volume).to_string()
    }

    fn time(&self, at: OffsetDateTime) -> String {
        self.frame.clock.time(at).text
    }

    /// "at about 14:52, in 15 min": a forecast as the clock on the wall shows it too.
    fn at(&self, after: TimeSpan) -> String {
        let near = self.near(after);
        if near.starts_with("about ") { format!("at {near}") } else { near }
    }

    /// The same where no "at" fits: "about 14:52, in 15 min".
    fn near(&self, after: TimeSpan) -> String {
        let told = about_minutes(after);
        match told.strip_prefix("about ") {
            Some(span) => format!("about {}, in {span}", self.time_after(after)),
            None => format!("in {told}"),
        }
    }

    /// What the clock on the wall shows after so long.
    fn time_after(&self, after: TimeSpan) -> String {
        self.time(self.frame.clock.now + Duration::seconds_f64(after.seconds().clamp(0.0, 1e6)))
    }

    fn step(&self, kelvins: f64) -> String {
        step(self.frame, kelvins)
    }

    /// How the wort is cooled now.
    fn method(&self) -> Option<Cooling> {
        self.now.stage().map(|(stage, _)| stage.cooling.method)
    }

    fn is_in_bath(&self) -> bool {
        matches!(self.method(), Some(Cooling::StillBath | Cooling::IceBath))
    }

    /// Whether the wort was read at its target with the coil out of any water.
    fn is_out_at_target(&self) -> bool {
        let in_water = self.now.stage().is_some_and(|(stage, _)| stage.cooling.method != Cooling::Air);
        let reached = self.now.reading.is_some_and(|reading| reading.wort_c <= self.target_c + TOLERANCE_K);
        reached && !in_water
    }

    /// "bath 3", "bath 3, the one with ice".
    fn bath(&self, index: usize) -> String {
        self.now.ready.get(index).map_or_else(|| "the next bath".to_owned(), bath_told)
    }
}

/// "time to the target from 14 to 11 min": what a change in the book made of it.
pub(super) fn to_go_moved(before: Option<&ChillNow>, now: Option<&ChillNow>) -> Option<String> {
    let told = |now: Option<&ChillNow>| {
        let to_go = now?.outlook.as_ref().ok()?.to_go();
        Some(to_go.map_or_else(|| "out of reach".to_owned(), about_minutes))
    };
    match (told(before), told(now)?) {
        (Some(before), now) if before == now => None,
        (Some(before), now) => Some(format!("time to the target from {before} to {now}")),
        (None, now) => Some(format!("time to the target, not known before, is {now}")),
    }
}

fn bath_told(ready: &BathReady) -> String {
    let which = match ready.name.as_deref() {
        Some(name) if ready.is_refill => format!(" ({name}, filled anew)"),
        _ if ready.bath.ice_kg > 0.0 => ", the one with ice".to_owned(),
        _ => String::new(),
    };
    format!("bath {}{which}", ready.number)
}

fn basis(source: Source, is_bath: bool) -> &'static str {
    match source {
        Source::ThisStage if !is_bath => ", as the readings since tell",
        Source::ThisStage => ", as this bath’s readings tell",
        Source::EarlierStages => ", as today’s earlier baths tell",
        Source::Usual => ", as on other days",
    }
}

/// A difference to a tenth of a degree, without its sign.
pub(super) fn step(frame: &Frame, kelvins: f64) -> String {
    let scale = frame.degrees(1.0) - frame.degrees(0.0);
    format!("{:.1}\u{a0}{}", (kelvins * scale).abs(), frame.degree_unit())
}

/// A temperature without decimals, in the brewer's unit.
pub(super) fn whole_degrees(frame: &Frame, at: Temperature) -> String {
    // Nil added: never "−0".
    let whole = format!("{:.0}", frame.degrees(at.celsius()).round() + 0.0).replacen('-', "−", 1);
    format!("{whole}\u{a0}{}", frame.degree_unit())
}

fn seconds(span: TimeSpan) -> u32 {
    // Never negative, and a day is far below what fits.
    span.seconds().clamp(0.0, 1e9).round() as u32
}

/// `6:05`
pub(super) fn clock(span: TimeSpan) -> String {
    let seconds = seconds(span);
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

fn minutes(span: TimeSpan) -> String {
    format!("{:.0}\u{a0}min", span.minutes())
}

/// "about 4 min", "less than a minute", "about 2 h"
pub(super) fn about_minutes(span: TimeSpan) -> String {
    let whole = span.minutes().round().clamp(0.0, 1e6) as u32;
    match whole {
        _ if span.minutes() < 0.75 => "less than a minute".to_owned(),
        0..120 => format!("about {whole}\u{a0}min"),
        _ => format!("about {}\u{a0}h", (whole + 30) / 60),
    }
}

/// " (6 to 11 min)"; nothing where both ends are the same minute.
fn range((soonest, latest): (TimeSpan, Option<TimeSpan>)) -> String {
    match latest {
        Some(latest) if latest.minutes().round() > soonest.minutes().round() => {
            format!(" ({:.0} to {:.0}\u{a0}min)", soonest.minutes(), latest.minutes())
        }
        Some(_) => String::new(),
        None => format!(" ({:.0}\u{a0}min or more)", soonest.minutes()),
    }
}
