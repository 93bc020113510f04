//! The chill page and its plan, as a browser without scripts meets them.

use gylebook::brewday::batch::NewBatch;
use gylebook::brewday::{Entry, Equipment, Recipe, Typed};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::book::{Answer, TestBook};

/// A batch at its chill: a coil whose pass takes ten minutes, three buckets.
pub(crate) struct Chill {
    pub(crate) book: TestBook,
    pub(crate) batch: i64,
    coil: i64,
    pub(crate) now: OffsetDateTime,
}

impl Chill {
    pub(crate) async fn new() -> Self {
        Self::with(json!({"pass_min": 10, "hold_up_l": 1.2}), Some(12.0)).await
    }

    async fn with(coil: Value, tap_c: Option<f64>) -> Self {
        let book = TestBook::open().await;
        let now = OffsetDateTime::now_utc();
        let recipe = json!({"name": "Pale", "volume_l": 20, "boil_min": 60, "target_pitch_c": 19, "pitch_low_c": 17,
            "pitch_high_c": 21, "fermentables": [{"name": "Malt", "mass_kg": 4.5, "yield_pct": 81, "moisture_pct": 4,
            "colour_ebc": 6, "use": "mash"}], "hops": [], "mash_rests": []});
        let recipe = book.store.add_recipe(&Recipe::from_body(&recipe).expect("a recipe"), now).await.expect("kept");
        let mut equipment = Vec::new();
        let mut pieces = vec![("Coil", "coil", coil)];
        pieces.extend((1..=3).map(|_| ("Bucket", "bucket", json!({"volume_l": 17}))));
        for (name, kind, mut body) in pieces {
            (body["name"], body["kind"]) = (json!(name), json!(kind));
            let piece = Equipment::from_body(&body).expect("a piece of equipment");
            equipment.push(book.store.add_equipment(&piece, now).await.expect("kept"));
        }
        let coil = equipment[0];
        let new =
            NewBatch { recipe, name: None, volume_l: None, equipment, tap_c, altitude_m: None, typed: Typed::new() };
        let batch = book.store.start_batch(&new, now).await.expect("written").expect("a sound batch");
        Self { book, batch, coil, now }
    }

    /// Logs entries, each so many minutes ago.
    pub(crate) async fn log(&self, entries: &[(f64, Value)]) {
        let entry = |(ago, body): &(f64, Value)| {
            let mut body = body.clone();
            (body["id"], body["at"]) = (json!(Uuid::new_v4()), json!("2026-03-07T09:00:00Z"));
            let mut entry = Entry::from_body(&body, self.now, Duration::ZERO).expect("a sound entry");
            entry.at = self.now - Duration::seconds_f64(ago * 60.0);
            entry
        };
        let entries = entries.iter().map(entry).collect();
        let receipt = self.book.store.append(Some(self.batch), entries, None, self.now).await.expect("written");
        assert!(receipt.is_some_and(|receipt| receipt.refused.is_empty()));
    }

    pub(crate) async fn reads(&self, readings: &[(f64, f64)]) {
        let read = |(ago, celsius): &(f64, f64)| {
            (*ago, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}))
        };
        self.log(&readings.iter().map(read).collect::<Vec<_>>()).await;
    }

    /// Flame-out 12 min ago, and a bath under way.
    pub(crate) async fn first_bath(&self) {
        self.log(&[(12.0, json!({"kind": "flame_out"})), (11.0, still(Some(17.0)))]).await;
        self.reads(&[(9.5, 86.8), (8.0, 79.0), (6.5, 73.3), (5.0, 69.1), (3.5, 65.9), (2.0, 63.6), (0.3, 61.7)]).await;
    }

    pub(crate) async fn page(&self) -> Answer {
        let page = self.book.get(&format!("/batches/{}/chill", self.batch)).await;
        assert_eq!(page.status, 200, "{}", page.text);
        page
    }

    /// Sends a form of the page with some fields typed in.
    pub(crate) async fn send(&self, form: &str, typed: &[(&str, &str)]) -> Answer {
        let mut fields = self.page().await.fields(form);
        for (name, text) in typed {
            fields.retain(|(known, _)| known != name);
            fields.push(((*name).to_owned(), (*text).to_owned()));
        }
        self.book.post_form(&format!("/batches/{}/chill", self.batch), &fields).await
    }

    async fn plan_page(&self, asked: &str) -> Answer {
        self.book.get(&format!("/batches/{}/chill-plan{asked}", self.batch)).await
    }
}

