use jiff::tz::TimeZone;
use serde_json::{Value, json};
use time::Duration;

use super::*;
use crate::brewday::choices::{EquipmentKind, TemperatureUnit};
use crate::brewday::testing::{Day, MORNING, equipment};
use crate::web::page::Light;
use crate::web::when::Clock;

/// A chill of 20 L: the coil, three buckets of 17 L, a tap at 12 °C.
struct Chill(Day);

impl Chill {
    fn new() -> Self {
        let mut day = Day::new();
        for id in 4..7 {
            day.batch.equipment.push(equipment(id, EquipmentKind::Bucket, json!({"volume_l": 17})));
        }
        Self(day)
    }

    fn flame_out() -> Self {
        Self::new().log(0.0, json!({"kind": "flame_out"}))
    }

    fn log(mut self, minute: f64, body: Value) -> Self {
        self.0.at(minute, body);
        self
    }

    fn bath(self, minute: f64, ice_kg: f64) -> Self {
        let method = if ice_kg > 0.0 { "ice_bath" } else { "still_bath" };
        self.log(
            minute,
            json!({"kind": "cooling_started", "method": method, "water_l": 17, "water_c": 12, "ice_kg": ice_kg}),
        )
    }

    fn reads(self, readings: &[(f64, f64)]) -> Self {
        readings.iter().fold(self, |chill, (minute, celsius)| {
            chill.log(*minute, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}))
        })
    }

    /// Three baths, the last with ice, and what the thermometer said.
    fn iced(self) -> Self {
        let one = [(0.2, 97.5), (2.5, 86.8), (4.0, 79.0), (5.5, 73.3), (7.0, 69.1), (8.5, 65.9)];
        let two = [(11.0, 57.0), (12.5, 51.8), (14.0, 48.0), (15.5, 45.1), (17.0, 43.0)];
        let three = [(19.5, 35.0), (21.0, 30.1), (22.5, 26.4), (24.0, 23.7), (25.5, 21.6), (27.0, 20.1)];
        self.bath(1.0, 0.0).reads(&one).bath(9.5, 0.0).reads(&two).bath(18.0, 6.0).reads(&three)
    }

    /// The words at a minute of the day.
    fn at(&self, minute: f64) -> Told {
        self.spoken(minute, TemperatureUnit::Celsius)
    }

    fn spoken(&self, minute: f64, unit: TemperatureUnit) -> Told {
        let now = MORNING + Duration::seconds_f64(minute * 60.0);
        let mut frame = Frame::bare(Light::Device);
        frame.settings.units.temperature = unit;
        frame.clock = Clock::at(now, TimeZone::UTC);
        let now = ChillNow::of(&self.0.fold(), None, now).expect("it has begun");
        let words = Words {
            frame: &frame,
            now: &now,
            batch: "/batches/1".into(),
            hold_up_l: Some(1.2),
            pitch_c: (17.0, 21.0),
            target_c: 19.0,
        };
        Told { verdict: words.verdict(), when: words.when(), card: words.card(), assumed: words.assumed() }
    }
}

#[derive(Debug)]
struct Told {
    verdict: VerdictTold,
    when: String,
    card: Option<CardTold>,
    assumed: Vec<String>,
}

impl Told {
    fn act(&self) -> &str {
        self.card.as_ref().map_or("", |card| &card.act)
    }

    fn why(&self) -> String {
        self.card.as_ref().map_or_else(String::new, |card| card.why.join(" ")).replace('\u{a0}', " ")
    }

    fn verdict(&self) -> String {
        format!("{} {}", self.verdict.lead, self.verdict.rest).replace('\u{a0}', " ")
    }
}

#[test]
fn what_is_missing_is_asked_for_by_name() {
    let started = |body: Value| Chill::flame_out().log(1.0, body).reads(&[(2.0, 90.0), (4.0, 80.0), (6.0, 74.0)]);
    let still = |fields: Value| {
        let mut body = json!({"kind": "cooling_started", "method": "still_bath"});
        body.as_object_mut().expect("an object").extend(fields.as_object().expect("an object").clone());
        body
    };
    let ice = json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 10, "water_c": 12});
    for (chill, act) in [
        (Chill::flame_out(), "Log the wort’s temperature."),
        (Chill::flame_out().reads(&[(0.5, 97.0)]), "Put the coil in its first bath."),
        (Chill::flame_out().bath(1.0, 0.0).reads(&[(2.0, 90.0), (4.0, 80.0)]), "Log one more reading."),
        (started(still(json!({"water_c": 12}))), "Say how much water is in this bath."),
        (started(still(json!({"water_l": 17}))), "Say how warm the cooling water was."),
        (started(ice), "Say how much ice went into this bath."),
        (
            Chill::flame_out()
                .iced()
                .log(28.0, json!({"kind": "coil_drained", "recovered_l": 1}))
                .reads(&[(28.5, 24.0)]),
            "The coil is out.",
        ),
    ] {
        let told = chill.at(7.0_f64.max(if act == "The coil is out." { 29.0 } else { 0.0 }));
        assert_eq!(told.act(), act, "{told:?}");
        assert!(!told.why().is_empty());
    }
    assert_eq!(Chill::flame_out().iced().at(58.0).act(), "Read the wort again.", "31 min after the last reading");
}

