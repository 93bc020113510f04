//! What falls due rings: from the log's times, by the server's clock, after a lock too.

use anyhow::{Context, Result, ensure};
use gylebook_browser_tests::brewer::{BATCH, Brewer};
use serde_json::{Value, json};

/// What the banners of timers say.
const BANNERS: &str = "[...document.querySelectorAll('.banner[data-of] p')].map((said) => said.textContent).join('; ')";
const SEEN: &str = ".banner[data-of] button";
/// Counts what is asked of the phone's speaker and motor.
const COUNT_RINGS: &str = "
    globalThis.rings = { tones: 0, shakes: 0 };
    navigator.vibrate = () => (rings.shakes++, true);
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (...given) { rings.tones++; return start.apply(this, given); };";
/// The starter recipe's boil, and its additions counted back from the end, in minutes.
const BOIL_S: u64 = 3_600;

/// A boil that began so many seconds ago, on its page.
async fn boiling(seconds_ago: u64) -> Result<Brewer> {
    let brewer = Brewer::begin().await?;
    brewer.tab.browser("Page.addScriptToEvaluateOnNewDocument", json!({ "source": COUNT_RINGS })).await?;
    brewer.send_entry_at("boil_started", json!({}), seconds_ago)?;
    brewer.go("boil").await?;
    Ok(brewer)
}

