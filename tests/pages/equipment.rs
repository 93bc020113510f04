//! `/equipment…`: each kind's form, bad input, care and its corrections.

use axum::http::StatusCode;
use gylebook::brewday::{
    Equipment, Units,
    care::CareCondition,
    choices::{CareAct, Choice, EquipmentKind, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
};
use serde_json::{Value, json};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::{Answer, TestBook};

/// The figures each kind is asked for, in the order of its form.
const ASKED: [(&str, &[&str]); 13] = [
    ("mash_vessel", &["volume_l", "dead_space_l", "dry_mass_kg", "uncertainty"]),
    ("kettle", &["volume_l", "dead_space_l", "boil_off_l_per_h", "uncertainty"]),
    ("coil", &["pass_min", "flow_l_min", "hold_up_l", "dry_mass_kg"]),
    ("plate_chiller", &["pass_min", "flow_l_min", "hold_up_l", "dry_mass_kg"]),
    ("bucket", &["volume_l"]),
    ("fermenter", &["volume_l", "uncertainty"]),
    ("hose", &["hold_up_l"]),
    ("pump", &["flow_l_min"]),
    ("thermometer", &["offset", "uncertainty"]),
    ("hydrometer", &["calibration_c", "offset", "uncertainty"]),
    ("refractometer", &["wort_factor", "offset", "uncertainty"]),
    ("scale", &["offset", "uncertainty"]),
    ("other", &["volume_l", "dry_mass_kg"]),
];

async fn add(book: &TestBook, body: Value) -> i64 {
    let equipment = Equipment::from_body(&body).expect("a sound piece");
    book.store.add_equipment(&equipment, OffsetDateTime::now_utc()).await.expect("added")
}

async fn coil(book: &TestBook) -> i64 {
    add(book, json!({ "name": "Coil 1", "kind": "coil", "pass_min": 10, "dry_mass_kg": 3.1 })).await
}

async fn condition(book: &TestBook, id: i64) -> CareCondition {
    book.store.equipment(id).await.expect("read").expect("there").record.care.condition
}

/// Sends the care form of a piece's page, with these fields filled in.
async fn care(book: &TestBook, id: i64, filled: &[(&str, &str)]) -> Answer {
    let page = book.get(&format!("/equipment/{id}")).await;
    let mut fields = page.fields("form.care-form");
    fields.retain(|(name, _)| !filled.iter().any(|(known, _)| known == name));
    fields.extend(filled.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    book.post_form(&format!("/equipment/{id}/care"), &fields).await
}

fn entry_of(answer: &Answer) -> Uuid {
    let location = answer.location.as_deref().expect("a redirect");
    location.rsplit_once("kept=").expect("what was kept").1.parse().expect("an id")
}

#[tokio::test]
async fn every_kind_is_asked_for_what_the_computation_needs_of_it() {
    let book = TestBook::open().await;
    let kinds = book.get("/equipment/new").await;
    assert_eq!(kinds.texts(".records__name").len(), EquipmentKind::ALL.len());
    for (kind, asked) in ASKED {
        let page = book.get(&format!("/equipment/new?kind={kind}")).await;
        let names: Vec<String> = page.fields("main form").into_iter().map(|(name, _)| name).collect();
        let wanted: Vec<&str> = ["kind", "name"].iter().chain(asked).chain(&["notes"]).copied().collect();
        assert_eq!(names, wanted, "{kind}");
        for name in asked.iter().filter(|_| kind != "other") {
            assert!(page.has(&format!("#{name}-hint")), "{kind} says how to come by {name}");
        }
    }
    assert_eq!(
        ASKED.map(|(kind, _)| kind).to_vec(),
        EquipmentKind::ALL.iter().map(|kind| kind.key()).collect::<Vec<_>>()
    );
}

#[tokio::test]
async fn a_piece_is_described_in_the_brewers_own_units_and_anew() {
    let book = TestBook::open().await;
    book.speak(Units {
        temperature: TemperatureUnit::Fahrenheit,
        volume: VolumeUnit::UsGallons,
        mass: MassUnit::Avoirdupois,
        gravity: GravityUnit::SpecificGravity,
        ..Units::default()
    })
    .await;
    let sent = [
        ("kind", "kettle"),
        ("name", "Kettle"),
        ("volume_l", "10"),
        ("boil_off_l_per_h", "4 L"),
        ("uncertainty", "0.1"),
    ];
    let refused = book.post_form("/equipment/new", &sent).await;
    // A rate is no volume.
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let sent =
        [("kind", "kettle"), ("name", "Kettle"), ("volume_l", "10"), ("boil_off_l_per_h", "1"), ("uncertainty", "0.1")];
    let answer = book.post_form("/equipment/new", &sent).await;
    assert_eq!((answer.status, answer.location.as_deref()), (StatusCode::SEE_OTHER, Some("/equipment/1")));
    let kettle = book.store.equipment(1).await.expect("read").expect("there").record.equipment;
    // A US gallon is 3.785411784 L exactly [NIST SP 811].
    for (kept, litres) in [
        (kettle.volume_l, 37.854_117_84),
        (kettle.boil_off_l_per_h, 3.785_411_784),
        (kettle.uncertainty, 0.378_541_178_4),
    ] {
        assert!((kept.expect("kept") - litres).abs() < 1e-9, "{kept:?} is {litres} L");
    }
    let page = book.get("/equipment/1/edit").await;
    assert_eq!(page.value("volume_l").as_deref(), Some("10"));
    let mut fields = page.fields("main form");
    for (name, text) in &mut fields {
        if name == "dead_space_l" {
            *text = "1 L".into();
        }
        if name == "kind" {
            *text = "scale".into();
        }
    }
    assert_eq!(book.post_form("/equipment/1/edit", &fields).await.status, StatusCode::SEE_OTHER);
    let anew = book.store.equipment(1).await.expect("read").expect("there").record.equipment;
    assert_eq!((anew.dead_space_l, anew.volume_l, anew.kind), (Some(1.0), kettle.volume_l, EquipmentKind::Kettle));
}

#[tokio::test]
async fn a_figure_its_kind_is_not_asked_for_survives_an_edit() {
    let book = TestBook::open().await;
    let id =
        add(&book, json!({ "name": "Hose", "kind": "hose", "hold_up_l": 0.2, "volume_l": 3, "notes": "One.\nTwo." }))
            .await;
    let before = book.store.equipment(id).await.expect("read").expect("there").record.equipment;
    let page = book.get(&format!("/equipment/{id}/edit")).await;
    assert_eq!(page.value("volume_l").as_deref(), Some("3"));
    book.post_form(&format!("/equipment/{id}/edit"), &page.fields("main form")).await;
    let after = book.store.equipment(id).await.expect("read").expect("there").record.equipment;
    assert_eq!((after.volume_l, after.hold_up_l, &after.notes), (Some(3.0), Some(0.2), &before.notes));
}

#[tokio::test]
async fn bad_input_comes_back_with_what_was_typed_and_a_sentence() {
    let book = TestBook::open().await;
    for (kind, field, typed, sentence) in [
        ("kettle", "name", "", "This is needed."),
        ("kettle", "volume_l", "many", "“many” is no number that can be read here."),
        ("kettle", "volume_l", "0", "0 L is outside what a volume can be"),
        ("kettle", "volume_l", "20 kg", "“kg” can't be read here."),
        ("coil", "pass_min", "1:30", "could be 90 min or 1.5 min"),
        ("coil", "dry_mass_kg", "-1", "−1 kg is outside what a mass can be"),
        ("hydrometer", "offset", "1", "1 is outside what a hydrometer's offset can be"),
        ("refractometer", "offset", "15", "15 °Bx is outside what a refractometer's offset can be"),
        ("refractometer", "wort_factor", "2", "2 is outside what a wort factor can be"),
        ("scale", "offset", "9", "9 kg is outside what a scale's offset can be"),
        ("thermometer", "offset", "40", "40 °C is outside what a temperature difference can be"),
    ] {
        let name = if field == "name" { typed } else { "Old faithful" };
        let mut sent = vec![("kind", kind), ("name", name), ("notes", "Kept as typed.")];
        if field != "name" {
            sent.push((field, typed));
        }
        let page = book.post_form("/equipment/new", &sent).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{kind} {field}");
        let told = page.texts(".field__fault");
        assert!(told.len() == 1 && told[0].contains(sentence), "{kind} {field}: {told:?}");
        assert!(page.has(&format!(".summary a[href='#{field}']")), "{kind} {field} is named on top");
        for (name, text) in sent {
            assert_eq!(page.value(name).as_deref(), Some(text), "{kind} {name}");
        }
    }
    assert!(book.store.equipment_list(None, false).await.expect("read").is_empty(), "nothing was kept");
}

#[tokio::test]
async fn care_changes_the_state_a_piece_is_in() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    let page = book.get(&format!("/equipment/{id}")).await;
    assert_eq!(page.texts(".lead.care"), ["no care written down yet"]);
    assert_eq!(care(&book, id, &[("act", "cleaned")]).await.status, StatusCode::SEE_OTHER);
    assert_eq!(condition(&book, id).await, CareCondition::CleanWet);
    care(&book, id, &[("act", "blown_dry"), ("note", "Ten minutes of air.")]).await;
    assert_eq!(condition(&book, id).await, CareCondition::CleanDry);
    let kept = care(&book, id, &[("act", "stored"), ("where", "Cellar shelf")]).await;
    let page = book.get(kept.location.as_deref().expect("a redirect")).await;
    assert!(page.texts(".lead.care")[0].starts_with("stored clean and dry (Cellar shelf), "));
    assert!(page.texts("[role=status]")[0].starts_with("Written down: Stored, Cellar shelf, "));
    let history: Vec<String> = page.texts(".history__said b");
    assert_eq!(history, ["Stored, Cellar shelf", "Blown dry", "Cleaned"]);
    assert!(page.texts(".history__said .said").contains(&"Ten minutes of air.".to_owned()));
    let list = book.get("/equipment").await;
    assert!(list.texts(".records__about.care")[0].starts_with("stored clean and dry (Cellar shelf), "));
}

#[tokio::test]
async fn a_weighing_is_compared_with_the_dry_weight() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    for (mass, told) in [
        ("3.35", "It last weighed 3.35 kg, 250 g more than dry: that much water is still in it."),
        ("3.11", "It last weighed 3.11 kg, as much as clean and dry, as far as a scale can tell."),
        ("3.0", "It last weighed 3 kg, 100 g less than dry: weigh it again, or correct its dry weight."),
    ] {
        care(&book, id, &[("act", "weighed"), ("mass_kg", mass)]).await;
        let page = book.get(&format!("/equipment/{id}")).await;
        let said: Vec<String> = page.texts("main > p").into_iter().map(|text| text.replace('\u{a0}', " ")).collect();
        assert!(said.iter().any(|text| text == told), "{mass}: {said:?}");
    }
    let without = add(&book, json!({ "name": "Coil 2", "kind": "coil" })).await;
    care(&book, without, &[("act", "weighed"), ("mass_kg", "3 lb")]).await;
    let page = book.get(&format!("/equipment/{without}")).await;
    assert!(page.text.contains("Give its dry weight to see whether water is left in it."));
}

