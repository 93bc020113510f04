//! What an entry moved when it came late or was put right, in words: "coil in
//! bath 2 from 214 to 268 W/K".

use time::Duration;
use uuid::Uuid;

use crate::brewday::BrewDay;
use crate::brewday::changes::{Amount, Cause, Moved};
use crate::brewday::choices::Choice;
use crate::brewday::plausible::Dimension;
use crate::brewday::summary::{ChillVerdict, FlushVerdict, LimitedBy};
use crate::web::stage_labels::stage_labels;
use crate::web::{Frame, figures};

/// Until the yeast is in, the latest reading under another name.
const NOT_TOLD: [&str; 1] = ["pitch.wort_c"];

/// Why figures moved, and which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MovedTold {
    /// "Entered 12 min late", "Corrected".
    pub cause: String,
    /// One for each figure: those that moved by a percent or more first, and of
    /// them those that matter most.
    pub figures: Vec<String>,
}

impl MovedTold {
    /// What an entry (or a correction) of the day moved when it came; `None`
    /// where it came in its turn.
    #[must_use]
    pub fn of(day: &BrewDay, frame: &Frame, id: Uuid) -> Option<Self> {
        let change = day.change(id)?;
        let names = stage_labels(change.stages.iter().copied());
        let told = change.moved.iter().filter(|one| !NOT_TOLD.contains(&one.figure.as_str()));
        let told = told.filter_map(|one| Some(((one.is_slight(), rank(&one.figure)), sentence(frame, &names, one)?)));
        let mut told: Vec<((bool, usize), String)> = told.collect();
        told.sort_by_key(|(rank, _)| *rank);
        Some(Self { cause: cause_told(change.cause), figures: told.into_iter().map(|(_, told)| told).collect() })
    }

    /// The same where the cause is said already.
    #[must_use]
    pub fn without_cause(self) -> Self {
        Self { cause: String::new(), ..self }
    }

    /// Puts one more in front.
    pub fn lead_with(&mut self, told: String) {
        self.figures.insert(0, told);
    }

    /// The one figure that moved, where no list is needed.
    #[must_use]
    pub fn only(&self) -> &str {
        self.figures.first().map_or("no figure", String::as_str)
    }
}

fn cause_told(cause: Cause) -> String {
    match cause {
        Cause::Corrected => "Corrected".to_owned(),
        Cause::Struck => "Struck out".to_owned(),
        Cause::BroughtBack => "Correction taken back".to_owned(),
        Cause::Late(by) if by < Duration::minutes(1) => "Entered out of turn".to_owned(),
        Cause::Late(by) if by < Duration::hours(2) => format!("Entered {}\u{a0}min late", by.whole_minutes()),
        Cause::Late(_) => "Entered long afterwards".to_owned(),
        Cause::Afterwards => "Entered while the wort was being chilled".to_owned(),
    }
}

/// Verdicts first, then what the coil did, then the chill, then the rest.
fn rank(figure: &str) -> usize {
    let first = [
        "chill.verdict",
        "flush.verdict",
        "chill.stages.",
        "chill.standard_chill_min",
        "chill.minutes_to_settled",
        "chill.minutes_to_target",
        "chill.limited_by",
        "chill.",
    ];
    first.iter().position(|start| figure.starts_with(start)).unwrap_or(first.len())
}

fn sentence(frame: &Frame, stages: &[String], moved: &Moved) -> Option<String> {
    let (label, show) = shown(frame, stages, &moved.figure)?;
    let (from, to) = (moved.from.as_ref().and_then(&show), moved.to.as_ref().and_then(&show));
    match (from, to) {
        (Some(from), Some(to)) if from == to => None,
        (Some(from), Some(to)) => Some(format!("{label} from {} to {to}", without_unit(&from, &to))),
        (None, Some(to)) => Some(format!("{label}, not known before, is {to}")),
        (Some(from), None) => Some(format!("{label}, {from} before, can no longer be told")),
        (None, None) => None,
    }
}

type Show<'a> = Box<dyn Fn(&Amount) -> Option<String> + 'a>;

/// A figure's name, and how it is shown; `None` for what no page shows.
fn shown<'a>(frame: &'a Frame, stages: &[String], figure: &str) -> Option<(String, Show<'a>)> {
    if let Some(within) = figure.strip_prefix("chill.stages.") {
        let (index, field) = within.split_once('.')?;
        let stage = stages.get(index.parse::<usize>().ok()?)?;
        return match field {
            "conductance_w_per_k" if stage == "air" => {
                Some(("the kettle’s own loss".to_owned(), number(|w| format!("{w:.1}\u{a0}W/K"))))
            }
            "conductance_w_per_k" => Some((format!("coil in {stage}"), number(|w| format!("{w:.0}\u{a0}W/K")))),
            "limit_c" => {
                let shown = move |c| frame.show(c, Dimension::Temperature).to_string();
                Some((format!("the coldest {stage} can get the wort"), number(shown)))
            }
            "minutes" => {
                let shown = move |min| frame.show(min, Dimension::Minutes).to_string();
                Some((format!("time in {stage}"), number(shown)))
            }
            _ => None,
        };
    }
    match figure {
        "chill.verdict" => Some(("the reading’s verdict".to_owned(), word::<ChillVerdict>())),
        "chill.limited_by" => Some(("what limited the chill".to_owned(), word::<LimitedBy>())),
        "flush.verdict" => Some(("the hot flush’s verdict".to_owned(), word::<FlushVerdict>())),
        _ => {
            let (label, dimension) = figures::in_a_sentence(figure, frame)?;
            let shown = move |value| frame.show_computed(value, dimension).to_string();
            Some((label, number(shown)))
        }
    }
}

fn number<'a>(show: impl Fn(f64) -> String + 'a) -> Show<'a> {
    Box::new(move |amount| match amount {
        Amount::Number(value) => Some(show(*value)),
        Amount::Word(_) => None,
    })
}

fn word<'a, T: Choice>() -> Show<'a> {
    Box::new(|amount| match amount {
        Amount::Word(key) => T::from_key(key).map(|word| format!("“{}”", word.label())),
        Amount::Number(_) => None,
    })
}

/// "214" of "214 W/K", where the other says the unit as well.
fn without_unit<'a>(one: &'a str, other: &str) -> &'a str {
    match (one.split_once('\u{a0}'), other.split_once('\u{a0}')) {
        (Some((value, unit)), Some((_, same))) if unit == same => value,
        _ => one,
    }
}
