//! A page of what is over: nothing on it asks for a reading, what was left out can be added.

use gylebook::brewday::choices::Choice;
use gylebook::brewday::choices::Stage;
use serde_json::json;

use crate::chill::Chill;

/// What shouts for something to be done.
const ASKS: [&str; 5] = [".bar", ".guide[open]", ".panel--now", ".caution", "[data-timer]"];

/// A chill that went on, was pitched, and may have been closed.
async fn pitched(is_closed: bool) -> Chill {
    let chill = Chill::new().await;
    chill.log(&[(80.0, json!({"kind": "boil_started"}))]).await;
    chill.first_bath().await;
    chill.log(&[(0.2, json!({"kind": "pitched", "yeast": "Ale", "cells_billion": 200, "wort_c": 61.7}))]).await;
    if is_closed {
        chill.log(&[(0.1, json!({"kind": "stage_finished", "stage": "clean"}))]).await;
    }
    chill
}

#[tokio::test]
async fn what_is_over_asks_for_nothing() {
    let running = Chill::new().await;
    running.first_bath().await;
    assert!(running.page().await.has(".bar") && running.page().await.has(".caution"), "a chill that runs asks");
    for is_closed in [false, true] {
        let chill = pitched(is_closed).await;
        for stage in Stage::ALL {
            let page = chill.book.get(&format!("/batches/{}/{}", chill.batch, stage.key())).await;
            let asks: Vec<_> = ASKS.into_iter().filter(|one| page.has(one)).collect();
            let is_over = is_closed || !matches!(stage, Stage::Pitch | Stage::Clean);
            assert_eq!(asks.is_empty(), is_over, "{} (closed: {is_closed}) has {asks:?}", stage.key());
            assert_eq!(page.has("[data-record]"), is_over, "{}", stage.key());
        }
    }
    let verdict = pitched(true).await.page().await.texts(".verdict p[role=status]").remove(0);
    assert!(verdict.starts_with("It was still moving when the chill ended. It fell "), "{verdict}");
}

#[tokio::test]
async fn what_was_left_out_is_added_for_when_it_was() {
    let chill = pitched(true).await;
    let form = "section[aria-label='A reading left out'] form";
    let given = chill.page().await.fields(form);
    let at = given.iter().find(|(name, _)| name == "at").map(|(_, at)| at.clone()).expect("a time");
    assert_eq!(at.len(), "2026-03-07T14:42".len(), "a day and a time, as the browser asks for it: {at}");
    let sent = chill.send(form, &[("temperature_c", "60.9")]).await;
    assert_eq!(sent.status, 303, "{}", sent.text);
    let page = chill.book.get(&sent.location.expect("a way back")).await;
    assert!(page.texts(".saved")[0].starts_with("Saved. Wort 60.9 °C"), "{:?}", page.texts(".saved"));
    assert!(page.has(".saved button"), "and can be taken back");
    let refused = chill.send(form, &[("temperature_c", "600")]).await;
    assert_eq!(refused.status, 422);
    assert!(refused.has(".panel details[open] [name='temperature_c'][value='600']"));
}
