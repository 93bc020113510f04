//! From what is kept to what a page shows.

use std::fmt;

use super::{Dimension, Scale, chosen, read, scale::Decimals};
use crate::brewday::said::{Part, Said};
use crate::brewday::{Units, plausible::Range};

/// A figure as a page shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The number: "43.6", "−2.0", "12 000".
    pub text: String,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
}

impl fmt::Display for Shown {
    /// Number and unit on one line, whatever the width.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.unit.is_empty() { f.write_str(&self.text) } else { write!(f, "{}\u{a0}{}", self.text, self.unit) }
    }
}

/// A kept value in the brewer's own unit, with as many decimals as it is worth.
#[must_use]
pub fn show(kept: f64, dimension: Dimension, units: &Units) -> Shown {
    let scale = chosen(dimension, units);
    Shown { text: in_words(kept, scale), unit: scale.symbol }
}

/// From two hours on, a time is told in hours and minutes.
const HOURS_FROM_MIN: f64 = 120.0;

/// A computed value in the brewer's own unit. One without a unit of its own
/// (cells, W/K, MJ) gets three significant figures: no sum over a brew day is worth more.
#[must_use]
pub fn show_computed(kept: f64, dimension: Dimension, units: &Units) -> Shown {
    if dimension == Dimension::Minutes && kept >= HOURS_FROM_MIN {
        let minutes = kept.round();
        return Shown { text: format!("{}\u{a0}h {}", (minutes / 60.0).floor(), minutes % 60.0), unit: "min" };
    }
    if dimension != Dimension::Plain || kept == 0.0 {
        return show(kept, dimension, units);
    }
    let power = kept.abs().log10().floor();
    let decimals = (2.0 - power).clamp(0.0, 6.0) as usize;
    Shown { text: with_groups(&with_minus(format!("{kept:.decimals$}"))), unit: "" }
}

/// A kept value as a number on the scale it is shown on, for the axis of a picture.
#[must_use]
pub fn on_scale(kept: f64, dimension: Dimension, units: &Units) -> f64 {
    (chosen(dimension, units).from_kept)(kept)
}

/// A computed value as far as it can be trusted, and its standard error, both in
/// the brewer's own unit and to the same decimal: 1.0820 SG and 0.0006. An error
/// of nought says nothing, and the value is shown as without one.
///
/// How many digits: the rounding rule of the Review of Particle Physics
/// (Introduction, 5.3; from memory). An error of 100 to 354 in its first three
/// digits keeps two of them, one of 355 to 949 keeps one.
#[must_use]
pub fn show_measured(kept: f64, se: f64, dimension: Dimension, units: &Units) -> (Shown, Option<String>) {
    let scale = chosen(dimension, units);
    let width = ((scale.from_kept)(kept + se) - (scale.from_kept)(kept - se)).abs() / 2.0;
    if !(width > 0.0 && width.is_finite()) {
        return (show_computed(kept, dimension, units), None);
    }
    if dimension == Dimension::Minutes && kept >= HOURS_FROM_MIN {
        return (show_computed(kept, dimension, units), Some(format!("{width:.0}")));
    }
    let power = width.log10().floor();
    let digits = if width / 10_f64.powf(power) < 3.55 { 2.0 } else { 1.0 };
    let decimals = (digits - 1.0 - power).clamp(0.0, 6.0) as usize;
    let value = (scale.from_kept)(kept);
    let text = with_groups(&with_minus(format!("{value:.decimals$}")));
    (Shown { text, unit: scale.symbol }, Some(format!("{width:.decimals$}")))
}

/// How near a field's text has to come to the kept value: a millionth is below
/// what any instrument of a brew house shows, and keeps the text short.
const NEAR_ENOUGH: f64 = 1e-6;

/// What a field is filled with: the shortest text that reads back as the kept value.
#[must_use]
pub fn as_typed(kept: f64, dimension: Dimension, units: &Units) -> String {
    let scale = chosen(dimension, units);
    let value = (scale.from_kept)(kept);
    let reads_back = |text: &String| {
        read(text, dimension, units).is_ok_and(|reading| (reading.kept - kept).abs() <= NEAR_ENOUGH * kept.abs())
    };
    let bare = (0..=9).map(|decimals| format!("{value:.decimals$}"));
    // 1.031 °P alone could be an SG: it stands with its unit.
    let with_unit = (0..=9).map(|decimals| format!("{value:.decimals$} {}", scale.symbol));
    bare.chain(with_unit).find(reads_back).unwrap_or_else(|| value.to_string())
}

/// A temperature that a rule or a name is about, without idle decimals: "80 °C", "170.6 °F".
#[must_use]
pub fn mark(celsius: f64, units: &Units) -> Shown {
    let Shown { text, unit } = show(celsius, Dimension::Temperature, units);
    Shown { text: trimmed(text), unit }
}

/// A sentence of the record with its figures in the brewer's own units.
#[must_use]
pub fn speak(said: &Said, units: &Units) -> String {
    let spoken = said.parts().iter().map(|part| match part {
        Part::Words(words) => words.clone(),
        Part::Figure(value, dimension) => show(*value, *dimension, units).to_string(),
    });
    spoken.collect()
}

/// The sentence for a value outside what is plausible.
#[must_use]
pub fn outside(range: &Range, value: f64, units: &Units) -> String {
    let bound = |bound: f64| trimmed(show(bound, range.dimension, units).text);
    let unit = match chosen(range.dimension, units).symbol {
        "" => String::new(),
        symbol => format!("\u{a0}{symbol}"),
    };
    let value = as_typed(value, range.dimension, units).replacen('-', "−", 1);
    let (least, most) = (bound(range.min), bound(range.max));
    // A volume has to be something, however little.
    let span = if range.min > 0.0 && least == "0" {
        format!("more than 0, up to {most}")
    } else {
        format!("{least} to {most}")
    };
    format!("{value}{unit} is outside what {} can be: {span}{unit}.", range.what)
}

fn in_words(kept: f64, scale: &Scale) -> String {
    let value = (scale.from_kept)(kept);
    let text = match scale.decimals {
        Decimals::Fixed(decimals) => format!("{value:.decimals$}"),
        Decimals::Below10(decimals) => {
            let fewer = [10.0, 100.0, 1000.0].into_iter().filter(|step| value.abs() >= *step).count();
            format!("{value:.*}", decimals.saturating_sub(fewer))
        }
        Decimals::UpTo(decimals) => trimmed(format!("{value:.decimals$}")),
    };
    with_groups(&with_minus(text))
}

/// A true minus sign, and none before a zero.
fn with_minus(text: String) -> String {
    match text.strip_prefix('-') {
        Some(size) if size.bytes().all(|byte| matches!(byte, b'0' | b'.')) => size.to_owned(),
        Some(size) => format!("−{size}"),
        None => text,
    }
}

/// Without zeros at the end of its decimals.
fn trimmed(text: String) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Thousands parted from five digits on: 12 000, but 1048.
fn with_groups(text: &str) -> String {
    let (whole, decimals) = text.split_once('.').map_or((text, None), |(whole, decimals)| (whole, Some(decimals)));
    let sign = if whole.starts_with('−') { "−" } else { "" };
    let digits = whole.trim_start_matches('−');
    let mut grouped = String::from(sign);
    for (place, digit) in digits.char_indices() {
        if place > 0 && digits.len() > 4 && (digits.len() - place).is_multiple_of(3) {
            grouped.push('\u{202f}');
        }
        grouped.push(digit);
    }
    decimals.map_or(grouped.clone(), |decimals| format!("{grouped}.{decimals}"))
}
