//! Prints what each page weighs, and how soon a slow phone shows it and answers a tap.
//!
//! `cargo run -p gylebook-browser-tests --example weight`, after `cargo build`. The
//! processor is slowed down four times, as phones are. Times are of the machine it
//! runs on, so nothing of them is in the gate; the sizes are (`sizes.rs`).

use anyhow::{Context, Result};
use gylebook_browser_tests::{chromium::Chromium, server::Server, tab::Tab, weight};
use serde_json::{Value, json};

/// How often each page is opened; the middle one counts.
const TIMES: usize = 7;
const SLOWER: u32 = 4;

/// When the largest thing of the page was there, and how much moved after it was seen.
const SEEN: &str = "
    const done = arguments[arguments.length - 1];
    const entries = (type, take) => new PerformanceObserver((list) => list.getEntries().forEach(take))
        .observe({ type, buffered: true });
    let [largest, moved] = [0, 0];
    entries('largest-contentful-paint', (entry) => { largest = entry.startTime; });
    entries('layout-shift', (entry) => { moved += entry.value; });
    setTimeout(() => done([largest, moved]), 300);";

/// From the tap on the button to the frame in which the page has changed.
const LISTEN: &str = "
    window.tapped = null;
    addEventListener('click', (event) => {
        const seen = new MutationObserver(() => {
            seen.disconnect();
            requestAnimationFrame(() => setTimeout(() => { window.tapped = performance.now() - event.timeStamp; }));
        });
        seen.observe(document.body, { childList: true, subtree: true, characterData: true });
    }, { capture: true, once: true });";

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or_default()
}

async fn seen(tab: &Tab, address: &str) -> Result<(f64, f64)> {
    let (mut largest, mut moved) = (Vec::new(), 0.0_f64);
    for _ in 0..TIMES {
        tab.client.goto(address).await?;
        let told = tab.client.execute_async(SEEN, vec![]).await?;
        largest.push(told[0].as_f64().context("a time")?);
        moved = moved.max(told[1].as_f64().context("a shift")?);
    }
    Ok((middle(largest), moved))
}

/// Milliseconds until a tap on the button under the thumb shows.
async fn answered(tab: &Tab, reading: &str) -> Result<f64> {
    tab.type_in(".bar__input", reading).await?;
    tab.client.execute(LISTEN, vec![]).await?;
    tab.press(".bar__log").await?;
    tab.until("window.tapped !== null").await?;
    tab.ask("window.tapped").await?.as_f64().context("a time")
}

async fn taps(tab: &Tab, server: &mut Server, mash: &str) -> Result<()> {
    for (words, is_away) in [("the server is there", false), ("the server is away", true)] {
        tab.client.goto(mash).await?;
        if is_away {
            server.stop()?;
        }
        let mut times = Vec::new();
        for at in 0..TIMES {
            times.push(answered(tab, &format!("66.{at}")).await?);
            // A second tap too soon would count as the same one.
            tokio::time::sleep(std::time::Duration::from_secs(1)).await;
        }
        println!("a tap shows after {:.0} ms (middle of {TIMES}), {words}", middle(times));
    }
    Ok(())
}

#[tokio::main]
async fn main() -> Result<()> {
    let mut server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let pages = weight::pages(&server)?;
    println!("bytes as sent, compressed; times with the processor {SLOWER} times slower\n");
    println!("page          HTML  styles scripts   other    cold    font  requests  largest ms  shift");
    for (name, path) in &pages {
        let address = server.page(path);
        let told = weight::of(&tab, &address).await?;
        tab.browser("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
        let (largest, moved) = seen(&tab, &address).await?;
        tab.browser("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await?;
        let weight::Weight { html, styles, scripts, other, font, requests } = told;
        let cold = told.cold();
        println!(
            "{name:<11} {html:>6} {styles:>7} {scripts:>7} {other:>7} {cold:>7} {font:>7} {requests:>9} {largest:>11.0} {moved:>6.3}"
        );
    }
    tab.browser("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
    let mash = pages.iter().find(|(name, _)| name == "mash").map(|(_, path)| server.page(path)).context("a mash")?;
    println!();
    taps(&tab, &mut server, &mash).await?;
    let left: Value = tab.ask("document.getElementById('waiting')?.innerText ?? ''").await?;
    println!("what the page says then: {left}");
    Ok(())
}