pub(crate) fn still(water_l: Option<f64>) -> Value {
    json!({"kind": "cooling_started", "method": "still_bath", "water_l": water_l, "water_c": 12})
}

fn verdict(page: &Answer) -> String {
    page.texts(".verdict p[role=status]").remove(0)
}

pub(crate) fn act(page: &Answer) -> String {
    page.texts(".advice__act").into_iter().next().unwrap_or_default()
}

#[tokio::test]
async fn before_anything_the_page_asks_for_flame_out_and_shows_the_list() {
    let chill = Chill::new().await;
    let page = chill.page().await;
    assert_eq!(page.texts(".missing__what"), ["Flame-out is not logged."]);
    assert!(page.has(".checks__one") && !page.has(".verdict"));
    let sent = chill.send(".missing .act", &[]).await;
    assert_eq!(sent.status, 303);
    let page = chill.page().await;
    assert!(!page.has(".missing"));
    assert_eq!(
        (verdict(&page).as_str(), act(&page).as_str()),
        ("No reading yet. The forecast starts from the first you log.", "Log the wort’s temperature.",)
    );
}

#[tokio::test]
async fn flame_out_can_be_logged_for_when_it_was() {
    let chill = Chill::new().await;
    let sent = chill.send(".missing .panel__form", &[("at", "24:99")]).await;
    assert_eq!(sent.status, 422);
    let fields = sent.fields(".missing .panel__form");
    assert!(fields.contains(&("at".to_owned(), "24:99".to_owned())), "what was typed is still there: {fields:?}");
    assert!(sent.has(".missing details[open]"));
    assert_eq!(chill.send(".missing .panel__form", &[("at", "0:05")]).await.status, 303);
    assert!(!chill.page().await.has(".missing"));
}

#[tokio::test]
async fn a_moving_wort_has_its_reading_forecast_advice_picture_and_numbers() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let page = chill.page().await;
    assert_eq!(page.texts(".reading__value"), ["61.7°C"]);
    assert!(
        page.texts(".reading__goal")[0].starts_with("pitch at 19.0 °C about "),
        "{:?}",
        page.texts(".reading__goal")
    );
    assert!(verdict(&page).starts_with("Still moving. Falling 1.1 °C a minute"), "{}", verdict(&page));
    assert!(act(&page).contains("bath"), "{}", act(&page));
    assert!(page.has("svg.chart-cooling") && page.has("figure figcaption"));
    let rows = page.texts(".numbers tbody tr");
    assert!(rows.iter().any(|row| row.contains("61.7")), "{rows:?}");
    assert!(page.has(&format!("a[href='/api/v1/batches/{}/readings.csv']", chill.batch)));
    assert!(page.texts(".chillstages tbody tr")[0].starts_with("Still bath"));
    assert!(page.texts(".log__what").iter().any(|line| line == "Wort"));
}

#[tokio::test]
async fn the_live_parts_are_answered_alone() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let parts = chill.book.get(&format!("/batches/{}/chill/now", chill.batch)).await;
    assert_eq!(parts.status, 200);
    assert!(parts.has("[data-live='chill-now'] .reading__value") && parts.has("[data-live='chill-picture'] svg"));
    assert!(!parts.has("form") && !parts.has("header"));
    assert_eq!(chill.book.get("/batches/99/chill/now").await.status, 404);
}

