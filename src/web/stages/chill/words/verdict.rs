//! Is this reading true yet, and when am I there?

use super::{Words, clock, minutes, range, seconds};
use crate::brewday::chill_now::{InRange, NotKnown};
use crate::science::chilling::advice::Move;
use crate::science::chilling::forecast::Forecast;
use crate::science::chilling::hold::{PassingDip, Verdict};
use crate::science::units::{Temperature, TimeSpan};

/// Slower than this a thermometer by hand can't tell from standing still.
const STILL_C_PER_MIN: f64 = 0.05;
/// A change of baths longer ago than a pass no longer explains a reading; where
/// the pass is not known, longer ago than a usual one.
const USUAL_PASS: TimeSpan = TimeSpan::from_seconds(600.0);

/// What the page says of the reading.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::web::stages::chill) struct VerdictTold {
    /// In bold.
    pub(in crate::web::stages::chill) lead: String,
    /// After it.
    pub(in crate::web::stages::chill) rest: String,
    /// Whether the reading counts and is where it should be.
    pub(in crate::web::stages::chill) is_fine: bool,
    /// How much of a pass it has held, of how much, in seconds.
    pub(in crate::web::stages::chill) progress: Option<(u32, u32)>,
    /// The rule it counts by.
    pub(in crate::web::stages::chill) rule: String,
}

