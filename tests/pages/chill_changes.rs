//! What the chill page says when data come late or were wrong, and of the kettle
//! that is let stand.

use serde_json::json;
use time::{Duration, OffsetDateTime};

use crate::book::Answer;
use crate::chill::{Chill, act, still};

/// The words under the saved line.
fn moved(page: &Answer) -> String {
    page.texts(".saved .saved__moved").join(" ")
}

async fn saved(chill: &Chill, sent: &Answer) -> Answer {
    let page = chill.book.get(sent.location.as_deref().expect("the page again")).await;
    assert_eq!(page.status, 200);
    page
}

#[tokio::test]
async fn a_corrected_bath_says_which_figures_moved() {
    let chill = Chill::new().await;
    chill.log(&[(12.0, json!({"kind": "flame_out"})), (11.0, still(Some(10.0)))]).await;
    chill.reads(&[(9.5, 86.8), (8.0, 79.0), (6.5, 73.3), (5.0, 69.1), (3.5, 65.9), (2.0, 63.6)]).await;
    let day = chill.book.store.day(chill.batch).await.expect("read").expect("there");
    let path = format!("/batches/{}/entries/{}", chill.batch, day.cooling_stages()[0].id);
    let mut fields = chill.book.get(&path).await.fields("form.form");
    fields.retain(|(name, _)| name != "water_l" && name != "why");
    fields.extend([("water_l".to_owned(), "17".to_owned()), ("why".to_owned(), "wrong mark".to_owned())]);
    assert_eq!(chill.book.post_form(&path, &fields).await.status, 303);
    let line =
        chill.page().await.texts(".log__one").into_iter().find(|line| line.contains("Corrected")).expect("its line");
    let line = line.replace('\u{a0}', " ");
    assert!(line.contains("Corrected; was Coil into bath, 10.0 L at 12.0 °C (wrong mark)."), "{line}");
    assert!(line.contains("That moved 8 figures") && line.contains("coil in bath 1 from "), "{line}");
    assert!(line.contains("water used from 10.0 to 17.0 L"), "{line}");
    // Its own page says it too.
    assert!(chill.book.get(&path).await.texts(".log__more").iter().any(|more| more.contains("coil in bath 1")));
}

#[tokio::test]
async fn a_late_reading_and_its_undoing_say_what_they_moved() {
    let chill = Chill::new().await;
    chill.log(&[(12.0, json!({"kind": "flame_out"})), (11.0, still(Some(17.0)))]).await;
    chill.reads(&[(8.0, 79.0), (6.5, 73.3), (0.3, 61.7)]).await;
    let at = (chill.now - Duration::minutes(5)).format(&time::format_description::well_known::Rfc3339);
    let sent = chill.send(".bar__log", &[("temperature_c", "64"), ("at", &at.expect("a time"))]).await;
    let page = saved(&chill, &sent).await;
    assert!(moved(&page).replace('\u{a0}', " ").starts_with("Entered 5 min late. That moved "), "{}", moved(&page));
    assert!(moved(&page).contains("coil in bath 1 from"), "{}", moved(&page));
    let undo = page.fields(".saved form");
    let sent = chill.book.post_form(&format!("/batches/{}/chill", chill.batch), &undo).await;
    let page = saved(&chill, &sent).await;
    assert!(moved(&page).starts_with("Struck out. That moved "), "{}", moved(&page));
    assert!(!page.has(".saved button"), "what is struck out is not undone from here");
}

#[tokio::test]
async fn a_reading_in_its_turn_moves_nothing_that_was_known() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let sent = chill.send(".bar__log", &[("temperature_c", "60.5")]).await;
    assert_eq!(moved(&saved(&chill, &sent).await), "");
}

#[tokio::test]
async fn a_phone_with_a_wrong_clock_is_told_so_and_its_entry_put_right() {
    let chill = Chill::new().await;
    chill.first_bath().await;
    let ahead = OffsetDateTime::now_utc() + Duration::minutes(47);
    let at = ahead.format(&time::format_description::well_known::Rfc3339).expect("a time");
    let sent_at = (ahead.unix_timestamp_nanos() / 1_000_000).to_string();
    let sent = chill.send(".bar__log", &[("temperature_c", "60.5"), ("at", &at), ("sent_at", &sent_at)]).await;
    let page = saved(&chill, &sent).await;
    let told = moved(&page).replace('\u{a0}', " ");
    assert!(told == "This phone’s clock is 47 min ahead: the time was put right." || told.contains("46 min"), "{told}");
    let day = chill.book.store.day(chill.batch).await.expect("read").expect("there");
    let last = day.standing.last().expect("entries");
    assert!((OffsetDateTime::now_utc() - last.at).abs() < Duration::minutes(1), "{:?}", last.at);
}

#[tokio::test]
async fn a_kettle_let_stand_is_told_when_to_read_and_then_what_it_loses() {
    let chill = Chill::new().await;
    chill.log(&[(14.0, json!({"kind": "flame_out"}))]).await;
    let page = chill.page().await;
    assert!(
        page.texts(".panel__hint").iter().any(|hint| hint.contains("never measured")),
        "{:?}",
        page.texts(".panel__hint")
    );
    chill.log(&[(13.0, json!({"kind": "cooling_started", "method": "air"}))]).await;
    assert_eq!(act(&chill.page().await), "Read the wort now.");
    chill.reads(&[(12.9, 96.0)]).await;
    assert_eq!(act(&chill.page().await), "Read the wort again.", "the ten minutes are over");
    chill.reads(&[(0.2, 90.4)]).await;
    let page = chill.page().await;
    let told = page.texts(".more .panel__hint").join(" ").replace('\u{a0}', " ");
    // 82 kJ/K fell 5.6 K in 12.7 min, 73 K above a room taken as 20 °C: 8.2 W/K.
    assert!(told.contains("The kettle loses 8 ± 1 W for each degree to the room by itself, measured today"), "{told}");
    let summary = chill.book.store.summary(chill.batch).await.expect("read").expect("there");
    assert!(summary.chill.kettle_loss_w_per_k.is_some_and(|loss| (7.5..9.0).contains(&loss)));
}

#[tokio::test]
async fn the_stand_is_a_button_of_its_own() {
    let chill = Chill::new().await;
    chill.log(&[(2.0, json!({"kind": "flame_out"}))]).await;
    chill.reads(&[(1.5, 96.0)]).await;
    let mut fields = chill.page().await.fields("form:has([name=form][value=stand])");
    fields.retain(|(name, _)| name != "at");
    let sent = chill.book.post_form(&format!("/batches/{}/chill", chill.batch), &fields).await;
    assert_eq!(sent.status, 303, "{fields:?}");
    chill.reads(&[(-0.1, 95.9)]).await;
    let acts = act(&saved(&chill, &sent).await);
    assert!(acts.starts_with("Let it stand, and read again at "), "{acts}");
}