#[tokio::test]
async fn holding_a_dip_and_settled_are_told_apart() {
    for (readings, lead) in [
        (vec![(4.0, 19.3), (2.0, 19.1), (0.2, 19.2)], "Holding, 3:48 of 10:00."),
        (vec![(8.0, 22.0), (4.0, 17.4), (0.2, 19.6)], "That was a passing dip."),
        (vec![(11.0, 19.3), (8.0, 19.1), (4.0, 19.2), (0.2, 19.1)], "Settled."),
    ] {
        let chill = Chill::new().await;
        let iced = json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 10, "water_c": 12, "ice_kg": 6});
        chill.log(&[(30.0, json!({"kind": "flame_out"})), (29.0, iced)]).await;
        chill.reads(&[(26.0, 60.0), (23.0, 45.0), (20.0, 33.0), (17.0, 26.0), (14.0, 21.0)]).await;
        chill.reads(&readings).await;
        let page = chill.page().await;
        assert!(verdict(&page).starts_with(lead), "{} for {lead}", verdict(&page));
        assert!(page.has(".verdict progress"));
        assert_eq!(page.has(".verdict--fine"), lead == "Settled.");
        if lead == "Settled." {
            assert_eq!(act(&page), "Drain the coil, then pitch.");
        }
    }
}

#[tokio::test]
async fn a_hole_in_the_record_is_named_with_the_way_to_mend_it() {
    let chill = Chill::new().await;
    chill.log(&[(12.0, json!({"kind": "flame_out"})), (11.0, still(None))]).await;
    chill.reads(&[(9.0, 86.8), (6.0, 79.0), (1.0, 70.0)]).await;
    let page = chill.page().await;
    assert_eq!(act(&page), "Say how much water is in this bath.");
    assert!(page.has(&format!(".advice a[href^='/batches/{}/entries/']", chill.batch)));

    let chill = Chill::with(json!({}), Some(12.0)).await;
    chill.first_bath().await;
    let page = chill.page().await;
    assert!(page.texts(".verdict .note")[0].contains("How long one full pass takes is not known"));
    assert!(!page.has(".verdict progress"));
    assert!(page.has(&format!(".verdict a[href='/equipment/{}']", chill.coil)));
}

#[tokio::test]
async fn every_form_of_the_page_logs_its_entry() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let new_bath = [("method", "ice_bath"), ("water_l", "10"), ("water_c", "12"), ("ice_kg", "4")];
    for (form, typed, line) in [
        (".bar__log", vec![("temperature_c", "60,5")], "Wort 60.5 °C"),
        ("#new-bath form", new_bath.to_vec(), "Coil into ice bath, 10.0 L at 12.0 °C + 4 kg ice"),
        ("#add-ice form", vec![("ice_kg", "1.5")], "Ice added 1.5 kg"),
        (".bar__more form", vec![], "Bath stirred"),
        ("#add-note form", vec![("note", "Lid on")], "Note"),
        ("#bath-temperature form", vec![("temperature_c", "9")], "Bath 9.0 °C"),
        ("#room-temperature form", vec![("temperature_c", "18")], "Room 18.0 °C"),
        (".more .panel__form", vec![("recovered_l", "0.9")], "Coil drained, wort recovered 0.90 L"),
    ] {
        let sent = chill.send(form, &typed).await;
        assert_eq!(sent.status, 303, "{form}");
        let page = chill.book.get(&sent.location.expect("the page again")).await;
        assert!(page.texts(".saved p")[0].starts_with(&format!("Saved. {line}")), "{:?}", page.texts(".saved p"));
        assert!(page.has(".saved button"), "the way back");
    }
    let told = chill.page().await.texts(".more .panel__hint").remove(0);
    assert_eq!(told, "0.90 L of 1.20 L came out: 0.30 L may still be inside.");
}

#[tokio::test]
async fn only_what_the_way_of_cooling_needs_is_kept() {
    let chill = Chill::new().await;
    let typed =
        [("method", "running_water"), ("water_l", "17"), ("water_c", "12"), ("ice_kg", "4"), ("flow_l_min", "5")];
    assert_eq!(chill.send("#new-bath form", &typed).await.status, 303);
    let day = chill.book.store.day(chill.batch).await.expect("read").expect("there");
    let cooling = &day.cooling_stages()[0].cooling;
    assert_eq!((cooling.water_l, cooling.ice_kg, cooling.flow_l_min), (None, None, Some(5.0)));
}

#[tokio::test]
async fn the_next_bath_is_filled_in_from_what_is_at_hand() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let fields = chill.page().await.fields("#new-bath form");
    let value = |name: &str| fields.iter().find(|(known, _)| known == name).map(|(_, text)| text.as_str());
    assert_eq!((value("method"), value("water_l"), value("water_c")), (Some("still_bath"), Some("17"), Some("12")));
}

