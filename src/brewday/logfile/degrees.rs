//! What a cell says of a temperature.

use super::Degrees;
use crate::science::units::Temperature;

/// Digits kept of a temperature on another scale: far finer than any thermometer.
const STEPS_PER_DEGREE: f64 = 1e4;

/// A number and, where the cell names it, its scale.
pub(super) fn read(cell: &str) -> Option<(f64, Option<Degrees>)> {
    let cell = cell.trim().trim_end_matches('.').trim();
    let end = cell.rfind(|letter: char| letter.is_ascii_digit())? + 1;
    let (figures, unit) = cell.split_at(end);
    let scale = match unit.trim() {
        "" | "°" | "º" | "deg" => None,
        unit => Some(scale(unit)?),
    };
    Some((number(figures)?, scale))
}

/// The scale a word stands for: `°F`, `degC`, `Kelvin`.
pub(super) fn scale(word: &str) -> Option<Degrees> {
    let word = word.trim().to_lowercase();
    let bare = word.trim_start_matches(['°', 'º', '˚', ' ']);
    let bare = bare.strip_prefix("degrees").or_else(|| bare.strip_prefix("deg")).unwrap_or(bare);
    match bare.trim_start_matches(['.', ' ', '_']) {
        "c" | "celsius" | "centigrade" | "℃" => Some(Degrees::Celsius),
        "f" | "fahrenheit" | "℉" => Some(Degrees::Fahrenheit),
        "k" | "kelvin" => Some(Degrees::Kelvin),
        _ => None,
    }
}

/// On the scale the record keeps.
pub(super) fn celsius(value: f64, degrees: Degrees) -> f64 {
    let celsius = match degrees {
        Degrees::Celsius => return value,
        Degrees::Fahrenheit => Temperature::from_fahrenheit(value).celsius(),
        Degrees::Kelvin => Temperature::from_kelvins(value).celsius(),
    };
    (celsius * STEPS_PER_DEGREE).round() / STEPS_PER_DEGREE
}

/// A number with a decimal point or a decimal comma, and either minus sign.
pub(super) fn number(text: &str) -> Option<f64> {
    let text: String = text
        .trim()
        .replace('−', "-")
        .chars()
        .filter(|letter| !matches!(letter, ' ' | '\u{a0}' | '\u{202f}' | '\''))
        .collect();
    let is_figure = |letter: char| letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-' | '+' | 'e' | 'E');
    if text.is_empty() || !text.chars().all(is_figure) {
        return None;
    }
    // Of both marks the last is the decimal one; the other groups thousands.
    let plain = match (text.rfind('.'), text.rfind(',')) {
        (Some(point), Some(comma)) if comma > point => text.replace('.', "").replace(',', "."),
        (Some(_), Some(_)) => text.replace(',', ""),
        (None, Some(_)) => text.replace(',', "."),
        _ => text,
    };
    plain.parse::<f64>().ok().filter(|value| value.is_finite())
}
