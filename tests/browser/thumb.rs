//! The bar under the thumb: few taps, no keyboard, a time set back, nothing refused lost.

use std::time::Instant;

use anyhow::{Context, Result, ensure};
use gylebook_browser_tests::brewer::{BATCH, Brewer};
use url::Url;

const FIELD: &str = ".bar__input";
const LOG: &str = ".bar__log";
const HIGHER: &str = "[data-step='1']";
const LOWER: &str = "[data-step='-1']";
/// A minute either way: what a slow machine needs, and less than any step.
const NEAR_S: i64 = 45;

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_repeated_in_three_taps_without_a_keyboard() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    brewer.send("temperature", &[("temperature_c", "66.5")]).await?;
    // A tenth more than last time: one step from it, log.
    let before = brewer.server.entries(BATCH)?.len();
    let begun = Instant::now();
    let taps = [HIGHER, LOG];
    for tap in taps {
        brewer.tab.press(tap).await?;
    }
    let entry = brewer.kept(before).await?;
    println!("{} taps, {} ms until saved", taps.len(), begun.elapsed().as_millis());
    ensure!(entry["temperature_c"] == 66.6, "{entry}");
    // The same again takes three.
    let before = brewer.server.entries(BATCH)?.len();
    for tap in [HIGHER, LOWER, LOG] {
        brewer.tab.press(tap).await?;
    }
    ensure!(brewer.kept(before).await?["temperature_c"] == 66.6, "the last reading is not where the steps begin");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_set_back_by_steps_or_to_a_time() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    for minutes in [1, 3, 5, 10] {
        brewer.tab.press(&format!(".bar [name=ago] option[value='{minutes}']")).await?;
        let entry = brewer.send("temperature", &[("temperature_c", "66")]).await?;
        let ago = brewer.seconds_ago(&entry).await?;
        ensure!((ago - minutes * 60).abs() < NEAR_S, "{minutes} min ago became {ago} s");
        let ago = brewer.tab.ask("document.querySelector('.bar [name=ago]').value").await?;
        ensure!(ago == "", "the next reading would be set back too: {ago}");
    }
    brewer.tab.press(".bar [name=ago] option[value=exact]").await?;
    let quarter = "new Date(Date.now() - 15 * 60000).toLocaleTimeString('en-GB', { timeStyle: 'short' })";
    let quarter = brewer.tab.ask(quarter).await?.as_str().context("a time")?.to_owned();
    let entry = brewer.send("temperature", &[("at", &quarter), ("temperature_c", "65")]).await?;
    let ago = brewer.seconds_ago(&entry).await?;
    ensure!((14 * 60..17 * 60).contains(&ago), "{quarter} became {ago} s ago");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_folded_open_is_not_hidden_by_the_bar() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.tab.size((360, 740)).await?;
    brewer.go("mash").await?;
    let folds = "[...document.querySelectorAll('main .panel details:not([open])')]";
    let count = brewer.tab.ask(&format!("{folds}.length")).await?.as_u64().context("a number")?;
    ensure!(count > 1, "nothing is folded");
    for _ in 0..count {
        // As low as its line can be seen and tapped, right above the bar.
        let tap = format!(
            "const fold = {folds}[0], line = fold.querySelector('summary');
            const bar = document.querySelector('.bar').getBoundingClientRect().top;
            scrollBy(0, line.getBoundingClientRect().bottom - bar + 4);
            globalThis.opened = fold; line.click();"
        );
        brewer.tab.client.execute(&tap, vec![]).await?;
        brewer.tab.drawn().await?;
        let seen = "const { top, bottom } = opened.getBoundingClientRect();
            const bar = document.querySelector('.bar').getBoundingClientRect().top;
            return top >= -1 && (bottom <= bar + 1 || top < 40)";
        let seen = brewer.tab.client.execute(seen, vec![]).await?;
        let what = brewer.tab.ask("opened.textContent.trim().slice(0, 40)").await?;
        ensure!(seen == true, "{what} is hidden by the bar");
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_whose_clock_is_wrong_logs_the_right_time() -> Result<()> {
    for wrong_min in [7, -50] {
        let brewer = Brewer::begin().await?;
        brewer.set_clock(wrong_min).await?;
        brewer.go("mash").await?;
        let entry = brewer.send("temperature", &[("temperature_c", "66")]).await?;
        let at = entry["at"].as_str().context("a time")?;
        // The server's own machine is this one, and its clock is right.
        let ago = brewer.tab.ask(&format!("(Date.now() - {} - Date.parse('{at}')) / 1000", wrong_min * 60_000)).await?;
        let ago = ago.as_f64().context("seconds")?;
        ensure!(ago.abs() < 30.0, "a clock {wrong_min} min wrong logged {at}, {ago} s away");
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn two_readings_that_can_not_be_read_both_come_back() -> Result<()> {
    let mut brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    brewer.server.stop()?;
    for text in ["lukewarm", "hot", "66"] {
        brewer.tab.type_in(FIELD, text).await?;
        brewer.tab.press(LOG).await?;
    }
    brewer.tab.until("document.getElementById('waiting').innerText.includes('3 waiting to send')").await?;
    brewer.server.open()?;
    brewer.tab.until("document.getElementById('waiting').innerText.startsWith('2 not taken')").await?;
    // The first one stands in its field, with the reason; both are listed with theirs.
    brewer.tab.until(&format!("document.querySelector('{FIELD}').value === 'lukewarm'")).await?;
    brewer.tab.press("#waiting summary").await?;
    brewer.tab.until("!!document.querySelector('.waiting__list')").await?;
    let list = brewer.tab.text(".waiting__list").await?;
    for text in ["lukewarm", "hot"] {
        ensure!(
            list.contains(text) && list.contains(&format!("“{text}”")),
            "{text} is not told with its reason:\n{list}"
        );
    }
    // What the browser complained of so far was meant to happen.
    brewer.tab.complaints().await?;
    let entry = brewer.send("temperature", &[("temperature_c", "65.5")]).await?;
    ensure!(entry["temperature_c"] == 65.5, "{entry}");

    // The other one outlives a reload, and comes back into its form by itself.
    brewer.tab.client.refresh().await?;
    brewer.tab.until(&format!("document.querySelector('{FIELD}').value === 'hot'")).await?;
    brewer.tab.complaints().await?;
    brewer.send("temperature", &[("temperature_c", "67.5")]).await?;
    brewer.tab.until("!document.getElementById('waiting')").await?;

    // Each kept the time of its own tap, so that they stand in the order of the taps.
    let mut log = brewer.server.entries(BATCH)?;
    log.retain(|entry| entry["kind"] == "temperature");
    log.sort_by_key(|entry| entry["at"].as_str().map(str::to_owned));
    let readings: Vec<_> = log.iter().filter_map(|entry| entry["temperature_c"].as_f64()).collect();
    ensure!(readings == [65.5, 67.5, 66.0], "{readings:?}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_thrown_away_can_be_taken_back_and_all_of_it_is_text() -> Result<()> {
    let mut brewer = Brewer::begin().await?;
    brewer.go("mash").await?;
    brewer.tab.type_in(FIELD, "tepid").await?;
    brewer.tab.press(LOG).await?;
    brewer.tab.until("document.activeElement.matches('.summary')").await?;
    // On every page of the book.
    for path in ["/", "/recipes", "/equipment", "/compare", "/glossary", "/settings", "/batches/1/sheet", "/batches/1"]
    {
        brewer.tab.client.goto(&brewer.page(path)).await?;
        brewer.tab.until("document.getElementById('waiting')?.innerText.includes('1 not taken')").await?;
    }
    brewer.tab.press("#waiting summary").await?;
    brewer.tab.until("!!document.querySelector('#waiting textarea')").await?;
    let text = brewer.tab.ask("document.querySelector('#waiting textarea').value").await?;
    ensure!(text.as_str().is_some_and(|text| text.contains("temperature_c=tepid")), "as text: {text}");
    let press = |words: &str| {
        format!(
            "[...document.querySelectorAll('#waiting button')].find((one) => one.textContent === '{words}').click()"
        )
    };
    brewer.tab.client.execute(&press("Throw it away"), vec![]).await?;
    brewer.tab.until("document.getElementById('waiting').innerText.includes('can be taken back')").await?;
    brewer.tab.client.execute(&press("Take it back"), vec![]).await?;
    brewer.tab.until("document.getElementById('waiting').innerText.includes('1 not taken')").await?;
    // A book that is away says so where one looks.
    brewer.go_straight("mash").await?;
    brewer.server.stop()?;
    brewer.tab.type_in(FIELD, "66").await?;
    brewer.tab.press(LOG).await?;
    brewer.tab.until("document.getElementById('waiting').innerText.includes('The server does not answer')").await
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_script_a_double_post_is_one_entry() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let page = Url::parse(&brewer.page(&format!("/batches/{BATCH}/mash")))?;
    brewer.tab.client.goto(page.as_str()).await?;
    let before = brewer.server.entries(BATCH)?.len();
    // The very same form, eight times at once.
    let script = "
        const done = arguments[arguments.length - 1];
        const form = document.querySelector('.bar');
        form.querySelector('.bar__input').value = '66';
        const data = new FormData(form, form.querySelector('.bar__log'));
        const post = () => fetch(form.action, { method: 'POST', body: new URLSearchParams(data) });
        Promise.all(Array.from({ length: 8 }, post)).then((all) => done(all.map((one) => one.url)));";
    let answers = brewer.tab.client.execute_async(script, vec![]).await?;
    let answers: Vec<_> = answers.as_array().context("answers")?.clone();
    ensure!(answers.iter().all(|one| *one == answers[0]) && !answers[0].is_null(), "{answers:?}");
    ensure!(brewer.server.entries(BATCH)?.len() == before + 1, "more than one");
    Ok(())
}
