//! From what was typed to what is kept.

use super::{Dimension, Scale, chosen, number, scales};
use crate::brewday::Units;

/// A number understood.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// What is kept, in the dimension's own unit.
    pub kept: f64,
    /// The scale it was read on.
    pub scale: &'static Scale,
    /// Whether the unit was typed, not taken from the settings.
    pub unit_typed: bool,
}

/// Reads a number of a dimension, in the brewer's unit or the one typed after it.
///
/// # Errors
/// A sentence for the page that says what to type.
pub fn read(text: &str, dimension: Dimension, units: &Units) -> Result<Reading, String> {
    let text = text.trim();
    let usual = chosen(dimension, units);
    let parts = parts(text);
    match parts.as_slice() {
        [(digits, "")] => bare(text, digits, dimension, usual),
        // "SG 1.048" says the same as "1.048 SG".
        [(digits, unit)] | [("", unit), (digits, "")] => {
            let value = number::read(digits).ok_or_else(|| no_number(text, dimension, usual))?;
            let scale = scale_of(unit, dimension).ok_or_else(|| no_unit(unit, dimension))?;
            Ok(Reading { kept: (scale.to_kept)(value), scale, unit_typed: true })
        }
        [] => Err(no_number(text, dimension, usual)),
        several => compound(several, dimension).ok_or_else(|| no_number(text, dimension, usual)),
    }
}

/// A number alone is on the brewer's scale, unless it can't be.
fn bare(text: &str, digits: &str, dimension: Dimension, usual: &'static Scale) -> Result<Reading, String> {
    if dimension == Dimension::Minutes && digits.contains(':') {
        return clock(digits, usual).ok_or_else(|| no_number(text, dimension, usual))?;
    }
    let value = number::read(digits).ok_or_else(|| no_number(text, dimension, usual))?;
    if dimension == Dimension::Gravity {
        return gravity(text, value, usual);
    }
    Ok(Reading { kept: (usual.to_kept)(value), scale: usual, unit_typed: false })
}

/// Gravities are spoken in three ways without a unit: 1.048, 1048 and 12.
///
/// 1048 can only be one thing. 12 on the SG scale, or 1.048 on the Plato scale,
/// may be a slip of the scale, and the wrong one would be believed: it is asked.
fn gravity(text: &str, value: f64, usual: &'static Scale) -> Result<Reading, String> {
    let [sg, plato] = scales(Dimension::Gravity) else { return Err(String::new()) };
    let three_decimals = text.rsplit_once(['.', ',']).is_some_and(|(_, decimals)| decimals.len() >= 3);
    if (980.0..=1200.0).contains(&value) {
        return Ok(Reading { kept: value / 1000.0, scale: sg, unit_typed: false });
    }
    if usual.symbol == sg.symbol {
        // No wort is this dense: the number was meant on the other scale, or as points.
        return if (-5.0..=1.3).contains(&value) {
            Ok(Reading { kept: value, scale: sg, unit_typed: false })
        } else {
            Err(format!("{text} is no specific gravity. Type it like 1.048, or with its unit: 12 P."))
        };
    }
    if three_decimals && (0.98..=1.2).contains(&value) {
        return Err(format!("{text} could be SG or °P. Type its unit after it: {text} SG, or {text} P."));
    }
    Ok(Reading { kept: (plato.to_kept)(value), scale: plato, unit_typed: false })
}

/// `1:30:00` is a time span; `1:30` could be two and is asked about.
fn clock(digits: &str, minutes: &'static Scale) -> Option<Result<Reading, String>> {
    let parts: Vec<u32> = digits
        .split(':')
        .map(|part| part.trim().parse().ok().filter(|_| !part.contains('+')))
        .collect::<Option<_>>()?;
    match parts[..] {
        [hours, min, s] if min < 60 && s < 60 => {
            let kept = f64::from(hours) * 60.0 + f64::from(min) + f64::from(s) / 60.0;
            Some(Ok(Reading { kept, scale: minutes, unit_typed: true }))
        }
        [large, small] if small < 60 => {
            let as_hours = f64::from(large) * 60.0 + f64::from(small);
            let as_minutes = f64::from(large) + (f64::from(small) / 60.0 * 100.0).round() / 100.0;
            Some(Err(format!("{digits} could be {as_hours} min or {as_minutes} min. Type the one you mean.")))
        }
        _ => None,
    }
}

