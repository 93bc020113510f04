//! Two phones at one kettle: each sees what the other logs, and keeps its own.

use std::time::Instant;

use anyhow::{Result, ensure};
use gylebook_browser_tests::{
    brewer::{BATCH, Brewer},
    tab::Tab,
};
use serde_json::{Value, json};

const FIELD: &str = ".bar__input";

/// Has the other phone log something, and measures until this one shows it.
async fn seen_here(brewer: &Brewer, other: &Tab, script: &str, shows: &str) -> Result<()> {
    let tapped = Instant::now();
    other.client.execute(script, vec![]).await?;
    brewer.tab.until(shows).await?;
    println!("{} ms until: {shows}", tapped.elapsed().as_millis());
    Ok(())
}

/// Sends one of a page's forms with one field filled in.
fn send(form: &str, field: &str, text: &str) -> String {
    format!(
        "const form = document.querySelector(\"form:has([name=form][value='{form}'])\");
         if ('{field}') form.elements.namedItem('{field}').value = '{text}';
         form.requestSubmit(form.querySelector('button[type=submit]'));"
    )
}

/// Types half a reading and marks a part of it.
async fn half_type(tab: &Tab) -> Result<()> {
    tab.type_in(FIELD, "67.").await?;
    let mark = format!("document.querySelector('{FIELD}').setSelectionRange(1, 2)");
    tab.client.execute(&mark, vec![]).await.map(drop).map_err(Into::into)
}

/// Value, selection and focus, as they were left.
async fn is_left_alone(tab: &Tab) -> Result<()> {
    let script = format!(
        "(() => {{ const field = document.querySelector('{FIELD}');
           return [field.value, field.selectionStart, field.selectionEnd, document.activeElement === field] }})()"
    );
    let field = tab.ask(&script).await?;
    ensure!(field == json!(["67.", 1, 2, true]), "what was being typed is now {field}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn entries_timers_and_verdicts_come_across_and_typing_is_left_alone() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let (_browser, other) = brewer.another().await?;
    brewer.send_entry("flame_out", json!({}))?;
    brewer.send_entry("cooling_started", json!({ "method": "still_bath", "water_l": 40, "water_c": 12 }))?;

    brewer.go("chill").await?;
    other.open(&brewer.page(&format!("/batches/{BATCH}/chill"))).await?;
    half_type(&brewer.tab).await?;
    let shows = "document.getElementById('log').innerText.includes('81.3')";
    seen_here(&brewer, &other, &send("temperature", "temperature_c", "81.3"), shows).await?;
    let verdict = "document.querySelector('.verdict').innerText.includes";
    ensure!(brewer.tab.text(".reading__value").await?.starts_with("81.3"), "the reading is not there");
    ensure!(brewer.tab.ask(&format!("{verdict}('One reading does not say')")).await? == true, "no verdict yet");
    // The readings lie apart in time, or there would be no telling how fast it falls.
    tokio::time::sleep(std::time::Duration::from_secs(1)).await;
    let shows = format!("{verdict}('Falling')");
    seen_here(&brewer, &other, &send("temperature", "temperature_c", "74.1"), &shows).await?;
    is_left_alone(&brewer.tab).await?;
    brewer.tab.until("document.querySelector('.bar__last').innerText.startsWith('Last 74.1')").await?;

    // The boil's countdown begins on both.
    brewer.go("boil").await?;
    other.open(&brewer.page(&format!("/batches/{BATCH}/boil"))).await?;
    brewer.fill("post_boil", &[("volume_l", "22.")]).await?;
    let counts = "document.querySelectorAll('.timers__due .timers__left').length > 0";
    brewer.send_entry("boil_started", json!({}))?;
    other.until(counts).await?;
    brewer.tab.until(counts).await?;
    let additions = brewer.tab.ask("document.querySelectorAll('.timers__form').length").await?.as_u64();
    let is_in = format!("document.querySelectorAll('.timers__form').length < {}", additions.unwrap_or_default());
    seen_here(&brewer, &other, &send("addition-0", "", ""), &is_in).await?;
    let volume = "document.querySelector(\"form:has([value=post_boil]) [name=volume_l]\").value";
    ensure!(brewer.tab.ask(volume).await? == "22.", "the volume that was being typed is gone");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_catches_up_by_itself_after_the_server_was_gone() -> Result<()> {
    let mut brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    half_type(&brewer.tab).await?;
    for reading in [64.5, 65.5, 66.5] {
        brewer.server.kill()?;
        brewer.server.open()?;
        // Logged before the phone has found its way back.
        brewer.send_entry("temperature", json!({ "place": "mash", "temperature_c": reading }))?;
        brewer.tab.until(&format!("document.getElementById('log').innerText.includes('{reading}')")).await?;
    }
    is_left_alone(&brewer.tab).await?;
    let complaints = brewer.tab.complaints().await?;
    ensure!(complaints.iter().all(|one| one.contains("net::ERR_")), "{complaints:?}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_saved_can_be_undone_though_the_other_phone_goes_on() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    let mine = brewer.send("temperature", &[("temperature_c", "66.6")]).await?;
    brewer.send_entry("temperature", json!({ "place": "mash", "temperature_c": 65 }))?;
    brewer.tab.until("document.getElementById('log').innerText.includes('65')").await?;
    brewer.tab.press(".saved button").await?;
    brewer.tab.until("!!document.querySelector('.log__one--struck')").await?;
    let log = brewer.server.entries(BATCH)?;
    let undone = log.iter().find(|entry| entry["kind"] == "amendment").map(|entry| entry["of"].clone());
    ensure!(undone.unwrap_or(Value::Null) == mine["id"], "not what was saved here");
    Ok(())
}