#[tokio::test]
async fn bad_care_comes_back_on_the_piece_with_what_was_typed() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    for (filled, field, sentence) in [
        (&[("note", "Forgot what.")][..], "act", "This is needed."),
        (&[("act", "weighed")], "mass_kg", "This is needed."),
        (&[("act", "weighed"), ("mass_kg", "heavy")], "mass_kg", "“heavy” is no number that can be read here."),
        (&[("act", "cleaned"), ("at", "2199-01-01T10:00")], "at", "This time is more than 10 minutes in the future."),
        (&[("act", "cleaned"), ("at", "noon")], "at", "“noon” is no time."),
        (&[("act", "polished")], "act", "Choose one of these."),
    ] {
        let page = care(&book, id, filled).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
        let told = page.texts(".care-form .field__fault");
        assert!(told.len() == 1 && told[0].contains(sentence), "{field}: {told:?}");
        assert!(page.has(&format!("#{field}-fault")), "{field}");
        let again = page.fields("form.care-form");
        for (name, text) in filled.iter().filter(|(_, text)| *text != "polished") {
            assert!(again.contains(&((*name).to_owned(), (*text).to_owned())), "{name} is still there");
        }
    }
    assert!(book.store.care_log(id, None).await.expect("read").is_empty(), "nothing was kept");
}

