use serde_json::json;

use super::outlook::ICE_TO_SPARE;
use super::*;
use crate::brewday::chill_plan::{ChillPlanRequest, CoilPasses, KeptPlan};
use crate::brewday::choices::EquipmentKind;
use crate::brewday::testing::{Day, MORNING, equipment};
use crate::science::chilling::advice::Move;
use crate::science::chilling::exchange::Limit;
use crate::science::chilling::forecast::Forecast;
use crate::science::chilling::live::Source;
use crate::science::chilling::remedies::StirKnown;
use crate::science::chilling::stage::{Coolant, Moment, Stage};
use crate::science::units::Temperature;

/// W/K of the coil in these tests.
const COIL: f64 = 120.0;

/// A day whose wort follows the closed form of the stages exactly: the page
/// then has to find back what was put in.
struct Kitchen {
    day: Day,
    wort_c: f64,
    minute: f64,
    stage: Option<Stage>,
    stage_from: f64,
    coil: f64,
}

impl Kitchen {
    /// Flame-out at minute nil, three buckets of 17 L, the tap at 12 °C.
    fn new() -> Self {
        let mut day = Day::new();
        for id in 4..7 {
            day.batch.equipment.push(equipment(id, EquipmentKind::Bucket, json!({"volume_l": 17})));
        }
        day.at(0.0, json!({"kind": "flame_out"}));
        day.at(0.0, json!({"kind": "temperature", "place": "wort", "temperature_c": 97.0}));
        Self { day, wort_c: 97.0, minute: 0.0, stage: None, stage_from: 0.0, coil: COIL }
    }

    /// The coil goes into a bath.
    fn bath(&mut self, water_l: f64, water_c: f64, ice_kg: f64) {
        let method = if ice_kg > 0.0 { "ice_bath" } else { "still_bath" };
        let body = json!({"kind": "cooling_started", "method": method,
            "water_l": water_l, "water_c": water_c, "ice_kg": ice_kg});
        self.day.at(self.minute, body);
        let chill = Chill::of(&self.day.fold()).expect("it has begun");
        let coolant = chill.series.stages().last().expect("just begun").coolant().expect("all is known");
        let start = Moment { wort: Temperature::from_celsius(self.wort_c), coolant };
        self.stage = Some(Stage::begin(start, chill.kettle, Conductance::from_watts_per_kelvin(self.coil)));
        self.stage_from = self.minute;
    }

    /// The bath is stirred: the coil takes another conductance from here on.
    fn stirs(&mut self, coil: f64) {
        self.day.at(self.minute, json!({"kind": "bath_stirred"}));
        let since = TimeSpan::from_minutes(self.minute - self.stage_from);
        let moment = self.stage.as_ref().expect("a bath").at(since);
        let kettle = Chill::of(&self.day.fold()).expect("it has begun").kettle;
        self.stage = Some(Stage::begin(moment, kettle, Conductance::from_watts_per_kelvin(coil)));
        self.stage_from = self.minute;
    }

    fn wait(&mut self, minutes: f64) {
        self.minute += minutes;
        let since = TimeSpan::from_minutes(self.minute - self.stage_from);
        self.wort_c = self.stage.as_ref().map_or(self.wort_c, |stage| stage.at(since).wort.celsius());
    }

    fn read(&mut self, minutes: f64) {
        self.wait(minutes);
        self.reads(self.wort_c);
    }

    fn reads(&mut self, wort_c: f64) {
        self.day.at(self.minute, json!({"kind": "temperature", "place": "wort", "temperature_c": wort_c}));
    }

    /// The page so many minutes after the last thing that was done.
    fn now(&self, after: f64) -> ChillNow {
        self.now_with(after, None)
    }

    fn now_with(&self, after: f64, usual: Option<Estimate>) -> ChillNow {
        let now = MORNING + Duration::seconds_f64((self.minute + after) * 60.0);
        ChillNow::of(&self.day.fold(), usual, now).expect("it has begun")
    }