#[test]
fn a_reading_is_moving_holding_dipped_or_settled() {
    let moving = Chill::flame_out().iced();
    assert_eq!(
        moving.at(23.0).verdict(),
        "Still moving. Falling 1.2 °C a minute, 9 min after the bath was changed or stirred."
    );
    let hold = [(29.0, 19.3), (32.0, 19.1)];
    let holding = Chill::flame_out().iced().reads(&hold);
    assert!(
        holding.at(33.0).verdict().starts_with("Holding, 3:00 of 10:00. Counts at 09:39 if it stays within 0.5 °C.")
    );
    assert!(holding.at(38.0).verdict().ends_with("Read it now: after too long a gap the hold starts again."));
    assert_eq!(holding.at(33.0).verdict.progress, Some((180, 600)));
    let dipped = Chill::flame_out().iced().reads(&[(29.0, 17.4), (31.0, 19.6)]);
    assert!(dipped.at(31.0).verdict().starts_with("That was a passing dip. It read 17.4 °C, then climbed 2.2 °C:"));
    let settled = Chill::flame_out().iced().reads(&hold).reads(&[(35.0, 19.2), (39.0, 19.1)]);
    let told = settled.at(39.0);
    assert_eq!(told.verdict(), "Settled. 19.2 °C for 10:00: this is the wort’s temperature.");
    assert!(told.verdict.is_fine);
    assert_eq!((told.act(), told.when.as_str()), ("Drain the coil, then pitch.", "you are there"));
    assert!(told.why().contains("1.20 L"), "{}", told.why());
    assert!(told.assumed.is_empty());
}

#[test]
fn settled_outside_the_yeasts_range_is_not_fine() {
    let held = |celsius: f64| {
        let readings = [29.0, 32.0, 35.0, 39.0].map(|minute| (minute, celsius));
        Chill::flame_out().iced().reads(&readings).at(39.0)
    };
    let warm = held(24.0);
    assert_eq!(warm.verdict(), "Settled, but too warm. 24.0 °C for 10:00 counts. Your yeast wants 21 °C or less.");
    let cold = held(15.0);
    assert_eq!(cold.verdict(), "Settled, but too cold. 15.0 °C for 10:00 counts. Your yeast wants 17 °C or more.");
    assert!(!warm.verdict.is_fine && !cold.verdict.is_fine);
    assert_eq!(cold.act(), "Take the coil out of the bath.");
}

#[test]
fn advice_names_the_bath_the_reason_and_the_gain() {
    let early = [(0.2, 97.5), (2.5, 86.8), (4.0, 79.0), (5.5, 73.3), (7.0, 69.1), (8.5, 65.9)];
    let told = Chill::flame_out().bath(1.0, 0.0).reads(&early).at(8.6);
    assert!(told.act().starts_with("Stay in this bath for about "), "{told:?}");
    assert!(told.why().starts_with("Then move the coil to bath 2."), "{}", told.why());
    assert!(told.card.as_ref().is_some_and(|card| !card.is_calm), "there is ice to get");
    let late = [(10.0, 63.6), (11.5, 61.9), (13.0, 60.6), (14.5, 59.7), (16.0, 59.0)];
    let told = Chill::flame_out().bath(1.0, 0.0).reads(&early).reads(&late).at(16.1);
    assert_eq!(told.act(), "Move the coil to bath 2 now.");
    assert!(told.why().starts_with("Left in this bath the wort would still be at "), "{}", told.why());
    assert!(
        told.why().contains("kg of ice for bath 3: with every bath as it is now you would stop at "),
        "{}",
        told.why()
    );
    // Told at 09:16; the coil has to move for it, and the ice to come.
    let when = told.when.replace('\u{a0}', " ");
    let (clock, rest) = when.split_once(", in ").expect("a time, and how long until then");
    let (minutes, provided) = rest.split_once(" min").expect("minutes");
    let there: i64 = minutes.parse().expect("a number");
    let at = MORNING + Duration::seconds(966) + Duration::minutes(there);
    let told_at = clock.strip_prefix("about 0").and_then(|at| at.split_once(':')).expect("a time");
    let told_at = MORNING.replace_time(
        time::Time::from_hms(told_at.0.parse().expect("an hour"), told_at.1.parse().expect("a minute"), 0)
            .expect("a time"),
    );
    assert!((at - told_at).abs() <= Duration::SECOND * 90, "{when}");
    assert!(provided.ends_with(", if you move the coil now, with the ice"), "{when}");
    assert!(told.assumed.iter().any(|line| line.contains("bath 3 (Number 6), 17.0\u{a0}L")), "{:?}", told.assumed);
}