#[tokio::test]
async fn a_care_form_sent_twice_is_kept_once() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    let mut fields = book.get(&format!("/equipment/{id}")).await.fields("form.care-form");
    fields.push(("act".into(), "rinsed".into()));
    let path = format!("/equipment/{id}/care");
    let (once, twice) = (book.post_form(&path, &fields).await, book.post_form(&path, &fields).await);
    assert_eq!((once.status, &once.location), (StatusCode::SEE_OTHER, &twice.location));
    assert_eq!(book.store.care_log(id, None).await.expect("read").len(), 1);
    // Another visit to the page is another form.
    care(&book, id, &[("act", "rinsed")]).await;
    assert_eq!(book.store.care_log(id, None).await.expect("read").len(), 2);
}

#[tokio::test]
async fn a_care_event_is_corrected_and_struck_out_and_stays_readable() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    let entry =
        entry_of(&care(&book, id, &[("act", "weighed"), ("mass_kg", "31.2"), ("at", "2026-03-07T10:00")]).await);
    let path = format!("/equipment/{id}/care/{entry}");
    let form = book.get(&path).await;
    assert_eq!(
        (form.value("mass_kg").as_deref(), form.value("at").as_deref()),
        (Some("31.2"), Some("2026-03-07T10:00"))
    );
    let with = |mass: &str| -> Vec<(String, String)> {
        let fields = form.fields("main form").into_iter();
        fields.map(|(name, text)| if name == "mass_kg" { (name, mass.to_owned()) } else { (name, text) }).collect()
    };

    let refused = book.post_form(&path, &with("")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.texts(".field__fault"), ["This is needed."]);
    assert!(refused.has(".summary a[href='#mass_kg']"));

    assert_eq!(book.post_form(&path, &with("3.12")).await.status, StatusCode::SEE_OTHER);
    let page = book.get(&format!("/equipment/{id}")).await;
    let text = |selector: &str| page.texts(selector).join("; ").replace('\u{a0}', " ");
    assert_eq!(text(".history__said b"), "Weighed, 3.12 kg");
    assert!(text(".history__said s").starts_with("Weighed, 31.2 kg, 7 March"), "{}", text(".history__said s"));
    let state = book.store.equipment(id).await.expect("read").expect("there").record.care;
    assert_eq!(state.mass_kg, Some(3.12));
    assert_eq!(book.get(&path).await.value("mass_kg").as_deref(), Some("3.12"), "it is corrected from where it stands");

    let strike = page.fields(&format!("form[action='{path}/strike']"));
    for _ in 0..2 {
        assert_eq!(book.post_form(&format!("{path}/strike"), &strike).await.status, StatusCode::SEE_OTHER);
    }
    assert!(book.store.care_log(id, None).await.expect("read").is_empty());
    let page = book.get(&format!("/equipment/{id}?kept={entry}")).await;
    assert!(page.texts("[role=status]")[0].starts_with("Struck out: Weighed, "));
    assert_eq!(page.texts(".history__one").len(), 1, "it stays readable");
    // Put back: its form, sent as it stands.
    let back = book.get(&path).await;
    book.post_form(&path, &back.fields("main form")).await;
    assert_eq!(book.store.care_log(id, None).await.expect("read").len(), 1);
}