impl Words<'_> {
    /// Is this reading true yet? Of a chill that is over: was it?
    pub(in crate::web::stages::chill) fn verdict(&self) -> VerdictTold {
        let hold = &self.now.hold;
        let is_over = self.now.over.is_some();
        let (lead, rest, held) = match hold.verdict {
            Verdict::NotStarted if is_over => (
                "No reading was taken.".to_owned(),
                "How warm the wort was is not on record.".to_owned(),
                TimeSpan::ZERO,
            ),
            Verdict::Moving if is_over => {
                ("It was still moving when the chill ended.".to_owned(), self.last_way(), TimeSpan::ZERO)
            }
            Verdict::Holding { held, pass } if is_over => {
                let of = pass.map_or_else(String::new, |pass| format!(" of {}", clock(pass)));
                (format!("It had held for {}{of}.", clock(held)), "The chill ended before it settled.".to_owned(), held)
            }
            Verdict::NotStarted => {
                ("No reading yet.".to_owned(), "The forecast starts from the first you log.".to_owned(), TimeSpan::ZERO)
            }
            Verdict::Moving => match &hold.dip {
                Some(dip) => ("That was a passing dip.".to_owned(), self.dip(dip), TimeSpan::ZERO),
                None => ("Still moving.".to_owned(), self.falling(), TimeSpan::ZERO),
            },
            Verdict::Holding { held, pass: Some(pass) } => {
                (format!("Holding, {} of {}.", clock(held), clock(pass)), self.holding(), held)
            }
            Verdict::Holding { held, pass: None } => {
                let rest = "It stays put; how long it has to is not known.".to_owned();
                (format!("Holding for {}.", clock(held)), rest, held)
            }
            Verdict::Settled { held, wort } => {
                let (lead, rest) = self.settled(held, wort);
                (lead, rest, held)
            }
        };
        let rule = hold.pass.map_or_else(
            || "How long one full pass takes is not known, so no reading can be called settled.".to_owned(),
            |pass| {
                let within = self.step(0.5);
                let counts = if is_over { "Counted" } else { "Counts" };
                format!("{counts} as the wort’s temperature after one full pass ({}) within {within}.", clock(pass))
            },
        );
        VerdictTold {
            lead,
            rest,
            is_fine: hold.in_range == Some(InRange::Within),
            progress: hold.pass.map(seconds).map(|full| (seconds(held).min(full), full)),
            rule,
        }
    }

    fn falling(&self) -> String {
        let Some(reading) = &self.now.reading else { return String::new() };
        let pass = self.now.hold.pass.unwrap_or(USUAL_PASS);
        let since = reading.since_change.filter(|since| *since < pass).map_or_else(String::new, |since| {
            if since.minutes() < 0.75 {
                ", just after the bath was changed or stirred".to_owned()
            } else {
                format!(", {} after the bath was changed or stirred", minutes(since))
            }
        });
        match reading.fall_c_per_min {
            None => "One reading does not say which way it goes: log the next.".to_owned(),
            Some(fall) if fall >= STILL_C_PER_MIN => format!("Falling {} a minute{since}.", self.step(fall)),
            Some(fall) if fall <= -STILL_C_PER_MIN => format!("Climbing {} a minute{since}.", self.step(fall)),
            Some(_) => "The last two readings agree; one more will tell whether it holds.".to_owned(),
        }
    }

    /// Which way the last readings went, of a chill that is over.
    fn last_way(&self) -> String {
        let fall = self.now.reading.and_then(|reading| reading.fall_c_per_min);
        match fall {
            Some(fall) if fall >= STILL_C_PER_MIN => {
                format!("It fell {} a minute at the last reading.", self.step(fall))
            }
            Some(fall) if fall <= -STILL_C_PER_MIN => {
                format!("It climbed {} a minute at the last reading.", self.step(fall))
            }
            Some(_) => "The last two readings agreed, and none followed to tell whether it held.".to_owned(),
            None => "One reading alone does not say which way it went.".to_owned(),
        }
    }

    fn dip(&self, dip: &PassingDip) -> String {
        format!(
            "It read {}, then climbed {}: cold wort came by before the rest had cooled. The hold starts again.",
            self.degrees(dip.lowest),
            self.step(dip.climb.kelvins())
        )
    }

    fn holding(&self) -> String {
        let hold = &self.now.hold;
        match (hold.read_by, hold.full_at) {
            (Some(by), Some(full)) if by >= self.frame.clock.now => format!(
                "Counts at {} if it stays within {}. Read again by {}.",
                self.time(full),
                self.step(0.5),
                self.time(by)
            ),
            _ => "Read it now: after too long a gap the hold starts again.".to_owned(),
        }
    }

    fn settled(&self, held: TimeSpan, wort: Temperature) -> (String, String) {
        let counts = format!("{} for {}", self.degrees(wort), clock(held));
        let show = |celsius| self.about(Temperature::from_celsius(celsius));
        let (low, high) = self.pitch_c;
        if self.now.over.is_some() {
            let lead = match self.now.hold.in_range {
                Some(InRange::Above) => "Settled too warm.",
                Some(InRange::Below) => "Settled too cold.",
                _ => return ("Settled.".to_owned(), format!("{counts}: that was the wort’s temperature.")),
            };
            return (lead.to_owned(), format!("{counts}. The yeast wanted {} to {}.", show(low), show(high)));
        }
        match self.now.hold.in_range {
            Some(InRange::Above) => (
                "Settled, but too warm.".to_owned(),
                format!("{counts} counts. Your yeast wants {} or less.", show(high)),
            ),
            Some(InRange::Below) => (
                "Settled, but too cold.".to_owned(),
                format!("{counts} counts. Your yeast wants {} or more.", show(low)),
            ),
            _ => ("Settled.".to_owned(), format!("{counts}: this is the wort’s temperature.")),
        }
    }

    /// When am I there? Stands under the target.
    pub(in crate::web::stages::chill) fn when(&self) -> String {
        let is_within = self.now.hold.in_range == Some(InRange::Within);
        if self.now.over.is_some() {
            return if is_within { "reached".to_owned() } else { String::new() };
        }
        if is_within {
            return "you are there".to_owned();
        }
        if self.is_out_at_target() {
            return "reached".to_owned();
        }
        let outlook = match &self.now.outlook {
            Ok(outlook) => outlook,
            Err(NotKnown::Over) => return String::new(),
            Err(_) => return "can’t be told yet".to_owned(),
        };
        match outlook.advice.as_ref().ok().map(|advice| &advice.coil) {
            Some(Move::Done) => "reached".to_owned(),
            Some(coil @ (Move::ChangeNow { after, .. } | Move::Stay { after, .. })) => {
                let there = format!("{}{}", self.near(*after), outlook.range.map_or_else(String::new, range));
                let provided = [
                    matches!(coil, Move::ChangeNow { .. }).then_some("if you move the coil now"),
                    matches!(coil, Move::Stay { change: Some(_), .. }).then_some("if you do as below"),
                    outlook.short.is_some().then_some("with the ice"),
                ];
                provided.into_iter().flatten().fold(there, |told, one| format!("{told}, {one}"))
            }
            Some(Move::FallsShort { .. }) => "not with these baths".to_owned(),
            None => match outlook.forecast {
                Forecast::There => "reached".to_owned(),
                Forecast::Reaches { after, .. } => self.near(after),
                Forecast::CannotReach { .. } => "not in this bath".to_owned(),
            },
        }
    }
}