#[tokio::test]
async fn a_form_that_comes_back_stands_open_with_what_was_typed() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    for (form, field, id) in [
        (".bar__log", "temperature_c", None),
        ("#new-bath form", "water_l", Some("new-bath")),
        ("#add-ice form", "ice_kg", Some("add-ice")),
        ("#bath-temperature form", "temperature_c", Some("bath-temperature")),
        (".more .panel__form", "recovered_l", None),
    ] {
        let page = chill.send(form, &[(field, "a lot")]).await;
        assert_eq!(page.status, 422, "{form}");
        assert!(page.texts("title")[0].starts_with("Look again: Chill"), "{form}");
        let fields = page.fields(form);
        assert!(fields.contains(&(field.to_owned(), "a lot".to_owned())), "{form}: {fields:?}");
        if let Some(id) = id {
            assert!(page.has(&format!("#{id}.call--open")), "{form}");
        }
    }
}

#[tokio::test]
async fn the_plan_is_filled_in_and_answered_for_each_aim() {
    let chill = Chill::new().await;
    let page = chill.plan_page("").await;
    assert_eq!(page.status, 200);
    assert_eq!((page.value("wort_c").as_deref(), page.value("target_c").as_deref()), (Some("97"), Some("19")));
    assert_eq!(page.value("baths.2.water_l").as_deref(), Some("17"));
    assert_eq!(page.texts(".aim h2"), ["Least time", "Least ice", "Least water"]);
    assert!(page.texts(".plan__basis li").iter().any(|line| line.contains("usual figure (common practice)")));
}

/// 20 L of wort, three baths of 18 L and one of 12 L with 6 kg of ice, a coil of 154 W/K.
const ASKED: &str = "?wort_l=20&wort_plato=12&wort_c=98&target_c=20&conductance_w_per_k=154\
    &baths.0.water_l=18&baths.0.water_c=15&baths.1.water_l=18&baths.1.water_c=15\
    &baths.2.water_l=18&baths.2.water_c=15&baths.3.water_l=12&baths.3.water_c=15&baths.3.ice_kg=6";

#[tokio::test]
async fn a_what_if_is_a_link_and_colder_water_is_quicker() {
    let chill = Chill::new().await;
    let minutes = |page: &Answer| -> Vec<f64> {
        let told = page.texts(".aim__minutes");
        told.iter().map(|told| told.trim_end_matches("min").trim().parse().expect("minutes")).collect()
    };
    let page = chill.plan_page(ASKED).await;
    assert_eq!(page.status, 200);
    let at_15 = minutes(&page);
    // The baths and the coil of the worked example in science::chilling::plan, which ends below 35 min.
    assert!(at_15[0] > 15.0 && at_15[0] < 35.0, "{at_15:?}");
    assert!(at_15[1] >= at_15[0] && at_15[2] >= at_15[0], "{at_15:?}");
    assert_eq!(page.value("conductance_w_per_k").as_deref(), Some("154"));
    let at_5 = minutes(&chill.plan_page(&ASKED.replace("water_c=15", "water_c=5")).await);
    assert!(at_5[0] < at_15[0], "{at_5:?} against {at_15:?}");

    let bad = chill.plan_page(&ASKED.replace("wort_l=20", "wort_l=a+potful")).await;
    assert_eq!((bad.status.as_u16(), bad.value("wort_l").as_deref()), (422, Some("a potful")));
    assert!(!bad.has(".aim"));
}

