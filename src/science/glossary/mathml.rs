//! Formulas as one writes them on a line, turned into MathML for a page.
//!
//! The notation is that of the doc comments, so a formula reads the same in the
//! code, in print and to a screen reader: `V_post = V_pre − q t`,
//! `(a + b)/c` is a fraction, `x^2` a power, `m_w` a subscript, a space
//! multiplies, `h(t)` without one is a function, `"…"` is plain words. Rendering
//! never fails; what it does not know it shows as it stands.

/// A formula as a block of presentation MathML, with the line itself as its
/// alternative text.
///
/// ```
/// use gylebook::science::glossary::mathml;
/// let half = mathml::render("y = x/2");
/// assert!(half.contains("<mfrac><mi>x</mi><mn>2</mn></mfrac>"));
/// ```
#[must_use]
pub fn render(formula: &str) -> String {
    math(formula, " display=\"block\"")
}

/// The same within a sentence, for a symbol such as `T_0`.
///
/// ```
/// use gylebook::science::glossary::mathml;
/// assert!(mathml::inline("T_0").contains("<msub><mi>T</mi><mi>0</mi></msub>"));
/// ```
#[must_use]
pub fn inline(formula: &str) -> String {
    math(formula, "")
}

fn math(formula: &str, display: &str) -> String {
    let mut parser = Parser { tokens: tokens(formula), at: 0, in_power: false };
    let mut body = String::new();
    while parser.at < parser.tokens.len() {
        body.push_str(&parser.relation());
        // Only a closing parenthesis without its partner stops a relation.
        if parser.next_is(")") {
            parser.at += 1;
            body.push_str("<mo>)</mo>");
        }
    }
    let alternative = escaped(formula);
    format!("<math{display} alttext=\"{alternative}\"><mrow>{body}</mrow></math>")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Numbers, names (with their subscript, and with the parenthesis of a function),
/// quoted words, and single signs.
fn tokens(formula: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut rest = formula.trim_start();
    while let Some(first) = rest.chars().next() {
        let end_of = |keep: fn(char) -> bool| rest.find(|c| !keep(c)).unwrap_or(rest.len());
        let length = if first == '"' {
            rest[1..].find('"').map_or(rest.len(), |end| end + 2)
        } else if first.is_ascii_digit() {
            end_of(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        } else if is_letter(first) {
            let name = end_of(|c| is_letter(c) || c.is_ascii_digit() || c == '_');
            name + usize::from(rest[name..].starts_with('('))
        } else {
            first.len_utf8()
        };
        // A comma after a number belongs to the sentence, not to the number.
        let token = rest[..length].trim_end_matches(|c| length > 1 && matches!(c, ',' | '.'));
        tokens.push(token.to_owned());
        rest = rest[token.len()..].trim_start();
    }
    tokens
}

fn is_letter(c: char) -> bool {
    c == '∞' || c.is_alphabetic() && !OPERATORS.contains(c)
}

/// Signs that are letters to Unicode, or stand before what they work on.
const OPERATORS: &str = "Σ∫√∂";
const SUMS: [&str; 4] = ["+", "−", "-", "±"];
const RELATIONS: [&str; 8] = ["=", "<", ">", "≤", "≥", "≈", ",", "|"];

struct Parser {
    tokens: Vec<String>,
    at: usize,
    /// A fraction in a power would be too small to read; there, `/` stays a slash.
    in_power: bool,
}

impl Parser {
    fn next_is(&self, sign: &str) -> bool {
        self.tokens.get(self.at).is_some_and(|token| token == sign)
    }

    fn take_any(&mut self, signs: &[&str]) -> Option<String> {
        let token = self.tokens.get(self.at).filter(|token| signs.contains(&token.as_str()))?;
        self.at += 1;
        Some(format!("<mo>{}</mo>", escaped(token)))
    }

    fn relation(&mut self) -> String {
        self.chain(&RELATIONS, |parser| parser.chain(&SUMS, Self::product))
    }

    /// Parts joined by signs; a sign may also come first (`−x`).
    fn chain(&mut self, signs: &[&str], part: impl Fn(&mut Self) -> String) -> String {
        let mut out = part(self);
        while let Some(sign) = self.take_any(signs) {
            out.push_str(&sign);
            out.push_str(&part(self));
        }
        out
    }

    /// Factors side by side; `/` puts all of them so far over the next one.
    fn product(&mut self) -> String {
        let mut factors: Vec<String> = Vec::new();
        while let Some(token) = self.tokens.get(self.at).cloned() {
            let token = token.as_str();
            if token == "/" && self.in_power {
                self.at += 1;
                factors.push("<mo>/</mo>".to_owned());
            } else if token == "/" {
                self.at += 1;
                let above = row(&factors);
                let below = self.factor(true);
                factors = vec![format!("<mfrac>{above}{below}</mfrac>")];
            } else if token == ")" || SUMS.contains(&token) || RELATIONS.contains(&token) {
                break;
            } else if token == "(" {
                let alone = factors.is_empty() && self.closes_before_slash();
                factors.push(self.factor(alone));
            } else {
                factors.push(self.factor(false));
            }
        }
        side_by_side(&factors)
    }

    /// Whether the parenthesis that opens here closes right before a `/`, so that
    /// the bar of the fraction does its work.
    fn closes_before_slash(&self) -> bool {
        if self.in_power {
            return false;
        }
        let mut depth = 0;
        for (i, token) in self.tokens.iter().enumerate().skip(self.at) {
            depth += i32::from(token.ends_with('(')) - i32::from(token == ")");
            if depth == 0 {
                return self.tokens.get(i + 1).is_some_and(|next| next == "/");
            }
        }
        false
    }

    fn factor(&mut self, drop_parentheses: bool) -> String {
        let base = self.primary(drop_parentheses);
        if self.next_is("^") {
            self.at += 1;
            let outer = std::mem::replace(&mut self.in_power, true);
            let power = self.primary(true);
            self.in_power = outer;
            return format!("<msup>{base}{power}</msup>");
        }
        base
    }

    fn primary(&mut self, drop_parentheses: bool) -> String {
        let Some(token) = self.tokens.get(self.at).cloned() else {
            return String::new();
        };
        self.at += 1;
        match token.as_str() {
            "(" if drop_parentheses => format!("<mrow>{}</mrow>", self.inside()),
            "(" => format!("<mrow><mo>(</mo>{}<mo>)</mo></mrow>", self.inside()),
            "√" => format!("<msqrt>{}</msqrt>", self.primary(true)),
            "−" | "-" => format!("<mrow><mo>−</mo>{}</mrow>", self.factor(false)),
            token => match token.strip_suffix('(') {
                Some(name) => {
                    format!("<mrow>{}<mo>(</mo>{}<mo>)</mo></mrow>", leaf(name), self.inside())
                }
                None => leaf(token),
            },
        }
    }

    /// What stands up to the closing parenthesis, and past it.
    fn inside(&mut self) -> String {
        let inside = self.relation();
        self.at += usize::from(self.next_is(")"));
        inside
    }
}

fn leaf(token: &str) -> String {
    if let Some(words) = token.strip_prefix('"') {
        return format!("<mtext>{}</mtext>", escaped(words.trim_end_matches('"')));
    }
    let first = token.chars().next().unwrap_or(' ');
    if first.is_ascii_digit() {
        return format!("<mn>{token}</mn>");
    }
    if !is_letter(first) {
        return format!("<mo>{}</mo>", escaped(token));
    }
    match token.split_once('_') {
        Some((name, below)) => format!("<msub><mi>{name}</mi><mi>{below}</mi></msub>"),
        None => format!("<mi>{token}</mi>"),
    }
}

/// One element, whatever the number of factors.
fn row(factors: &[String]) -> String {
    match factors {
        [one] => one.clone(),
        _ => format!("<mrow>{}</mrow>", side_by_side(factors)),
    }
}

/// Factors in a row, a thin space between any two that are not signs.
fn side_by_side(factors: &[String]) -> String {
    let is_sign = |text: &String| text.starts_with("<mo>");
    let mut out = String::new();
    for (i, factor) in factors.iter().enumerate() {
        if i > 0 && !is_sign(factor) && !is_sign(&factors[i - 1]) {
            out.push_str("<mspace width=\"0.17em\"/>");
        }
        out.push_str(factor);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::render;

    fn body(formula: &str) -> String {
        let rendered = render(formula).replace("<mspace width=\"0.17em\"/>", " ");
        rendered
            .split_once("<mrow>")
            .and_then(|(_, rest)| rest.strip_suffix("</mrow></math>"))
            .expect("a block with a row in it")
            .to_owned()
    }

    #[test]
    fn a_slash_takes_all_factors_before_it_and_one_after() {
        assert_eq!(
            body("V ρ / (a + b) c"),
            "<mfrac><mrow><mi>V</mi> <mi>ρ</mi></mrow><mrow><mi>a</mi><mo>+</mo><mi>b</mi></mrow></mfrac> <mi>c</mi>"
        );
    }

    #[test]
    fn parentheses_stay_where_they_multiply_and_go_where_the_bar_does_their_work() {
        assert!(body("V (1 − w)").contains("<mo>(</mo>"));
        assert!(!body("(a − b)/c").contains("<mo>(</mo>"));
    }

    #[test]
    fn a_name_with_its_parenthesis_is_one_factor() {
        assert_eq!(
            body("f(x)/g(y)"),
            "<mfrac><mrow><mi>f</mi><mo>(</mo><mi>x</mi><mo>)</mo></mrow>\
             <mrow><mi>g</mi><mo>(</mo><mi>y</mi><mo>)</mo></mrow></mfrac>"
        );
    }

    #[test]
    fn a_slash_in_a_power_stays_a_slash() {
        assert_eq!(
            body("e^(a/(b c))/d"),
            "<mfrac><msup><mi>e</mi><mrow><mi>a</mi><mo>/</mo>\
             <mrow><mo>(</mo><mi>b</mi> <mi>c</mi><mo>)</mo></mrow></mrow></msup><mi>d</mi></mfrac>"
        );
    }

    #[test]
    fn powers_roots_subscripts_and_words() {
        assert_eq!(
            body("e^(−k_1 t)"),
            "<msup><mi>e</mi><mrow><mo>−</mo><msub><mi>k</mi><mi>1</mi></msub> <mi>t</mi></mrow></msup>"
        );
        assert_eq!(body("√(x + 1)"), "<msqrt><mrow><mi>x</mi><mo>+</mo><mn>1</mn></mrow></msqrt>");
        assert_eq!(body("\"a < b\""), "<mtext>a &lt; b</mtext>");
    }

    #[test]
    fn a_line_it_cannot_read_is_shown_not_lost() {
        for odd in ["", ")", "((", "a / ", "x^", "√", "f(", "\"open", "a ) b", "1,5,"] {
            assert!(render(odd).ends_with("</mrow></math>"), "{odd}");
        }
        assert!(body("a ) b").contains("<mi>b</mi>"));
    }
}