#[tokio::test]
async fn a_piece_of_many_years_shows_its_newest_care_and_all_of_it_when_asked() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    for day in 1..=120 {
        let at = format!("2025-{:02}-{:02}T10:00:00Z", 1 + day / 28, 1 + day % 28);
        let body = json!({"id": Uuid::from_u128(day), "at": at, "kind": "care", "equipment": id, "act": "rinsed"});
        let now = OffsetDateTime::now_utc();
        let entry = gylebook::brewday::Entry::from_body(&body, now, time::Duration::ZERO).expect("sound");
        book.store.append(None, vec![entry], None, now).await.expect("written");
    }
    let page = book.get(&format!("/equipment/{id}")).await;
    assert_eq!(page.texts(".history__one").len(), 100);
    assert_eq!(page.texts("a[href$='?show=all#history']"), ["All 120 entries"]);
    assert!(!page.has("#uses"), "it was in no batch yet");
    let all = book.get(&format!("/equipment/{id}?show=all")).await;
    assert_eq!(all.texts(".history__one").len(), 120);
    assert!(!all.has("a[href*='show=all']"));
    // What was just kept is told, however far back it lies.
    let kept = book.get(&format!("/equipment/{id}?kept={}", Uuid::from_u128(1))).await;
    assert!(kept.texts("[role=status]")[0].starts_with("Written down: Rinsed, 2"), "{:?}", kept.texts("[role=status]"));
}

