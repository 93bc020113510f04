//! What the kettle should get, in a brewer's words: one card before the boil and one after it.

use crate::brewday::BrewDay;
use crate::brewday::correction::{Act, Correction, Outcome, Read, Remedy, RunsOver, Verdict};
use crate::brewday::plan::DayPlan;
use crate::brewday::plausible::Dimension;
use crate::science::units::Volume;
use crate::web::units::Shown;
use crate::web::{App, AppError, Frame};

/// The advice at the kettle.
#[derive(Clone, Debug)]
pub(super) struct CorrectionTold {
    /// What to do and what that gives.
    pub(super) act: String,
    /// Whether there is nothing to do.
    pub(super) is_calm: bool,
    /// Whether it rests on what was read before the boil.
    pub(super) is_before_boil: bool,
    /// What the kettle leads to as it is, and what was planned.
    pub(super) why: String,
    /// What to mind while doing it, sentence by sentence.
    pub(super) mind: String,
    /// The other way, where there is one, with what to mind about that.
    pub(super) others: Vec<String>,
}

/// The plan of a day, by the habits of the batches before it.
pub(super) async fn planned(app: &App, day: &BrewDay) -> Result<DayPlan, AppError> {
    Ok(DayPlan::of_batch(&day.batch, app.store.habits_of(&day.batch).await?))
}

impl CorrectionTold {
    /// The advice as it stands; none while there is nothing to advise on.
    pub(super) fn of(frame: &Frame, day: &BrewDay, plan: &DayPlan) -> Option<Self> {
        Some(Self::told(frame, &Correction::of(day, plan)?))
    }

    fn told(frame: &Frame, correction: &Correction) -> Self {
        let is_before_boil = correction.read == Read::BeforeBoil;
        let planned = outcome(frame, &correction.planned);
        let as_it_is = outcome(frame, &correction.as_it_is);
        let goes = if is_before_boil { "Boiled as planned" } else { "As it is" };
        let base = format!("{goes}, {as_it_is} would go into the fermenter; the plan is {planned}.");
        let mut told = correction.remedies.iter().map(|remedy| {
            let gives = outcome(frame, &remedy.gives);
            let act = words(frame, correction.read, remedy);
            (act, format!("{gives} into the fermenter"), minded(frame, correction.read, remedy))
        });
        let (act, why, mind) = match (correction.verdict, told.next()) {
            (Verdict::OnTarget, _) => {
                let gravity = correction.as_it_is.gravity.ratio();
                let (shown, se) = frame.show_measured(gravity, correction.gravity_se, Dimension::Gravity);
                let sure = Shown { text: se.unwrap_or_default(), ..shown };
                let why = format!("{base} Readings like yours are sure to ±\u{a0}{sure}, and it is within twice that.");
                ("On target: leave it as it is.".to_owned(), why, String::new())
            }
            (_, Some((act, gives, mind))) => (format!("{act}: {gives}."), base, mind),
            (Verdict::Weak, None) => ("Weaker than planned.".to_owned(), base, String::new()),
            (Verdict::Strong, None) => ("Stronger than planned.".to_owned(), base, String::new()),
        };
        let other = |(act, gives, mind): (String, String, String)| {
            format!("Or {}: {gives}. {mind}", uncapitalised(&act)).trim_end().to_owned()
        };
        Self {
            act,
            is_calm: correction.verdict == Verdict::OnTarget,
            is_before_boil,
            why,
            mind,
            others: told.map(other).collect(),
        }
    }
}

/// "20.4 L at 1.048".
fn outcome(frame: &Frame, outcome: &Outcome) -> String {
    let litres = frame.show(outcome.into_fermenter.litres(), Dimension::Volume);
    format!("{litres} at {}", frame.show(outcome.gravity.ratio(), Dimension::Gravity))
}

/// "Boil 12 min longer".
fn words(frame: &Frame, read: Read, remedy: &Remedy) -> String {
    let minutes = |min: f64| frame.show(min.round().max(1.0), Dimension::Minutes);
    match remedy.act {
        Act::BoilLonger(by) => format!("Boil {} longer", minutes(by.minutes())),
        Act::BoilShorter(by) => format!("Boil {} less", minutes(by.minutes())),
        Act::BoilOn(lasts) => {
            let again = if read == Read::AfterFlameOut { "Boil again for" } else { "Boil on for" };
            format!("{again} {}", minutes(lasts.minutes()))
        }
        Act::AddExtract(mass) => {
            // To ten grams: the readings behind it are worth no more.
            let kilograms = (mass.kilograms() * 100.0).round().max(1.0) / 100.0;
            format!("Stir in {} of dry malt extract", frame.show(kilograms, Dimension::SmallMass))
        }
        Act::AddWater(volume) => {
            let water = if matches!(read, Read::AfterFlameOut | Read::Chilling) { "boiled water" } else { "water" };
            format!("Add {} of {water}", frame.show(volume.litres(), Dimension::Volume))
        }
    }
}

/// What to mind, and whether the kettle holds it; empty where there is nothing.
fn minded(frame: &Frame, read: Read, remedy: &Remedy) -> String {
    let over = remedy.runs_over.map(|over| {
        let what = if matches!(remedy.act, Act::AddWater(_)) { "water" } else { "extract" };
        let instead = match read {
            Read::BeforeBoil | Read::AtTheBoil => "Add it as the wort boils down.",
            Read::AfterFlameOut | Read::Chilling => "Add the rest in the fermenter.",
        };
        format!("Not all at once: with the {what} in, the kettle would hold {}. {instead}", runs_over(frame, over))
    });
    let sentences: Vec<String> = over.into_iter().chain(mind(read, remedy.act).map(str::to_owned)).collect();
    sentences.join(" ")
}

/// "31.2 L at the boil, and it runs over at 30.0 L"
pub(super) fn runs_over(frame: &Frame, over: RunsOver) -> String {
    let litres = |volume: Volume| frame.show(volume.litres(), Dimension::Volume);
    format!("{} at the boil, and it runs over at {}", litres(over.hot), litres(over.brim))
}

/// What to mind.
fn mind(read: Read, act: Act) -> Option<&'static str> {
    match (act, read) {
        (Act::BoilLonger(_) | Act::BoilShorter(_), _) => {
            Some("Hops are timed from the end of the boil: move them with it.")
        }
        (Act::BoilOn(_), _) => Some("Hops already in get more bitter meanwhile."),
        (Act::AddExtract(_), Read::Chilling) => {
            Some("Dissolve the extract in a little water and boil that for ten minutes first.")
        }
        (Act::AddExtract(_), _) => Some("Turn the heat off while extract goes in: it sinks, scorches and foams up."),
        (Act::AddWater(_), _) => None,
    }
}

fn uncapitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}
