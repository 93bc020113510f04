//! The coil's hot flush and the pitch clearance.

use super::figures::{ChillVerdict, Clearance, ClearanceState, FlushFigures, FlushVerdict, PitchFigures, Summary};
use super::missing::{Figure, Missing};
use crate::brewday::BrewDay;
use crate::brewday::checklist::PITCH_ITEMS;
use crate::brewday::choices::{Outcome, Place};
use crate::brewday::plausible::Dimension;
use crate::brewday::said::{Part, Said};
use crate::science::sanitation::{self, Verdict};
use crate::science::units::{Temperature, TimeSpan};

/// Yeast and wort should not differ by more (common practice, no source).
const YEAST_STEP_K: f64 = 6.0;

pub(super) fn flush_figures(day: &BrewDay, missing: &mut Missing) -> FlushFigures {
    let flush = day.flush();
    let seconds = flush
        .and_then(|flush| flush.length())
        .filter(|length| !length.is_negative())
        .map(|length| length.as_seconds_f64())
        .ok_or_else(|| "Log the start and the end of the hot flush.".to_owned());
    let temperature_c = flush
        .and_then(|flush| flush.temperature_c)
        .ok_or_else(|| "Log the hot flush's temperature at the outlet.".to_owned());
    let on_clean_coil = coil_was_clean(day);
    let (mut verdict, mut meets_stricter_rule) = (FlushVerdict::NotRecorded, None);
    if let (Ok(seconds), Ok(celsius)) = (&seconds, &temperature_c) {
        let (coldest, lasts) = (Temperature::from_celsius(*celsius), TimeSpan::from_seconds(*seconds));
        verdict = match sanitation::verdict(coldest, lasts) {
            Verdict::LongEnough => FlushVerdict::LongEnough,
            Verdict::TooShort => FlushVerdict::TooShort,
            Verdict::TooCool => FlushVerdict::TooCool,
        };
        meets_stricter_rule = Some(sanitation::meets_dairy_rule(coldest, lasts));
    }
    let stricter = meets_stricter_rule.ok_or_else(|| "Log the hot flush with its temperature.".to_owned());
    FlushFigures {
        seconds: missing.keep("flush.seconds", seconds),
        temperature_c: missing.keep("flush.temperature_c", temperature_c),
        verdict,
        on_clean_coil: missing.keep("flush.on_clean_coil", on_clean_coil),
        meets_stricter_rule: missing.keep("flush.meets_stricter_rule", stricter),
    }
}

/// Whether the coil was recorded as clean when hot wort first ran through it.
fn coil_was_clean(day: &BrewDay) -> Figure<bool> {
    let coil = day.batch.chiller().ok_or("This batch has no coil or plate chiller among its equipment.")?;
    let started = day.flush().and_then(|flush| flush.started.or(flush.finished));
    Ok(day.care(coil, Some(started.ok_or("Log the hot flush.")?)).is_clean())
}

pub(super) fn pitch_figures(day: &BrewDay, summary: &Summary, missing: &mut Missing) -> PitchFigures {
    let pitched = day.pitched();
    let not_yet = || "Log the pitch.".to_owned();
    let [wort_c, yeast_c] = wort_and_yeast_c(day);
    PitchFigures {
        at: missing.keep("pitch.at", pitched.map(|(at, _)| at).ok_or_else(not_yet)),
        wort_c: missing.keep("pitch.wort_c", wort_c.ok_or_else(|| "Log the wort's temperature.".to_owned())),
        yeast_c: missing.keep("pitch.yeast_c", yeast_c.ok_or_else(|| "Log the yeast's temperature.".to_owned())),
        clearance: clearance_of(day, summary, [wort_c, yeast_c]),
    }
}

/// The pitch clearance of a day, its figures still to be spoken: as kept with
/// the summary they are words in SI.
#[must_use]
pub fn clearance(day: &BrewDay, summary: &Summary) -> Vec<Clearance> {
    clearance_of(day, summary, wort_and_yeast_c(day))
}

fn clearance_of(day: &BrewDay, summary: &Summary, [wort_c, yeast_c]: [Option<f64>; 2]) -> Vec<Clearance> {
    let mut clearance = vec![settled_in_range(day, summary, wort_c), hot_flush(summary)];
    clearance.extend(PITCH_ITEMS.iter().map(|(key, what)| on_the_list(day, key, what)));
    clearance.push(yeast_near_wort(yeast_c, wort_c));
    clearance.push(enough_cells(day, summary));
    clearance.push(gravity_recorded(summary));
    clearance
}

/// How warm wort and yeast were at the pitch, else as last read.
fn wort_and_yeast_c(day: &BrewDay) -> [Option<f64>; 2] {
    let pitched = day.pitched();
    let noted = |shown_c: Option<f64>| shown_c.map(|shown_c| day.true_c(shown_c));
    let wort_c = pitched.and_then(|(_, pitched)| noted(pitched.wort_c)).or_else(|| latest(day, Place::Wort));
    let yeast_c = pitched.and_then(|(_, pitched)| noted(pitched.yeast_c)).or_else(|| latest(day, Place::Yeast));
    [wort_c, yeast_c]
}