/// `10 lb 4 oz`, `1 h 30 min`, `1h30`: each part in a smaller unit than the last.
fn compound(parts: &[(&str, &str)], dimension: Dimension) -> Option<Reading> {
    let mut kept = 0.0;
    let mut scale = None::<&'static Scale>;
    for (digits, unit) in parts {
        let next = match (*unit, dimension) {
            ("", Dimension::Minutes) if scale.is_some_and(|last| last.symbol == "h") => scale_of("min", dimension)?,
            (unit, _) => scale_of(unit, dimension)?,
        };
        let adds_up =
            matches!(dimension, Dimension::Mass | Dimension::SmallMass | Dimension::Volume | Dimension::Minutes);
        let smaller = scale.is_none_or(|last| (next.to_kept)(1.0) < (last.to_kept)(1.0));
        let value = number::read(digits).filter(|value| *value >= 0.0)?;
        if !(adds_up && smaller) {
            return None;
        }
        kept += (next.to_kept)(value);
        scale = Some(next);
    }
    Some(Reading { kept, scale: scale?, unit_typed: true })
}

/// Cuts a text into numbers, each with what stands after it.
fn parts(text: &str) -> Vec<(&str, &str)> {
    let mut parts = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let after_number = rest.find(|c: char| !is_of_a_number(c)).unwrap_or(rest.len());
        let (digits, tail) = rest.split_at(after_number);
        let after_unit = tail.find(|c: char| c.is_ascii_digit()).unwrap_or(tail.len());
        let (unit, tail) = tail.split_at(after_unit);
        parts.push((digits.trim(), unit.trim()));
        rest = tail;
    }
    parts
}

fn is_of_a_number(c: char) -> bool {
    c.is_ascii_digit() || c.is_whitespace() || matches!(c, '.' | ',' | '-' | '−' | '–' | '+' | ':' | '’')
}

fn scale_of(unit: &str, dimension: Dimension) -> Option<&'static Scale> {
    let plain: String = unit.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
    let plain = plain.trim_end_matches('.');
    scales(dimension).iter().find(|scale| scale.spellings.contains(&plain))
}

fn no_number(text: &str, dimension: Dimension, usual: &Scale) -> String {
    let example = example(dimension, usual);
    if text.is_empty() {
        format!("A number is needed here, like {example}.")
    } else {
        format!("“{text}” is no number that can be read here. Type it like {example}.")
    }
}

fn no_unit(unit: &str, dimension: Dimension) -> String {
    let units: Vec<&str> =
        scales(dimension).iter().map(|scale| scale.symbol).filter(|symbol| !symbol.is_empty()).collect();
    match units.as_slice() {
        [] => format!("“{unit}” can't be read here. Type the number alone."),
        [one] => format!("“{unit}” can't be read here. Type {one} after the number, or the number alone."),
        [most @ .., last] => {
            let most = most.join(", ");
            format!("“{unit}” can't be read here. Type {most} or {last} after the number, or the number alone.")
        }
    }
}

fn example(dimension: Dimension, usual: &Scale) -> &'static str {
    match (dimension, usual.symbol) {
        (Dimension::Temperature, "°F") => "152.5",
        (Dimension::Temperature, _) => "67.5",
        (Dimension::Gravity, "SG") => "1.048",
        (Dimension::Gravity | Dimension::Brix, _) => "12.5",
        (Dimension::Minutes, _) => "60",
        (Dimension::Height, _) => "250",
        _ => "4.5",
    }
}
