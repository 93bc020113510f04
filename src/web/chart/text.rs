//! How much room words take, and how numbers are written.

/// Type size of everything written in a chart. `chart.css` makes it smaller
/// where the drawing is shown wider than a phone, never larger.
pub(super) const SIZE: f64 = 15.0;
/// Height of a capital or a digit above the baseline.
pub(super) const RISE: f64 = SIZE * 0.74;
/// Depth of a tail below the baseline.
pub(super) const FALL: f64 = SIZE * 0.24;

/// From the baseline up to the middle of a digit, in ems.
pub(super) const MIDDLE: f64 = 0.34;
/// From one line to the next of the same words, in ems.
pub(super) const LINE: f64 = 1.13;

/// The width words take, erring to the wide side.
///
/// The server can't ask the reader's browser, so this goes by the advance
/// widths of Atkinson Hyperlegible Next at weight 600, read from the font, in
/// groups rounded up.
pub(super) fn width(words: &str) -> f64 {
    words.chars().map(advance).sum::<f64>() * SIZE
}

/// One character's advance in ems.
fn advance(character: char) -> f64 {
    match character {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | 'i' | 'j' | '’' | '·' | '!' | 'l' => 0.31,
        '-' | 'r' | 't' | 'f' | '(' | ')' | '[' | ']' | '"' | '°' | '/' | 'I' => 0.42,
        'z' | 'c' | 's' | 'y' | 'v' | 'x' | '–' => 0.54,
        '0'..='9' | 'a' | 'e' | 'h' | 'n' | 'u' | 'o' | 'k' | 'g' | 'b' | 'd' | 'p' | 'q' => 0.62,
        'A'..='F' | 'H' | 'J'..='L' | 'P' | 'R'..='V' | 'X'..='Z' => 0.70,
        '\u{2e80}'.. => 1.1,
        _ => 0.95,
    }
}

/// The words, cut with an ellipsis where they would be wider than `room`.
pub(super) fn cut(words: &str, room: f64) -> String {
    if width(words) <= room {
        return words.to_owned();
    }
    let mut left = room - width("…");
    let kept: String = words
        .chars()
        .take_while(|c| {
            left -= advance(*c) * SIZE;
            left >= 0.0
        })
        .collect();
    format!("{}…", kept.trim_end())
}

/// The words on one line, or on two where they are wider than `room`: broken at
/// the last space that fits, the second line cut.
pub(super) fn wrapped(words: &str, room: f64) -> Vec<String> {
    let mut breaks = words.rmatch_indices(' ').map(|(at, _)| words.split_at(at));
    match breaks.find(|(first, _)| width(first) <= room) {
        Some((first, rest)) if width(words) > room => vec![first.to_owned(), cut(rest.trim_start(), room)],
        _ => vec![cut(words, room)],
    }
}

/// A number with this many decimals and a true minus sign.
pub(super) fn number(value: f64, decimals: usize) -> String {
    let written = format!("{value:.decimals$}");
    match written.strip_prefix('-') {
        // "-0.0" is no number a reader knows.
        Some(size) if size.chars().all(|c| matches!(c, '0' | '.')) => size.to_owned(),
        Some(size) => format!("−{size}"),
        None => written,
    }
}

/// A number with one decimal, or none where that would be a nought: 19, 19.5.
pub(super) fn short(value: f64) -> String {
    let written = number(value, 1);
    written.strip_suffix(".0").map_or(written.clone(), str::to_owned)
}

/// A time of day, from minutes since midnight: 873 → 14:33, and 1 500 → 01:00.
pub(super) fn clock(minutes: f64) -> String {
    let minute = (minutes.round() as i64).rem_euclid(24 * 60);
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

/// "1 reading", "2 readings".
pub(super) fn count(how_many: usize, what: &str) -> String {
    format!("{how_many} {what}{}", if how_many == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_a_person_writes_them() {
        assert_eq!([number(-2.04, 1), number(-0.04, 1), number(19.0, 1)], ["−2.0", "0.0", "19.0"]);
        assert_eq!([short(19.0), short(19.46), short(-3.0)], ["19", "19.5", "−3"]);
    }

    #[test]
    fn the_clock_runs_past_midnight() {
        assert_eq!([clock(873.4), clock(1_500.0), clock(-30.0)], ["14:33", "01:00", "23:30"]);
    }

    #[test]
    fn cut_words_fit_and_say_that_they_were_cut() {
        let cut = cut("Lantern Row Pale, the third", 80.0);
        assert!(cut.ends_with('…') && width(&cut) <= 80.0, "{cut}");
        assert_eq!(super::cut("Pale", 80.0), "Pale");
    }

    #[test]
    fn long_words_go_on_two_lines() {
        assert_eq!(wrapped("14 Lantern Row Pale", 92.0), ["14 Lantern", "Row Pale"]);
        assert_eq!(wrapped("14", 92.0), ["14"]);
        assert_eq!(wrapped("Hopfenlagerbierversuch", 92.0).len(), 1);
    }
}
