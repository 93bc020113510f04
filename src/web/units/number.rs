//! Numbers as people type them.

/// Reads a number without a unit: decimal point or comma, thousands in groups
/// of three, either minus sign. Nothing where it is no such number.
///
/// One comma is a decimal comma, as on a phone's keypad; two and more, or one
/// before a point, part thousands.
pub(super) fn read(text: &str) -> Option<f64> {
    let text = text.trim();
    let (negative, digits) = match text.strip_prefix(['-', '−', '–']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let (whole, decimals) = split_decimals(digits)?;
    let whole = without_groups(whole)?;
    let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !(all_digits(&whole) && all_digits(decimals)) || (whole.is_empty() && decimals.is_empty()) {
        return None;
    }
    let size: f64 = format!("0{whole}.{decimals}0").parse().ok()?;
    (size.is_finite()).then_some(if negative { -size } else { size })
}

/// The part before and after the decimal mark.
fn split_decimals(digits: &str) -> Option<(&str, &str)> {
    let (points, commas) = (digits.matches('.').count(), digits.matches(',').count());
    let mark = match (points, commas) {
        (0, 0) => return Some((digits, "")),
        (1, 0) => '.',
        (0, 1) => ',',
        // Only thousands can be parted more than once.
        (2.., 0) | (0, 2..) => return Some((digits, "")),
        _ if digits.rfind('.') > digits.rfind(',') => '.',
        _ => ',',
    };
    let (whole, decimals) = digits.rsplit_once(mark)?;
    (!whole.contains(mark)).then_some((whole, decimals))
}

/// The digits of a whole number whose thousands may be parted.
fn without_groups(whole: &str) -> Option<String> {
    let mut groups = whole.split([' ', '\u{a0}', '\u{202f}', '\u{2009}', '\'', '’', '.', ',']);
    let first = groups.next().unwrap_or_default().to_owned();
    let rest: Vec<&str> = groups.collect();
    let grouped = rest.is_empty() || (1..=3).contains(&first.len());
    (grouped && rest.iter().all(|group| group.len() == 3)).then(|| first + &rest.concat())
}