fn latest(day: &BrewDay, place: Place) -> Option<f64> {
    day.temperatures(place).next_back().map(|reading| reading.temperature_c)
}

fn line(what: impl Into<Said>, state: ClearanceState, why: impl Into<Said>) -> Clearance {
    Clearance { what: what.into(), state, why: why.into() }
}

fn temperature(celsius: f64) -> Part {
    Part::Figure(celsius, Dimension::Temperature)
}

/// Done where it holds, missing where it does not, with the same reason for both.
fn judged(what: impl Into<Said>, holds: bool, why: impl Into<Said>) -> Clearance {
    line(what, if holds { ClearanceState::Done } else { ClearanceState::Missing }, why)
}

fn settled_in_range(day: &BrewDay, summary: &Summary, wort_c: Option<f64>) -> Clearance {
    const WHAT: &str = "Wort settled in the yeast's range";
    let (low, high) = (day.batch.recipe.pitch_low_c, day.batch.recipe.pitch_high_c);
    let Some(wort_c) = wort_c else {
        return line(WHAT, ClearanceState::NotKnown, "No wort temperature was logged.");
    };
    let in_range = (low..=high).contains(&wort_c);
    let range = Said::of([
        temperature(wort_c),
        Part::words(", range "),
        temperature(low),
        Part::words(" to "),
        temperature(high),
    ]);
    match summary.chill.verdict {
        ChillVerdict::NotStarted => line(WHAT, ClearanceState::NotKnown, range.and("; the chill was not logged")),
        ChillVerdict::Settled => judged(WHAT, in_range, range),
        ChillVerdict::Moving | ChillVerdict::Holding => {
            line(WHAT, ClearanceState::Missing, range.and("; not settled for a full pass"))
        }
    }
}

fn hot_flush(summary: &Summary) -> Clearance {
    const WHAT: &str = "Coil flushed hot, long enough";
    let flush = &summary.flush;
    let (seconds, celsius) = (flush.seconds.unwrap_or_default(), flush.temperature_c.unwrap_or_default());
    let figures = Said::of([Part::words(format!("{seconds:.0} s at ")), temperature(celsius)]);
    match (flush.verdict, flush.on_clean_coil) {
        (FlushVerdict::NotRecorded, _) => line(WHAT, ClearanceState::NotKnown, "The hot flush was not recorded."),
        (FlushVerdict::LongEnough, Some(true)) => line(WHAT, ClearanceState::Done, figures),
        (FlushVerdict::LongEnough, _) => {
            line(WHAT, ClearanceState::NotKnown, figures.and(", but the coil was not recorded as clean"))
        }
        (FlushVerdict::TooShort | FlushVerdict::TooCool, _) => line(WHAT, ClearanceState::Missing, figures),
    }
}

fn on_the_list(day: &BrewDay, key: &str, what: &str) -> Clearance {
    let what = format!("{what} sanitised");
    let Some(check) = day.check(key) else {
        return line(what, ClearanceState::NotKnown, "Not ticked on the list.");
    };
    match check.outcome {
        Outcome::Done => line(what, ClearanceState::Done, "Ticked on the list."),
        Outcome::Skipped => {
            let why = check.why.map_or(String::new(), |why| format!(": {why}"));
            line(what, ClearanceState::Missing, format!("Skipped{why}"))
        }
    }
}

fn yeast_near_wort(yeast_c: Option<f64>, wort_c: Option<f64>) -> Clearance {
    let step = Part::Figure(YEAST_STEP_K, Dimension::TemperatureDifference);
    let what = Said::of([Part::words("Yeast within "), step, Part::words(" of the wort")]);
    match (yeast_c, wort_c) {
        (Some(yeast_c), Some(wort_c)) => judged(
            what,
            (yeast_c - wort_c).abs() <= YEAST_STEP_K,
            Said::of([Part::words("yeast "), temperature(yeast_c), Part::words(", wort "), temperature(wort_c)]),
        ),
        _ => line(what, ClearanceState::NotKnown, "Log the yeast's temperature and the wort's."),
    }
}

fn enough_cells(day: &BrewDay, summary: &Summary) -> Clearance {
    const WHAT: &str = "Cells against need";
    let planned = day.batch.recipe.yeast.as_ref().and_then(|yeast| yeast.cells_billion);
    let scale = day.batch.volume_l / day.batch.recipe.volume_l;
    let cells = summary.yeast.cells_pitched_billion.or(planned.map(|cells| cells * scale));
    match (cells, summary.yeast.cells_needed_billion) {
        (Some(cells), Some(needed)) => judged(WHAT, cells >= needed, format!("{cells:.0} of {needed:.0} billion")),
        _ => line(WHAT, ClearanceState::NotKnown, "The need or the yeast's cells are not known."),
    }
}

fn gravity_recorded(summary: &Summary) -> Clearance {
    const WHAT: &str = "Gravity recorded";
    match summary.gravity.original_sg {
        Some(sg) => line(WHAT, ClearanceState::Done, Said::of([Part::Figure(sg, Dimension::Gravity)])),
        None => line(WHAT, ClearanceState::Missing, "No gravity was logged after the boil."),
    }
}