#[tokio::test]
async fn a_plan_that_is_kept_leads_the_chill_and_stands_in_the_figures() {
    let chill = Chill::new().await;
    let path = format!("/batches/{}/chill-plan", chill.batch);
    let page = chill.plan_page(ASKED).await;
    let fields = page.fields(".aim form");
    let kept = chill.book.post_form(&path, &fields).await;
    assert_eq!((kept.status.as_u16(), kept.location.as_deref()), (303, Some(format!("{path}?kept").as_str())));
    let page = chill.plan_page("?kept").await;
    assert!(page.has(".banner--fine"));
    assert_eq!(page.texts("#kept"), ["Kept with this batch: least time"]);
    assert_eq!(page.value("baths.3.ice_kg").as_deref(), Some("6"));
    let summary = chill.book.store.summary(chill.batch).await.expect("read").expect("there");
    let planned = summary.chill.planned_min.expect("a plan is kept");
    assert!(page.texts(".advice p")[0].starts_with(&format!("{planned:.0} min from the coil going in to 20.0 °C")));
    let batch = chill.book.get(&format!("/batches/{}", chill.batch)).await;
    assert!(batch.texts(".figures dt").iter().any(|name| name.starts_with("Planned, coil in to pitch target")));

    chill.first_bath().await;
    let fields = chill.page().await.fields("#new-bath form");
    assert!(fields.contains(&("water_l".to_owned(), "18".to_owned())), "the second bath of the plan: {fields:?}");
    let rests = chill.page().await.texts(".advice__basis li");
    assert!(rests.iter().any(|line| line.starts_with("Still to come, as in the plan you kept: bath 2")), "{rests:?}");
}

#[tokio::test]
async fn a_plan_waits_for_what_only_the_brewer_can_tell() {
    let chill = Chill::with(json!({"pass_min": 10}), None).await;
    let page = chill.plan_page("").await;
    assert_eq!(page.status, 200);
    assert!(page.has(".plan__answer .empty") && !page.has(".summary"), "nothing is wrong yet");
    assert!(page.texts(".panel__hint")[0].starts_with("How warm the tap runs"));
    assert_eq!(chill.book.get("/batches/99/chill-plan").await.status, 404);
}

#[tokio::test]
async fn the_prepare_page_plans_with_what_is_at_hand_and_then_shows_the_plan_that_is_kept() {
    let chill = Chill::new().await;
    let prepare = format!("/batches/{}/prepare", chill.batch);
    let page = chill.book.get(&prepare).await;
    assert_eq!(page.texts(".plans tbody th")[..3], ["Least time", "Least ice", "Least water"]);
    assert!(page.text.contains("Nothing is planned yet"));
    // Three buckets of water at 12 °C stay above 19 °C: a short way, and no hours of waiting for the room.
    assert!(page.texts(".plans tbody td")[0].contains("falls short"), "{:?}", page.texts(".plans tbody td"));

    let path = format!("/batches/{}/chill-plan", chill.batch);
    let fields = chill.plan_page(ASKED).await.fields(".aim form");
    assert_eq!(chill.book.post_form(&path, &fields).await.status, 303);
    let page = chill.book.get(&prepare).await;
    assert!(page.text.contains("Your plan is kept: least time"));
    assert_eq!(page.texts(".plans__this th"), ["Least time"]);
    let changes = page.texts(".plans__group ~ tr th");
    assert!(changes[0] == "One bucket of water more" && changes[2].starts_with("One bag of ice less"), "{changes:?}");
    let blank = chill.book.get(&format!("/batches/{}/sheet/blank", chill.batch)).await;
    assert!(blank.texts(".desk__beside .note")[1].starts_with("What if: one bucket of water more"));
}

#[tokio::test]
async fn a_day_stands_beside_its_plan_bath_by_bath() {
    let chill = Chill::new().await;
    let path = format!("/batches/{}/chill-plan", chill.batch);
    let fields = chill.plan_page(ASKED).await.fields(".aim form");
    assert_eq!(chill.book.post_form(&path, &fields).await.status, 303);
    let figures = format!("/batches/{}", chill.batch);
    assert!(!chill.book.get(&figures).await.has(".went"), "nothing has happened yet");
    chill.first_bath().await;
    let page = chill.book.get(&figures).await;
    // Four baths planned, one begun: what is not yet done has dashes.
    assert_eq!(page.texts(".went tbody th"), ["Bath 1", "Bath 2", "Bath 3", "Bath 4, ice"]);
    assert!(page.texts("#went ~ p")[0].contains("was not seen to get to its target"));
    let record = chill.book.get(&format!("/batches/{}/sheet", chill.batch)).await;
    assert!(record.texts(".tally tbody th").iter().any(|name| name == "bath 4, ice, planned only"));
}