    /// Where wort and bath would meet, by the balance of heat from where they stand now.
    fn limit(&self) -> f64 {
        let chill = Chill::of(&self.day.fold()).expect("it has begun");
        let since = TimeSpan::from_minutes(self.minute - self.stage_from);
        let moment = self.stage.as_ref().expect("a bath").at(since);
        let Coolant::Bath(bath) = moment.coolant else { panic!("a bath") };
        let wort = chill.kettle.wort.joules_per_kelvin();
        let water = bath.mass().kilograms() * 4186.0;
        (wort * moment.wort.celsius() + bath.heat().joules()) / (wort + water)
    }

    fn first_bath() -> Self {
        let mut kitchen = Self::new();
        kitchen.bath(17.0, 12.0, 0.0);
        for _ in 0..4 {
            kitchen.read(1.5);
        }
        kitchen
    }
}

fn outlook(now: &ChillNow) -> &Outlook {
    now.outlook.as_ref().expect("there are readings enough")
}

#[test]
fn a_moving_wort_says_how_fast_and_what_this_bath_can_do() {
    let kitchen = Kitchen::first_bath();
    let now = kitchen.now(0.5);
    assert_eq!(now.hold.verdict, Verdict::Moving);
    let reading = now.reading.expect("four were taken");
    assert_eq!(reading.age, Duration::seconds(30));
    assert!(reading.fall_c_per_min.is_some_and(|fall| fall > 3.0), "{reading:?}");
    assert_eq!(reading.since_change.map(TimeSpan::minutes), Some(6.0));
    // The closed form that made the readings says how cold this bucket can get the wort.
    let limit = kitchen.limit();
    assert!((outlook(&now).limit_c - limit).abs() < 0.3, "{} for {limit}", outlook(&now).limit_c);
    assert!(matches!(outlook(&now).forecast, Forecast::CannotReach { .. }));
    assert!((outlook(&now).coil.conductance.watts_per_kelvin() - COIL).abs() < 5.0);
}

#[test]
fn baths_not_used_yet_are_the_buckets_after_the_first() {
    let now = Kitchen::first_bath().now(0.5);
    let numbers: Vec<usize> = now.ready.iter().map(|bath| bath.number).collect();
    assert_eq!((numbers, now.ready_from), (vec![2, 3], BathsFrom::Buckets(12.0)));
    let advice = outlook(&now).advice.expect("the coil is known well");
    assert!(matches!(advice.coil, Move::FallsShort { .. } | Move::ChangeNow { .. } | Move::Stay { .. }));
}

#[test]
fn a_kept_plan_says_which_baths_there_are_and_what_ice() {
    let mut kitchen = Kitchen::first_bath();
    let body = json!({"wort_l": 20, "wort_plato": 12, "wort_c": 97, "target_c": 19, "conductance_w_per_k": 120,
        "ice_available_kg": 9, "baths": [{"water_l": 17, "water_c": 12}, {"water_l": 15, "water_c": 12},
        {"water_l": 10, "water_c": 12, "ice_kg": 6}]});
    let request = ChillPlanRequest::from_body(&body).expect("a sound request");
    kitchen.day.batch.chill_plan = Some(KeptPlan::of(request, &CoilPasses::given(COIL)));
    let now = kitchen.now(0.5);
    assert_eq!(now.ready_from, BathsFrom::Plan);
    let told: Vec<(f64, f64)> = now.ready.iter().map(|ready| (ready.bath.water_l, ready.bath.ice_kg)).collect();
    assert_eq!(told, [(15.0, 0.0), (10.0, 9.0)], "the ice that no bath has yet goes in the last");
}

#[test]
fn without_buckets_or_a_tap_temperature_that_is_said() {
    let mut kitchen = Kitchen::first_bath();
    kitchen.day.batch.tap_c = None;
    assert_eq!(kitchen.now(0.5).ready_from, BathsFrom::NoTap);
    kitchen.day.batch.equipment.truncate(3);
    let now = kitchen.now(0.5);
    assert_eq!((now.ready.len(), now.ready_from), (0, BathsFrom::NoBuckets));
}