#[tokio::test]
async fn a_piece_is_put_away_and_taken_out_again() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    assert_eq!(
        book.post_form::<&str, &str>(&format!("/equipment/{id}/retire"), &[]).await.status,
        StatusCode::SEE_OTHER
    );
    let list = book.get("/equipment").await;
    assert_eq!(list.texts("details .records__name"), ["Coil 1"]);
    assert_eq!(list.texts(".records__name").len(), 1, "it is among those put away alone");
    assert!(book.get(&format!("/equipment/{id}")).await.text.contains("It is put away for good."));
    book.post_form::<&str, &str>(&format!("/equipment/{id}/return"), &[]).await;
    assert_eq!(book.get("/equipment").await.texts("section .records__name"), ["Coil 1"]);
}

#[tokio::test]
async fn an_empty_book_says_what_will_be_here_and_how_to_get_it() {
    let book = TestBook::open().await;
    let page = book.get("/equipment").await;
    assert!(page.texts(".empty")[0].starts_with("Nothing here yet."));
    assert_eq!(page.texts(".actions a"), ["Describe a piece", "Begin with a usual set"]);
}

#[tokio::test]
async fn what_is_not_there_is_not_found() {
    let book = TestBook::open().await;
    let id = coil(&book).await;
    let nobody = Uuid::nil();
    for path in ["/equipment/99".into(), "/equipment/99/edit".into(), format!("/equipment/{id}/care/{nobody}")] {
        assert_eq!(book.get(&path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let sent = [
        ("kind", "coil"),
        ("name", "One"),
        ("act", CareAct::Cleaned.key()),
        ("id", "7e57d004-2b97-4e7a-b45f-5387367791cd"),
    ];
    for path in ["retire", "return", "edit", "care", &format!("care/{nobody}"), &format!("care/{nobody}/strike")] {
        let answer = book.post_form(&format!("/equipment/99/{path}"), &sent).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn a_batch_is_offered_what_there_is_with_its_care_where_that_is_kept() {
    let book = TestBook::open().await;
    let recipe = json!({"name": "Pale", "volume_l": 20, "boil_min": 60, "target_pitch_c": 19, "pitch_low_c": 17,
        "pitch_high_c": 21, "fermentables": [], "hops": [], "mash_rests": []});
    let recipe = gylebook::brewday::Recipe::from_body(&recipe).expect("a recipe");
    let now = time::OffsetDateTime::now_utc();
    book.store.add_recipe(&recipe, now).await.expect("kept");
    for (name, kind) in [("Blue", "bucket"), ("Copper", "coil")] {
        let piece = gylebook::brewday::Equipment::from_body(&json!({"name": name, "kind": kind})).expect("a piece");
        book.store.add_equipment(&piece, now).await.expect("kept");
    }
    let mut told = book.get("/batches/new").await.texts(".choice__one small");
    told.sort();
    assert_eq!(told, ["Bucket", "Coil, no care written down yet"]);
}
