//! What a plan learns from the batches before it, and what the kettle should get.

use serde_json::json;

use crate::book::{Answer, TestBook};
use crate::day::{Log, ordinary, pale, start, start_on};

/// Logs a cold kettle at a point of the day.
fn kettle(log: &mut Log, minutes: f64, point: &str, litres: f64, sg: f64) {
    log.at(minutes, json!({"kind": "volume", "point": point, "volume_l": litres, "temperature_c": 20}));
    let reading =
        json!({"kind": "gravity", "point": point, "instrument": "hydrometer", "reading": sg, "temperature_c": 20});
    log.at(minutes, reading);
}

/// The card's sentences, the act first.
fn card(page: &Answer) -> Vec<String> {
    page.texts("section[aria-labelledby='correction'] > h2, section[aria-labelledby='correction'] > p")
}

// The plan of the batch: 4.5 kg × 0.955 × 0.81 × 75 % = 2.611 kg of extract in 20 L, which
// is 12.45 °P or SG 1.0503; 3.5 L boil off, so 23.5 L before the boil, at 1.0426.

#[tokio::test]
async fn a_weak_kettle_gets_advice_until_it_has_boiled() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let mut log = Log::of(batch);
    kettle(&mut log, 90.0, "pre_boil", 24.0, 1.036);
    log.write(&book.store).await;
    // 24 L at 9.03 °P weigh 24.81 kg and hold 2.241 kg of extract. In 20.5 L that is
    // 10.50 °P: 0.49 kg of dry extract, or boil down to 17.2 L.
    let told = card(&book.get(&format!("/batches/{batch}/boil")).await);
    assert_eq!(told[0], "Stir in 490 g of dry malt extract: 20.8 L at 1.050 SG into the fermenter.");
    assert_eq!(told[1], "Turn the heat off while extract goes in: it sinks, scorches and foams up.");
    let longer = "Or boil 57 min longer: 17.2 L at 1.050 SG into the fermenter. \
                  Hops are timed from the end of the boil: move them with it.";
    assert_eq!(told[2], longer);
    let why = "Boiled as planned, 20.5 L at 1.042 SG would go into the fermenter; the plan is 20.0 L at 1.050 SG.";
    assert_eq!(told[3], why);
    assert_eq!(card(&book.get(&format!("/batches/{batch}/mash")).await), told, "the mash page says the same");

    let mut log = Log::of(batch);
    kettle(&mut log, 90.0, "pre_boil", 24.0, 1.036);
    log.at(100.0, json!({"kind": "boil_started"}));
    log.write(&book.store).await;
    assert_eq!(card(&book.get(&format!("/batches/{batch}/boil")).await), told);
    assert!(card(&book.get(&format!("/batches/{batch}/mash")).await).is_empty(), "the mash is behind you");
}

#[tokio::test]
async fn a_kettle_on_target_is_left_as_it_is_and_one_not_read_says_nothing() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let boil = format!("/batches/{batch}/boil");
    assert!(card(&book.get(&boil).await).is_empty());
    let mut log = Log::of(batch);
    kettle(&mut log, 90.0, "pre_boil", 23.5, 1.0426);
    log.write(&book.store).await;
    let page = book.get(&boil).await;
    assert!(page.has(".advice--calm[aria-labelledby='correction']"));
    let told = card(&page);
    assert_eq!(told[0], "On target: leave it as it is.");
    assert!(
        told[1].contains("20.0 L at 1.050 SG would go into the fermenter; the plan is 20.0 L at 1.050 SG."),
        "{told:?}"
    );
    assert!(!page.text.contains("dry malt extract"));
}

#[tokio::test]
async fn a_strong_kettle_after_flame_out_gets_boiled_water() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let mut log = Log::of(batch);
    log.at(100.0, json!({"kind": "boil_started"}));
    log.at(160.0, json!({"kind": "flame_out"}));
    // 18 L at SG 1.0560 or 13.80 °P weigh 18.97 kg: to 12.45 °P takes 2.06 kg of water.
    kettle(&mut log, 161.0, "post_boil", 18.0, 1.056);
    log.write(&book.store).await;
    let told = card(&book.get(&format!("/batches/{batch}/boil")).await);
    assert!(told[0].starts_with("Add 2.0") || told[0].starts_with("Add 2.1"), "{told:?}");
    assert!(told[0].contains("L of boiled water: 20.1 L at 1.050"), "{told:?}");
}

#[tokio::test]
async fn a_plan_learns_from_the_batches_before_it() {
    let book = TestBook::open().await;
    let first = start(&book.store, pale("Lantern Row Pale")).await;
    ordinary(first).write(&book.store).await;
    let equipment = book.store.batch(first).await.expect("readable").expect("a batch").equipment;
    let second = start_on(&book.store, 1, equipment.iter().map(|piece| piece.id).collect()).await;
    let prepare = book.get(&format!("/batches/{second}/prepare")).await;
    let learned = prepare.text.matches("from your last batch").count();
    assert_eq!(learned, 3, "efficiency, boil-off and loss; no sparge was logged");
    let of_the_first = book.get(&format!("/batches/{first}/prepare")).await;
    assert!(!of_the_first.text.contains("from your last batch"), "no batch learns from itself");
    assert!(book.get("/recipes/1").await.text.contains("from your last batch"));
}

#[tokio::test]
async fn water_that_would_run_the_kettle_over_is_told() {
    let book = TestBook::open().await;
    let batch = start(&book.store, pale("Lantern Row Pale")).await;
    let mut log = Log::of(batch);
    // 34 L at 12.4 °P hold 4.42 kg: an hour takes 3.5 L off, and to 12.45 °P it then wants
    // 3.3 L of water. Put in at once they make 37.3 L, and 37.3/0.9601 = 38.9 L at the boil.
    kettle(&mut log, 90.0, "pre_boil", 34.0, 1.050);
    log.write(&book.store).await;
    let told = card(&book.get(&format!("/batches/{batch}/boil")).await);
    assert!(told[0].starts_with("Add 3.3"), "{told:?}");
    let over = "Not all at once: with the water in, the kettle would hold 38.";
    assert!(
        told[1].starts_with(over) && told[1].contains("runs over at 36.0 L. Add it as the wort boils down."),
        "{told:?}"
    );
}

#[tokio::test]
async fn a_batch_too_big_for_its_kettle_is_told_before_the_day() {
    let book = TestBook::open().await;
    let fits = start(&book.store, pale("Lantern Row Pale")).await;
    assert!(!book.get(&format!("/batches/{fits}/prepare")).await.text.contains("too big for the kettle"));
    let body = json!({"name": "Small kettle", "kind": "kettle", "volume_l": 24, "boil_off_l_per_h": 3.5});
    let small = gylebook::brewday::Equipment::from_body(&body).expect("sound");
    let small = book.store.add_equipment(&small, crate::day::MORNING).await.expect("kept");
    let tight = start_on(&book.store, 1, vec![small]).await;
    // 23.5 L before the boil are 24.5 L hot.
    let prepare = book.get(&format!("/batches/{tight}/prepare")).await;
    let told = prepare.texts(".advice").join(" ");
    assert!(
        told.contains("too big for the kettle. It would hold 24.5 L at the boil, and it runs over at 24.0 L."),
        "{told}"
    );
    assert!(book.get(&format!("/batches/{tight}/mash")).await.text.contains("The kettle would hold 24.5"));
}