#[test]
fn a_bath_the_coil_has_just_moved_to_is_foreseen_before_it_is_read() {
    let mut kitchen = Kitchen::first_bath();
    let before = outlook(&kitchen.now(0.0)).limit_c;
    kitchen.wait(1.0);
    kitchen.bath(17.0, 12.0, 0.0);
    let limit = kitchen.limit();
    kitchen.wait(2.0);
    let now = kitchen.now(0.0);
    let outlook = outlook(&now);
    assert!(limit < before - 10.0);
    assert!((outlook.limit_c - limit).abs() < 0.4, "{} for {limit}", outlook.limit_c);
    assert!((outlook.path[0].likely_c - kitchen.wort_c).abs() < 0.4, "{:?} for {}", outlook.path[0], kitchen.wort_c);
    assert_eq!(outlook.source, Source::EarlierStages);
    assert!(outlook.path[0].low_c < outlook.path[0].likely_c && outlook.path[0].likely_c < outlook.path[0].high_c);
}

#[test]
fn ice_added_since_the_last_reading_counts() {
    let mut kitchen = Kitchen::first_bath();
    kitchen.bath(10.0, 12.0, 2.0);
    for _ in 0..3 {
        kitchen.read(0.3);
    }
    let ice_left = |now: &ChillNow| outlook(now).advice.expect("known").ice.expect("a bath").left.kilograms();
    assert!(ice_left(&kitchen.now(0.1)) < 0.5);
    kitchen.day.at(kitchen.minute + 0.1, json!({"kind": "ice_added", "ice_kg": 3.0}));
    let now = kitchen.now(0.2);
    assert!(ice_left(&now) > 1.0);
    assert!((now.ice_put_in() - 5.0).abs() < 1e-9);
}

#[test]
fn a_coil_of_known_habit_is_foreseen_from_the_first_bath_on() {
    let mut kitchen = Kitchen::new();
    kitchen.wait(0.5);
    kitchen.bath(17.0, 12.0, 0.0);
    kitchen.wait(1.0);
    let usual = usual([118.0, 121.0, 120.0, 119.0, 122.0, 10.0]);
    assert_eq!(usual.map(|usual| usual.conductance.watts_per_kelvin()), Some(120.0), "the last five only");
    let now = kitchen.now_with(0.0, usual);
    assert_eq!(outlook(&now).source, Source::Usual);
    assert!((outlook(&now).path[0].likely_c - kitchen.wort_c).abs() < 1.0);
    let unknown = kitchen.now(0.0).outlook.err();
    assert_eq!(unknown, Some(NotKnown::NotYet(NotYet::TooFewReadings { wanted: FEWEST_WANTED })));
}

const FEWEST_WANTED: usize = 3;

#[test]
fn holding_says_when_to_read_again_and_when_the_pass_is_full() {
    let mut kitchen = Kitchen::first_bath();
    for _ in 0..3 {
        kitchen.minute += 2.0;
        kitchen.reads(19.0);
    }
    let now = kitchen.now(1.0);
    assert!(matches!(now.hold.verdict, Verdict::Holding { held, .. } if held.minutes() == 4.0), "{:?}", now.hold);
    let minutes = |at: Option<OffsetDateTime>| at.map(|at| (at - MORNING).as_seconds_f64() / 60.0);
    // Ten minutes to a pass: the last reading stood at 12, the first of the hold at 8.
    assert_eq!((minutes(now.hold.read_by), minutes(now.hold.full_at)), (Some(17.0), Some(18.0)));
    assert_eq!(now.hold.in_range, None);
}

#[test]
fn a_dip_is_named_for_one_pass_and_a_settled_wort_is_held_to_the_yeasts_range() {
    let mut kitchen = Kitchen::first_bath();
    for celsius in [24.0, 19.0, 21.5] {
        kitchen.minute += 2.0;
        kitchen.reads(celsius);
    }
    let dip = kitchen.now(0.0).hold.dip.expect("it fell and climbed");
    assert!((dip.lowest.celsius() - 19.0).abs() < 1e-9 && (dip.climb.kelvins() - 2.5).abs() < 1e-9);
    for _ in 0..6 {
        kitchen.minute += 2.0;
        kitchen.reads(21.5);
    }
    let now = kitchen.now(0.0);
    assert_eq!(now.hold.dip, None);
    assert!(matches!(now.hold.verdict, Verdict::Settled { .. }), "{:?}", now.hold);
    assert_eq!(now.hold.in_range, Some(InRange::Above));
}

