//! What should I do now, and is it enough ice?

use super::{FOR_EVER, WORTH, Words, about_minutes, basis, clock, minutes, range};
use crate::brewday::chill_now::{BathsFrom, InRange, NotKnown, Outlook, Short};
use crate::brewday::choices::Cooling;
use crate::science::chilling::Estimate;
use crate::science::chilling::advice::{Advice, Move, NextChange, NoAdvice};
use crate::science::chilling::forecast::Forecast;
use crate::science::chilling::live::NotYet;
use crate::science::chilling::remedies::{IceNow, StirKnown, StirNow, WaterCost};
use crate::science::chilling::series::Unknown;
use crate::science::units::{Mass, Temperature, TimeSpan};

use time::Duration;

use crate::brewday::plausible::Dimension;

/// How long a kettle is let stand between two readings.
const STAND: Duration = Duration::minutes(10);
/// Less ice than this is none: a scale in a brew house can't tell.
const NO_ICE: Mass = Mass::from_kilograms(0.05);

/// The one thing to do now.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::web::stages::chill) struct CardTold {
    /// What to do.
    pub(in crate::web::stages::chill) act: String,
    /// Why, and what it gains.
    pub(in crate::web::stages::chill) why: Vec<String>,
    /// Whether there is nothing to hurry for.
    pub(in crate::web::stages::chill) is_calm: bool,
    /// Where the card leads, and its words.
    pub(in crate::web::stages::chill) link: Option<(String, &'static str)>,
}

impl CardTold {
    fn new(act: impl Into<String>, why: impl Into<String>) -> Self {
        Self { act: act.into(), why: vec![why.into()], ..Self::default() }
    }

    fn calm(self) -> Self {
        Self { is_calm: true, ..self }
    }

    fn link(self, href: impl Into<String>, words: &'static str) -> Self {
        Self { link: Some((href.into(), words)), ..self }
    }
}