#[test]
fn at_the_target_the_coil_comes_out_and_the_reading_goes_on() {
    let there = Chill::flame_out().iced().reads(&[(28.5, 18.9)]);
    assert_eq!(there.at(28.6).act(), "You are at the target: lift the coil out, pump on.");
    let out = there.log(29.0, json!({"kind": "cooling_started", "method": "air"})).reads(&[(30.0, 19.2)]);
    let told = out.at(30.5);
    assert_eq!((told.act(), told.when.as_str()), ("Keep the pump running, and read.", "reached"));
}

#[test]
fn a_chill_that_is_over_is_told_as_it_was() {
    let over = |chill: Chill, minute: f64| {
        let chill = chill.log(minute, json!({"kind": "pitched", "yeast": "Ale", "wort_c": 19}));
        chill.at(minute + 60.0)
    };
    let hold = [(29.0, 19.3), (32.0, 19.1)];
    let settled = over(Chill::flame_out().iced().reads(&hold).reads(&[(35.0, 19.2), (39.0, 19.1)]), 40.0);
    assert_eq!(settled.verdict(), "Settled. 19.2 °C for 10:00: that was the wort’s temperature.");
    assert_eq!((settled.when.as_str(), &settled.card), ("reached", &None));
    assert!(settled.verdict.is_fine && settled.verdict.rule.starts_with("Counted as "), "{settled:?}");
    let moving = over(Chill::flame_out().iced(), 28.0);
    assert_eq!(
        moving.verdict(),
        "It was still moving when the chill ended. It fell 1.2 °C a minute at the last reading."
    );
    assert_eq!(moving.when, "");
    let holding = over(Chill::flame_out().iced().reads(&hold), 33.0);
    assert_eq!(holding.verdict(), "It had held for 3:00 of 10:00. The chill ended before it settled.");
    let warm = over(Chill::flame_out().iced().reads(&[29.0, 32.0, 35.0, 39.0].map(|minute| (minute, 24.0))), 40.0);
    assert_eq!(warm.verdict(), "Settled too warm. 24.0 °C for 10:00. The yeast wanted 17 °C to 21 °C.");
}

#[test]
fn an_unknown_pass_never_settles_and_says_why() {
    let mut chill = Chill::flame_out().iced().reads(&[29.0, 32.0, 35.0, 39.0].map(|minute| (minute, 19.1)));
    chill.0.batch.equipment[0] = equipment(1, EquipmentKind::Coil, json!({"hold_up_l": 1.2}));
    let told = chill.at(39.0);
    assert!(told.verdict().starts_with("Holding for 1"), "{}", told.verdict());
    assert_eq!(told.verdict.progress, None);
    assert!(told.verdict.rule.starts_with("How long one full pass takes is not known"));
}

#[test]
fn a_brewer_of_fahrenheit_reads_fahrenheit() {
    let told = Chill::flame_out().iced().spoken(23.0, TemperatureUnit::Fahrenheit);
    let all = format!("{} {} {:?}", told.verdict(), told.why(), told.assumed);
    assert!(all.contains("°F") && !all.contains("°C"), "{all}");
    // 23.7 to 20.1 °C in three minutes: 1.2 × 1.8.
    assert!(told.verdict().contains("Falling 2.2 °F a minute"), "{}", told.verdict());
}

#[test]
fn figures_are_rounded_as_they_are_worth() {
    let frame = Frame::bare(Light::Device);
    for (celsius, told) in [(23.4, "23\u{a0}°C"), (-0.3, "0\u{a0}°C"), (-4.6, "−5\u{a0}°C")] {
        assert_eq!(whole_degrees(&frame, Temperature::from_celsius(celsius)), told);
    }
    for (minutes, told) in [(0.5, "less than a minute"), (4.4, "about 4\u{a0}min"), (130.0, "about 2\u{a0}h")] {
        assert_eq!(about_minutes(TimeSpan::from_minutes(minutes)), told);
    }
    assert_eq!(clock(TimeSpan::from_seconds(365.4)), "6:05");
}