#[test]
fn nothing_is_foreseen_from_an_old_reading_or_with_the_coil_out_or_after_the_end() {
    let mut kitchen = Kitchen::first_bath();
    assert_eq!(kitchen.now(31.0).outlook.err(), Some(NotKnown::Stale));
    kitchen.day.at(kitchen.minute + 0.5, json!({"kind": "coil_drained", "recovered_l": 0.8}));
    assert_eq!(kitchen.now(1.0).outlook.err(), Some(NotKnown::NotYet(NotYet::NoStage)));
    kitchen.day.at(kitchen.minute + 1.0, json!({"kind": "pitched", "yeast": "House ale"}));
    let now = kitchen.now(2.0);
    assert_eq!((now.outlook.err(), now.over.is_some()), (Some(NotKnown::Over), true));
    assert!(now.chill.stages.iter().all(|stage| stage.ended.is_some()));
}

#[test]
fn a_chill_taken_up_again_is_not_over() {
    let mut kitchen = Kitchen::first_bath();
    kitchen.day.at(kitchen.minute, json!({"kind": "stage_finished", "stage": "chill"}));
    assert!(kitchen.now(0.1).over.is_some());
    kitchen.day.at(kitchen.minute + 0.2, json!({"kind": "stage_started", "stage": "chill"}));
    assert!(kitchen.now(0.3).over.is_none());
}

#[test]
fn before_flame_out_there_is_nothing_to_tell() {
    assert!(ChillNow::of(&Day::new().fold(), None, MORNING).is_none());
}

#[test]
fn a_warm_bath_is_not_helped_out_by_a_cool_room() {
    let mut kitchen = Kitchen::first_bath();
    // Above the room's 20 °C: given a night the room alone would get there.
    kitchen.day.batch.recipe.target_pitch_c = 24.0;
    kitchen.day.batch.equipment.truncate(3);
    let now = kitchen.now(0.1);
    let limit = kitchen.limit();
    let Forecast::CannotReach { limit: told } = outlook(&now).forecast else { panic!("{:?}", outlook(&now)) };
    assert!((told.celsius() - limit).abs() < 0.4, "{told:?} for {limit}");
    let advice = outlook(&now).advice.expect("the coil is known");
    let Move::FallsShort { coldest, ice_needed } = advice.coil else { panic!("{advice:?}") };
    assert!((coldest - told).kelvins().abs() < 1e-6);
    // By the balance of heat: each kilogram takes 333.43 kJ and 24 × 4.186 kJ more.
    let bath = kitchen.day.fold();
    let wort = Chill::of(&bath).expect("it has begun").kettle.wort.joules_per_kelvin();
    let needed = (limit - 24.0) * (wort + 17.0 * 4186.0) / (333_430.0 + 24.0 * 4186.0);
    assert!((ice_needed.expect("some amount does").kilograms() - needed).abs() < 0.1, "{ice_needed:?} for {needed}");
}

#[test]
fn baths_that_fall_short_say_what_ice_mends_it_and_in_which() {
    let kitchen = Kitchen::first_bath();
    let now = kitchen.now(0.0);
    let short = outlook(&now).short.expect("three buckets from the tap do not do");
    assert_eq!(short.bath, 3);
    // By the balance of heat, bath after bath: 17 L each at 12 °C.
    let wort = now.chill.kettle.wort.joules_per_kelvin();
    let water = 17.0 * 4186.0;
    let meet = |wort_c: f64| (wort * wort_c + water * 12.0) / (wort + water);
    let second = meet(kitchen.limit());
    assert!((short.coldest_c - meet(second)).abs() < 0.3, "{short:?} for {}", meet(second));
    let needed = (meet(second) - 19.0) * (wort + water) / (333_430.0 + 19.0 * 4186.0);
    assert!((short.ice_kg - ICE_TO_SPARE * needed).abs() < 0.15, "{short:?} for {needed}");
    let advice = outlook(&now).advice.expect("the coil is known");
    assert!(matches!(advice.coil, Move::ChangeNow { to: 0, .. } | Move::Stay { .. }), "{advice:?}");
}

