//! Tables for other programs: what a brewer typed is shown there, never run.

/// A text that a spreadsheet shows as it is and does not run as a formula: one
/// that begins like a formula gets an apostrophe in front [OWASP, CSV injection].
/// A plain number, also one below nought, stays the number it is.
///
/// ```
/// use gylebook::brewday::spreadsheet::harmless;
/// assert_eq!(harmless("=1+1"), "'=1+1");
/// assert_eq!(harmless("-0.25"), "-0.25");
/// assert_eq!(harmless("Pale, the second"), "Pale, the second");
/// ```
#[must_use]
pub fn harmless(text: &str) -> String {
    // Wide signs too: a spreadsheet set to an East Asian language takes them for the narrow ones.
    let begins = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    if begins && !is_number(text) { format!("'{text}") } else { text.to_owned() }
}

/// Digits with a sign and a point: nothing that could be a name or a call.
fn is_number(text: &str) -> bool {
    let plain = |letter: char| letter.is_ascii_digit() || matches!(letter, '+' | '-' | '.' | 'e' | 'E');
    text.chars().all(plain) && text.parse::<f64>().is_ok_and(f64::is_finite)
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn what_begins_like_a_formula_is_made_a_text() {
        for text in [
            "=HYPERLINK(\"x\")",
            "+1+cmd|' /C calc'!A0",
            "-2+3",
            "@SUM(A1)",
            "\t=1",
            "\r=1",
            "\n=1",
            "＝1",
            "-",
            "+a",
            "-e",
            "--1",
        ] {
            assert_eq!(harmless(text), format!("'{text}"));
        }
    }

    #[test]
    fn numbers_and_other_words_are_left_as_they_are() {
        for text in ["-1", "-0.1", "+3", "1.048", "-1.5e-7", "", "Pale", "'=1", " =1", "a=b", "−3"] {
            assert_eq!(harmless(text), text);
        }
    }
}