/// Seconds from the boil's start to each addition that is still waited for.
async fn additions(brewer: &Brewer) -> Result<Vec<u64>> {
    let script =
        "[...document.querySelectorAll('.timers__due[data-timer]')].map((one) => Date.parse(one.dataset.timer))";
    let started = brewer.server.entries(BATCH)?.iter().find(|entry| entry["kind"] == "boil_started").cloned();
    let started = started.context("a boil")?["at"].clone();
    let due = brewer.tab.ask(&format!("{script}.map((at) => (at - Date.parse({started})) / 1000)")).await?;
    due.as_array().context("additions")?.iter().map(|at| at.as_f64().map(|at| at as u64).context("a time")).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn an_addition_warns_then_rings_and_stays_until_it_is_acknowledged() -> Result<()> {
    let brewer = boiling(0).await?;
    // Additions in the order of the boil; the first is due a while after its start.
    let due = additions(&brewer).await?;
    let first = *due.iter().filter(|due| **due > 300).min().context("an addition in the boil")?;

    // A boil that comes to its warning a few seconds from now.
    let brewer = boiling(first - 123).await?;
    brewer.tab.press("#additions").await?;
    brewer.tab.until("document.querySelector('[data-sound]').textContent.startsWith('This page rings')").await?;
    quiet(&brewer).await?;
    brewer.tab.until(&format!("{BANNERS}.includes(' is due at ')")).await?;
    brewer.tab.until("rings.shakes > 0 && rings.tones === 3 * rings.shakes").await?;
    brewer.tab.until("document.title.startsWith('● ') && document.title.includes(' is due at ')").await?;
    let warning = brewer.tab.ask(BANNERS).await?;
    quiet(&brewer).await?;
    ensure!(
        brewer.tab.ask("document.title").await?.as_str().is_some_and(|title| title.starts_with("Boil")),
        "the title"
    );

    // On any other page of the batch, after a reload, it does not ring a second time.
    brewer.go("mash").await?;
    brewer.tab.client.refresh().await?;
    brewer.tab.until("!!document.querySelector('[data-live=timers] .timers__left')").await?;
    ensure!(brewer.tab.ask(BANNERS).await? == "", "{warning} rings again");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn an_addition_is_logged_from_its_banner_on_any_page_and_can_be_taken_back() -> Result<()> {
    let brewer = boiling(0).await?;
    let due = additions(&brewer).await?;
    let first = *due.iter().filter(|due| **due > 300).min().context("an addition in the boil")?;

    let brewer = boiling(first + 5).await?;
    brewer.go("mash").await?;
    brewer.tab.until(&format!("{BANNERS} !== ''")).await?;
    let words = brewer.tab.ask("document.querySelector('.banner[data-of] p').textContent").await?;
    let before = brewer.server.entries(BATCH)?.len();
    brewer.tab.press(".banner[data-of] form button").await?;
    let entry = brewer.kept(before).await?;
    ensure!(entry["kind"] == "addition" && entry["planned"].is_number() && entry["mass_kg"].is_number(), "{entry}");
    ensure!(
        words.as_str().is_some_and(|words| words.contains(entry["what"].as_str().unwrap_or("-"))),
        "{words}: {entry}"
    );
    brewer.tab.until(&format!("!{BANNERS}.includes({words})")).await?;
    brewer.tab.until("document.querySelector('.saved')?.textContent.includes('Saved.')").await?;
    brewer.tab.press(".saved button").await?;
    brewer.tab.until("document.querySelector('.saved')?.textContent.includes('Struck out')").await?;
    // It is waited for again, as the boil page says.
    brewer.go("boil").await?;
    ensure!(additions(&brewer).await?.contains(&first), "what was taken back is not waited for");
    Ok(())
}

/// Acknowledges what fell due before.
async fn quiet(brewer: &Brewer) -> Result<()> {
    while brewer.tab.ask(&format!("{BANNERS} !== ''")).await? == true {
        brewer.tab.press(SEEN).await?;
    }
    brewer.tab.client.execute("rings.tones = rings.shakes = 0", vec![]).await?;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_fell_due_during_a_lock_is_told_at_once_with_its_time() -> Result<()> {
    let mut brewer = boiling(BOIL_S - 20 * 60).await?;
    brewer.tab.press("#additions").await?;
    quiet(&brewer).await?;
    let page = brewer.tab.client.window().await?;
    // Locked: the page does nothing, the server may be gone, and half an hour goes by.
    freeze(&brewer, true).await?;
    brewer.server.stop()?;
    brewer
        .tab
        .client
        .execute("globalThis.Right ??= Date.now; const right = Right; Date.now = () => right() + 30 * 60000", vec![])
        .await?;
    freeze(&brewer, false).await?;
    brewer.tab.client.switch_to_window(page).await?;
    brewer.tab.until(&format!("{BANNERS}.includes('The boil is over: ')")).await?;
    let told = brewer.tab.ask(BANNERS).await?;
    let told = told.as_str().context("words")?;
    ensure!(told.contains(", 10 min ago"), "it does not say since when: {told}");
    ensure!(told.matches(" min ago").count() >= 2, "one of them alone: {told}");
    ensure!(brewer.tab.ask("rings.tones > 0").await? == true, "no sound");

    // So it is where the phone has closed the page meanwhile.
    brewer.server.open()?;
    let opened = boiling(BOIL_S + 31 * 60).await?;
    opened.tab.until(&format!("/The boil is over: \\d\\d:\\d\\d, 31 min ago/.test({BANNERS})")).await?;
    // What is logged is not waited for any longer.
    opened.send_entry("flame_out", json!({}))?;
    opened.tab.until(&format!("!{BANNERS}.includes('The boil is over')")).await
}

async fn freeze(brewer: &Brewer, is_frozen: bool) -> Result<()> {
    let state = if is_frozen { "frozen" } else { "active" };
    brewer.tab.browser("Page.setWebLifecycleState", json!({ "state": state })).await.map(drop)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_clock_counts_down_right() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.set_clock(25).await?;
    brewer.send_entry_at("boil_started", json!({}), 600)?;
    brewer.go("boil").await?;
    let left = brewer.tab.text(".countdown .timers__left").await?;
    let minutes: Option<u64> = left.strip_prefix("in ").and_then(|left| left.split(':').next()?.parse().ok());
    ensure!(minutes.is_some_and(|minutes| (48..=50).contains(&minutes)), "50 min are left, and it says {left}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn rests_flush_and_hold_ring_too() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let rings = |words: &'static str| {
        format!(
            "[...document.querySelectorAll('[data-timer]')].some((one) => one.dataset.timerWhat.includes({}))",
            json!(words)
        )
    };
    brewer.send_entry("stage_started", json!({ "stage": "mash" }))?;
    brewer.go("mash").await?;
    for words in ["Rest ", "Read the mash pH"] {
        ensure!(brewer.tab.ask(&rings(words)).await? == true, "{words} is not waited for");
    }
    brewer.send_entry("ph", json!({ "point": "mash", "ph": 5.4 }))?;
    brewer.tab.until(&format!("!{}", rings("Read the mash pH"))).await?;
    brewer.send_entry("boil_started", json!({}))?;
    brewer.tab.until(&format!("{} && !{}", rings("The boil is over"), rings("Rest "))).await?;
    brewer.send_entry_at("flush_started", json!({ "temperature_c": 97 }), 50)?;
    // It falls due while one looks: a minute after its start.
    brewer.tab.until(&format!("{BANNERS}.includes('The hot flush has run for a minute')")).await?;
    brewer.send_entry("flush_finished", json!({ "temperature_c": 96 }))?;
    brewer.tab.until(&format!("!{BANNERS}.includes('The hot flush')")).await?;

    // A wort that holds: read again in time, and when one full pass has gone by.
    brewer.send_entry_at("flame_out", json!({}), 400)?;
    brewer.send_entry_at("cooling_started", json!({ "method": "still_bath", "water_l": 40, "water_c": 12 }), 300)?;
    for (celsius, ago) in [(20.1, 100), (20.0, 60), (20.0, 20)] {
        brewer.send_entry_at("temperature", json!({ "place": "wort", "temperature_c": celsius }), ago)?;
    }
    brewer.go("chill").await?;
    for words in ["One full pass has gone by", "or the hold starts again"] {
        ensure!(brewer.tab.ask(&rings(words)).await? == true, "{words} is not waited for");
    }
    let told: Value = brewer.tab.ask("document.querySelector('[data-sound]').closest('details').textContent").await?;
    let told = told.as_str().context("words")?;
    ensure!(told.contains("stays silent") && told.contains("screen time-out"), "what can't be promised: {told}");
    Ok(())
}