#[test]
fn with_every_bucket_used_one_is_counted_on_to_be_filled_anew() {
    let mut kitchen = Kitchen::first_bath();
    for _ in 0..2 {
        kitchen.bath(17.0, 12.0, 0.0);
        kitchen.read(1.0);
    }
    let told = |kitchen: &Kitchen| {
        let ready = kitchen.now(0.0).ready;
        ready.iter().map(|ready| (ready.number, ready.name.clone(), ready.is_refill)).collect::<Vec<_>>()
    };
    assert_eq!(told(&kitchen), [(4, Some("Number 4".to_owned()), true)]);
    kitchen.day.batch.equipment.truncate(4);
    assert_eq!(told(&kitchen), [], "the coil stands in the only one");
}

#[test]
fn a_stir_that_helped_is_counted_on_and_asked_for_in_the_next_bath() {
    let mut kitchen = Kitchen::new();
    kitchen.coil = 75.0;
    kitchen.bath(17.0, 12.0, 0.0);
    for _ in 0..6 {
        kitchen.read(1.2);
    }
    kitchen.stirs(120.0);
    for _ in 0..6 {
        kitchen.read(1.2);
    }
    let now = kitchen.now(0.1);
    let coil = outlook(&now).coil.conductance.watts_per_kelvin();
    assert!((coil - 120.0).abs() < 8.0, "as it is since the stir: {coil}");
    assert_ne!(outlook(&now).limited_by, Limit::Stirring, "it was stirred");
    let limited = crate::brewday::Summary::of(&kitchen.day.fold()).chill.limited_by;
    assert_eq!(limited, crate::brewday::summary::LimitedBy::Stirring);

    kitchen.bath(17.0, 12.0, 0.0);
    for _ in 0..3 {
        kitchen.read(1.2);
    }
    let now = kitchen.now(0.1);
    assert_eq!(outlook(&now).limited_by, Limit::Stirring);
    let stir = outlook(&now).advice.as_ref().expect("known").stir.expect("it helped before");
    let StirKnown::EarlierStir(before, after) = stir.known else { panic!("{stir:?}") };
    assert!(before.conductance.watts_per_kelvin() < 85.0 && after.conductance.watts_per_kelvin() > 110.0, "{stir:?}");
    kitchen.stirs(120.0);
    kitchen.read(0.5);
    let stir = outlook(&kitchen.now(0.1)).advice.as_ref().expect("known").stir;
    assert_eq!(stir, None, "this one was stirred");
}

#[test]
fn a_kettle_that_stands_is_measured_and_the_bath_after_it_is_foreseen() {
    let mut kitchen = Kitchen::first_bath();
    let assumed = kitchen.now(0.1);
    assert_eq!(assumed.loss_from, LossFrom::Assumed);
    kitchen.day.at(kitchen.minute + 0.5, json!({"kind": "cooling_started", "method": "air"}));
    kitchen.wait(0.5);
    assert_eq!(kitchen.now(0.1).standing().map(|(_, readings)| readings), Some(0));
    // 7 W/K on 20 L of wort, twenty minutes by Newton's law of cooling.
    let wort = assumed.chill.kettle.wort.joules_per_kelvin();
    let from_c = kitchen.wort_c;
    for minutes in [0.0_f64, 20.0] {
        kitchen.minute += minutes;
        kitchen.reads(20.0 + (from_c - 20.0) * (-7.0 * minutes * 60.0 / wort).exp());
    }
    let now = kitchen.now(0.1);
    let LossFrom::Today(loss) = now.loss_from else { panic!("{:?}", now.loss_from) };
    let (watts, se) = (loss.conductance.watts_per_kelvin(), loss.se.watts_per_kelvin());
    assert!((watts - 7.0).abs() < 0.5 && se < 1.0, "{watts} ± {se}");
    assert_eq!(now.standing(), None);
    let told = crate::brewday::Summary::of(&kitchen.day.fold()).chill;
    assert!((told.kettle_loss_w_per_k.expect("measured") - watts).abs() < 1e-9);
    let body = json!({"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12});
    kitchen.day.at(kitchen.minute + 0.5, body);
    assert_eq!(outlook(&kitchen.now(1.0)).source, Source::EarlierStages, "the coil is known from the first bath");
}
