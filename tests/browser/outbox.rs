//! An entry is kept on the phone until the server has it, once.

use anyhow::{Context, Result, ensure};
use fantoccini::actions::{InputSource, MOUSE_BUTTON_LEFT, MouseActions, PointerAction};
use gylebook_browser_tests::brewer::{BATCH, Brewer};
use serde_json::{Value, json};

const FIELD: &str = ".bar__input";
const LOG: &str = ".bar__send";
const IS_EMPTY: &str = "!document.getElementById('waiting')";

#[tokio::test(flavor = "multi_thread")]
async fn what_is_logged_without_a_server_arrives_once_when_it_is_back() -> Result<()> {
    let mut brewer = Brewer::begin().await?;
    brewer.go("chill").await?;
    brewer.send("flame_out", &[]).await?;
    brewer.server.stop()?;
    for (reading, count) in [("71.5", 1), ("64", 2)] {
        brewer.tab.type_in(FIELD, reading).await?;
        brewer.tab.press(LOG).await?;
        let told = format!("{count} waiting to send: Wort 71.5");
        brewer.tab.until(&format!("document.getElementById('waiting')?.innerText.includes({})", json!(told))).await?;
    }
    ensure!(brewer.tab.ask(&format!("document.querySelector('{FIELD}').value")).await? == "", "the field is not free");
    // What is typed while the others wait is not lost when they arrive.
    brewer.tab.type_in(FIELD, "58").await?;
    brewer.server.open()?;
    brewer.tab.until(IS_EMPTY).await?;
    let value = brewer.tab.ask(&format!("document.querySelector('{FIELD}').value")).await?;
    ensure!(value == "58", "half typed, now {value}");
    let has_focus = brewer.tab.ask(&format!("document.activeElement.matches('{FIELD}')")).await?;
    ensure!(has_focus == true, "the field lost the keyboard");
    brewer.tab.client.refresh().await?;
    brewer.tab.until(IS_EMPTY).await?;
    let readings = readings(&brewer)?;
    ensure!(readings == [71.5, 64.0], "{readings:?}");
    only_the_lost_server(&brewer).await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_waits_outlives_a_reload() -> Result<()> {
    let mut brewer = Brewer::begin().await?;
    brewer.go("chill").await?;
    brewer.server.stop()?;
    brewer.tab.type_in(FIELD, "48,5").await?;
    brewer.tab.press(LOG).await?;
    brewer.tab.until("document.getElementById('waiting')?.innerText.includes('48,5')").await?;
    // Closed and opened again elsewhere in the book.
    brewer.tab.client.goto("about:blank").await?;
    brewer.server.open()?;
    brewer.tab.client.goto(&brewer.server.page("/glossary")).await?;
    brewer.tab.until("Object.keys(localStorage).every((key) => !key.startsWith('gylebook-outbox'))").await?;
    brewer.tab.until(IS_EMPTY).await?;
    let readings = readings(&brewer)?;
    ensure!(readings == [48.5], "{readings:?}");
    only_the_lost_server(&brewer).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_double_tap_is_one_entry() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.go("chill").await?;
    let before = brewer.server.entries(BATCH)?.len();
    brewer.tab.type_in(FIELD, "52").await?;
    tap_twice(&brewer, LOG).await?;
    let first = brewer.kept(before).await?;
    tap_twice(&brewer, "form:has([value=stirred]) button").await?;
    brewer.kept(before + 1).await?;
    // A third entry comes after anything the second taps may have sent.

    brewer.send("temperature", &[("temperature_c", "49")]).await?;
    let kinds: Vec<Value> =
        brewer.server.entries(BATCH)?.into_iter().skip(before).map(|entry| entry["kind"].clone()).collect();
    ensure!(first["kind"] == "temperature", "{first}");
    ensure!(kinds.iter().filter(|kind| **kind == "bath_stirred").count() == 1, "{kinds:?}");
    ensure!(kinds.iter().filter(|kind| **kind == "temperature").count() == 2, "{kinds:?}");
    ensure!(brewer.tab.ask("document.querySelector('.summary')").await?.is_null(), "a form came back");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_can_not_be_read_comes_back_as_it_was_typed() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.go("chill").await?;
    let before = brewer.server.entries(BATCH)?.len();
    brewer.tab.type_in(FIELD, "lukewarm").await?;
    brewer.tab.press(LOG).await?;
    brewer.tab.until("document.activeElement.matches('.summary')").await?;
    let value = brewer.tab.ask(&format!("document.querySelector('{FIELD}').value")).await?;
    ensure!(value == "lukewarm", "it came back as {value}");
    // It stays on the phone until it is put right.
    ensure!(brewer.tab.text("#waiting").await?.starts_with("1 not taken: Wort lukewarm"), "it is not told");
    ensure!(brewer.server.entries(BATCH)?.len() == before, "it was kept");
    let complaints = brewer.tab.complaints().await?;
    ensure!(complaints.iter().all(|one| one.contains("422")), "{complaints:?}");
    // Another entry leaves it as it is; put right, it is kept.
    brewer.send("stirred", &[]).await?;
    let value = brewer.tab.ask(&format!("document.querySelector('{FIELD}').value")).await?;
    ensure!(value == "lukewarm", "another entry made it {value}");
    let entry = brewer.send("temperature", &[("temperature_c", "37")]).await?;
    ensure!(entry["temperature_c"] == 37.0, "{entry}");
    brewer.tab.until(IS_EMPTY).await
}

/// The wort's temperatures in the log, in order of when they were read.
fn readings(brewer: &Brewer) -> Result<Vec<f64>> {
    let mut log = brewer.server.entries(BATCH)?;
    log.retain(|entry| entry["kind"] == "temperature");
    log.sort_by_key(|entry| entry["at"].as_str().map(str::to_owned));
    log.iter().map(|entry| entry["temperature_c"].as_f64().context("a temperature")).collect()
}

/// Nothing was complained of but that the server was away.
async fn only_the_lost_server(brewer: &Brewer) -> Result<()> {
    let complaints = brewer.tab.complaints().await?;
    ensure!(complaints.iter().all(|one| one.contains("net::ERR_")), "{complaints:?}");
    Ok(())
}

/// Two taps on the same spot, as quick as a nervous thumb.
async fn tap_twice(brewer: &Brewer, css: &str) -> Result<()> {
    let element = brewer.tab.find(css).await?;
    let mut mouse = MouseActions::new("mouse".into()).then(PointerAction::MoveToElement {
        element,
        duration: None,
        x: 0.0,
        y: 0.0,
    });
    for _ in 0..2 {
        mouse = mouse.then(PointerAction::Down { button: MOUSE_BUTTON_LEFT });
        mouse = mouse.then(PointerAction::Up { button: MOUSE_BUTTON_LEFT });
        mouse = mouse.then(PointerAction::Pause { duration: std::time::Duration::from_millis(150) });
    }
    Ok(brewer.tab.client.perform_actions(mouse).await?)
}