impl Words<'_> {
    /// The card; none once the chill is over.
    pub(in crate::web::stages::chill) fn card(&self) -> Option<CardTold> {
        if self.now.over.is_some() {
            return None;
        }
        match (self.now.hold.in_range, &self.now.outlook) {
            (Some(InRange::Within), _) => Some(self.ready()),
            (Some(InRange::Below), _) => Some(self.too_cold()),
            _ if self.now.standing().is_some() => self.standing(),
            _ if self.is_out_at_target() => Some(CardTold::new("Keep the pump running, and read.", self.hold_told())),
            (_, Ok(outlook)) => Some(match &outlook.advice {
                Ok(advice) => self.advised(outlook, advice),
                Err(NoAdvice::NotYet(why)) => self.not_yet(*why),
                Err(NoAdvice::TooUnsure(coil)) => self.too_unsure(outlook, *coil),
            }),
            (_, Err(NotKnown::Stale)) => {
                Some(CardTold::new("Read the wort again.", "The last reading is too old to say anything from."))
            }
            (_, Err(NotKnown::NotYet(why))) => Some(self.not_yet(*why)),
            (_, Err(NotKnown::Over)) => None,
        }
    }

    fn ready(&self) -> CardTold {
        let held = self.hold_up_l.map_or_else(
            || "What is in coil and hoses is beer too.".to_owned(),
            |litres| format!("About {} is still in coil and hoses, and it is beer.", self.litres(litres)),
        );
        CardTold::new("Drain the coil, then pitch.", held).calm().link(format!("{}/pitch", self.batch), "Go to Pitch")
    }

    /// The kettle stands with the pump off: what to read, and when.
    fn standing(&self) -> Option<CardTold> {
        let (since, readings) = self.now.standing()?;
        let until = since + STAND;
        let told = "Pump off, lid as in every chill. What the wort falls by itself is the kettle’s own loss.";
        Some(match readings {
            0 => CardTold::new("Read the wort now.", told),
            _ if until > self.frame.clock.now => {
                CardTold::new(format!("Let it stand, and read again at {}.", self.time(until)), told).calm()
            }
            _ => CardTold::new("Read the wort again.", "Two readings ten minutes apart tell what the kettle loses."),
        })
    }

    fn too_cold(&self) -> CardTold {
        let low = self.about(Temperature::from_celsius(self.pitch_c.0));
        CardTold::new("Take the coil out of the bath.", format!("Let the wort come up to {low} before you pitch."))
    }

    fn advised(&self, outlook: &Outlook, advice: &Advice) -> CardTold {
        let mut card = match (&advice.coil, &advice.stir) {
            (Move::Stay { .. }, Some(stir)) => self.stir(stir, &advice.coil),
            (coil, _) => self.moved(outlook, coil),
        };
        // Ice has to be fetched: that can't wait, though the coil may.
        card.is_calm &= outlook.short.is_none();
        card.why.extend(outlook.short.map(|short| self.ice_to_get(short)));
        card.why.extend(advice.ice.as_ref().and_then(|ice| self.ice_told(ice, &advice.coil)));
        card.why.extend(advice.water.as_ref().map(|cost| self.water(cost)));
        let unsaid = self.now.stage().is_some_and(|(stage, _)| stage.cooling.flow_l_min.is_none());
        if self.method() == Some(Cooling::RunningWater) && unsaid {
            card.why.push("How fast the water runs was not logged, so what it costs can’t be told.".to_owned());
        }
        card
    }

    fn moved(&self, outlook: &Outlook, coil: &Move) -> CardTold {
        match *coil {
            Move::Done => CardTold::new("You are at the target: lift the coil out, pump on.", self.hold_told())
                .link("#new-bath", "Log that it is out, in the air"),
            Move::ChangeNow { to, after, saves } => self.change(outlook, to, after, saves),
            Move::Stay { change: Some(NextChange { after, to }), saves, .. } => {
                let cost = saves.filter(|saves| *saves >= WORTH && *saves < FOR_EVER);
                let cost = cost.map(|cost| format!(" Changing now would cost you {}.", about_minutes(cost)));
                let then = format!("Then move the coil to {}.{}", self.bath(to), cost.unwrap_or_default());
                CardTold::new(format!("Stay in this bath for {}.", self.lasting(after)), then).calm()
            }
            Move::Stay { change: None, after, .. } => {
                let range = outlook.range.map_or_else(String::new, range);
                let there = format!("You are there {}{range}.", self.at(after));
                CardTold::new("Leave the coil where it is.", there).calm()
            }
            Move::FallsShort { coldest, ice_needed } => self.short(coldest, ice_needed),
        }
    }

    /// "about 4 min, until 14:41"
    fn lasting(&self, span: TimeSpan) -> String {
        let told = about_minutes(span);
        if told.starts_with("about ") { format!("{told}, until {}", self.time_after(span)) } else { told }
    }

    fn hold_told(&self) -> String {
        self.now.hold.pass.map_or_else(
            || "Read until it stays put: the first readings may be a dip.".to_owned(),
            |pass| format!("Read for one full pass ({}): the first readings may be a dip.", clock(pass)),
        )
    }

    fn change(&self, outlook: &Outlook, to: usize, after: TimeSpan, saves: Option<TimeSpan>) -> CardTold {
        let spent = !matches!(outlook.forecast, Forecast::Reaches { .. });
        let reason = match outlook.path.last().filter(|_| spent) {
            // The end of the dashed line beside it.
            Some(end) => format!(
                "Left in this bath the wort would still be at {} at {}.",
                self.about(Temperature::from_celsius(end.likely_c)),
                self.time(self.now.chill.zero + Duration::seconds_f64(end.minutes * 60.0))
            ),
            None => "Fresh water takes the heat faster than this bath does now.".to_owned(),
        };
        let gain = match saves {
            Some(saves) if !spent && (WORTH..FOR_EVER).contains(&saves) => format!("Saves {}.", about_minutes(saves)),
            _ => format!("If you move it now you are there {}.", self.at(after)),
        };
        let bath = self.bath(to);
        let act = match bath.split_once(", ") {
            Some((bath, which)) => format!("Move the coil to {bath} now, {which}."),
            None => format!("Move the coil to {bath} now."),
        };
        CardTold::new(act, format!("{reason} {gain}")).link("#new-bath", "Log the new bath")
    }

    fn short(&self, coldest: Temperature, ice_needed: Option<Mass>) -> CardTold {
        let limit = self.about(coldest);
        let reach = match self.now.ready.len() {
            0 => format!("This bath can’t go below {limit}"),
            1 => format!("This bath and the one left can’t go below {limit}"),
            left => format!("This bath and the {left} left can’t go below {limit}"),
        };
        let unsaid = matches!(self.now.ready_from, BathsFrom::NoTap | BathsFrom::NoBuckets);
        let reach = format!("{reach}{}", if unsaid { ", and no other bath is known of." } else { "." });
        let card = match ice_needed {
            Some(ice) if self.now.ready.is_empty() && self.is_ice_bath() => {
                let act = format!("Add {} of ice to this bath.", self.ice(ice));
                CardTold::new(act, format!("{reach} That much would just do."))
            }
            Some(ice) if self.now.ready.is_empty() => {
                let act = format!("Get one more bath, or {} of ice.", self.ice(ice));
                CardTold::new(act, format!("{reach} That much ice in it would just do; in a fresh bath, less."))
            }
            Some(ice) => {
                let ice = self.ice(ice);
                CardTold::new(
                    "Get ice, or one more bath.",
                    format!("{reach} {ice} of ice in this one would just do; in the last, less."),
                )
            }
            None => CardTold::new("Get one more bath.", reach),
        };
        if unsaid { card.link(format!("{}/chill-plan", self.batch), "Say which baths there are") } else { card }
    }

    fn ice_to_get(&self, short: Short) -> String {
        format!(
            "Meanwhile get {} of ice for bath {}: with every bath as it is now you would stop at {}.",
            self.ice(Mass::from_kilograms(short.ice_kg)),
            short.bath,
            self.about(Temperature::from_celsius(short.coldest_c))
        )
    }

    fn stir(&self, stir: &StirNow, coil: &Move) -> CardTold {
        let saves = stir.saves.filter(|saves| *saves >= WORTH);
        let saves = saves.map(|saves| format!(" A good stir saves {}.", about_minutes(saves)));
        let watts = |coil: Estimate| coil.conductance.watts_per_kelvin();
        let known = match stir.known {
            StirKnown::OtherDays => format!(
                "The coil takes {:.0}\u{a0}W for each degree here, {:.0} on other days.",
                watts(stir.now),
                watts(stir.usual)
            ),
            StirKnown::EarlierStir(before, after) => format!(
                "Your last stir took the coil from {:.0} to {:.0}\u{a0}W for each degree; this bath has had none.",
                watts(before),
                watts(after)
            ),
        };
        let mut card = CardTold::new("Stir the bath.", format!("{known}{}", saves.unwrap_or_default()));
        if let Move::Stay { change: Some(NextChange { after, to }), .. } = coil {
            card.why.push(format!("Then, {}, move the coil to {}.", self.at(*after), self.bath(*to)));
        }
        card
    }

    /// Whether the coil stands in a bath that was given ice.
    fn is_ice_bath(&self) -> bool {
        let is_ice = self.now.stage().is_some_and(|(stage, _)| stage.cooling.method == Cooling::IceBath);
        is_ice || self.now.ice_put_in() > 0.0
    }

    /// Is it enough ice? Told of a bath that has or had some.
    fn ice_told(&self, ice: &IceNow, coil: &Move) -> Option<String> {
        if !self.is_ice_bath() || matches!(coil, Move::Done) {
            return None;
        }
        let left = if ice.left < NO_ICE {
            "The ice is gone".to_owned()
        } else {
            let shown = self.frame.show((ice.left.kilograms() * 10.0).round() / 10.0, Dimension::Mass);
            match ice.gone_in {
                Some(gone) if gone < FOR_EVER => format!("{shown} of ice left, gone {}", self.at(gone)),
                _ => format!("{shown} of ice left, and it lasts"),
            }
        };
        Some(match ice.would_just_do {
            // The card's own act says it.
            _ if matches!(coil, Move::FallsShort { .. }) => format!("{left}."),
            Some(more) if more > Mass::ZERO => format!("{left}: have {} more ready.", self.ice(more)),
            Some(_) => format!("{left}: it is enough."),
            None => format!("{left}, and no amount more in this bath would do."),
        })
    }

    fn water(&self, cost: &WaterCost) -> String {
        let half = cost.at_half_flow.map(|(after, water)| {
            let longer = minutes((after - cost.after).max(TimeSpan::ZERO));
            format!(" At half the flow: {}, and {longer} longer.", self.litres(water.litres()))
        });
        format!("About {} more water at this flow.{}", self.litres(cost.water.litres()), half.unwrap_or_default())
    }

    fn too_unsure(&self, outlook: &Outlook, coil: Estimate) -> CardTold {
        CardTold::new(
            "Log a reading or two more.",
            format!(
                "So far the coil may take anything from {:.0} to {:.0}\u{a0}W for each degree{}: too wide to advise on.",
                (coil.conductance - coil.se).watts_per_kelvin().max(0.0),
                (coil.conductance + coil.se).watts_per_kelvin(),
                basis(outlook.source, self.is_in_bath())
            ),
        )
    }

    fn not_yet(&self, why: NotYet) -> CardTold {
        match why {
            NotYet::NoReading => CardTold::new(
                "Log the wort’s temperature.",
                "From then on this card says what to do, and when you are there.",
            ),
            NotYet::NoStage if self.now.chill.stages.is_empty() => CardTold::new(
                "Put the coil in its first bath.",
                "Log it when the pump runs: the bath’s clock starts there.",
            )
            .link("#new-bath", "Log the first bath"),
            NotYet::NoStage => {
                CardTold::new("The coil is out.", "Log a bath when it goes in again.").link("#new-bath", "Log a bath")
            }
            NotYet::Coolant(unknown) => {
                let card = CardTold::new(unknown_told(unknown), "Without it nothing can be foreseen in this bath.");
                match self.now.chill.stages.last() {
                    Some(stage) => {
                        card.link(format!("{}/entries/{}", self.batch, stage.id), "Put the bath’s line right")
                    }
                    None => card,
                }
            }
            NotYet::TooFewReadings { wanted } => CardTold::new(
                if wanted == 1 { "Log one more reading.".to_owned() } else { format!("Log {wanted} more readings.") },
                "Three in a bath tell what the coil does in it; then the forecast stands here.",
            ),
            NotYet::Undetermined => CardTold::new(
                "Keep reading.",
                "Wort and bath are too near each other, or the readings too few, to tell what the coil does.",
            ),
        }
    }
}

fn unknown_told(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::WaterMass => "Say how much water is in this bath.",
        Unknown::WaterTemperature => "Say how warm the cooling water was.",
        Unknown::IceMass => "Say how much ice went into this bath.",
    }
}
