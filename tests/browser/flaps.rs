//! A bad signal, a thousand times over: the server is stopped, killed and started,
//! requests are lost on their way, answers on theirs, pages reloaded and tabs
//! closed. Every reading arrives, once, in the order of the taps.
//!
//! The page is reached at an address of a local network over plain HTTP, where a
//! browser withholds whatever it keeps for secure pages. Time is not the page's
//! own: it is told again and again that the network is back, so that a thousand
//! flaps need minutes and not a day.

use std::sync::{
    Arc, Mutex,
    atomic::{AtomicBool, Ordering},
};

use anyhow::{Result, ensure};
use gylebook_browser_tests::{
    brewer::{BATCH, Brewer},
    dice::Dice,
    wire::Fate,
};
use serde_json::{Value, json};

const FLAPS: usize = 1_000;
/// Of them, times the server's own process ends and starts.
const RESTARTS: usize = 100;
/// Entries that wait before the first of them can be sent.
const QUEUED: usize = 200;
/// The range of readings: a tenth of a degree for each, so that each is known again.
const FIRST_C: f64 = 30.0;

/// What the page is told, as a phone's network would.
const BACK_AGAIN: &str = "setInterval(() => dispatchEvent(new Event('online')), 20)";

#[tokio::test(flavor = "multi_thread")]
async fn a_thousand_flaps_lose_nothing_and_double_nothing() -> Result<()> {
    let dice = Dice::seeded()?;
    let (flapping, fates) = (Arc::new(AtomicBool::new(false)), Arc::new(Mutex::new(dice.other())));
    let is_bad = flapping.clone();
    let mut brewer = Brewer::on_the_network(move || {
        let throw = fates.lock().map_or(0, |mut dice| dice.below(10));
        match throw {
            _ if !is_bad.load(Ordering::SeqCst) => Fate::Passes,
            0..3 => Fate::LostBefore,
            3..6 => Fate::LostAfter,
            6..8 => Fate::CutShort,
            _ => Fate::Passes,
        }
    })
    .await?;
    brewer.go("mash").await?;
    let withheld =
        "[isSecureContext, !!navigator.serviceWorker, !!navigator.clipboard, !!crypto.randomUUID, !!navigator.locks]";
    ensure!(
        brewer.tab.ask(withheld).await? == json!([false, false, false, false, false]),
        "this is not what a phone on a network gets"
    );
    brewer.tab.browser("Page.addScriptToEvaluateOnNewDocument", json!({ "source": BACK_AGAIN })).await?;

    let mut day = Flaps { brewer: &mut brewer, dice, taps: Vec::new(), restarts: 0 };
    day.brewer.server.stop()?;
    for _ in 0..QUEUED {
        day.tap().await?;
    }
    day.brewer.server.open()?;
    flapping.store(true, Ordering::SeqCst);
    day.brewer.tab.ask(BACK_AGAIN).await?;
    while day.count() < FLAPS {
        day.one_more().await?;
    }
    flapping.store(false, Ordering::SeqCst);
    let (taps, restarts, broken) = (day.taps, day.restarts, day.brewer.wire_broken());

    brewer.tab.client.goto(&brewer.page("/glossary")).await?;
    let waiting = "Object.entries(localStorage).filter(([key]) => key.startsWith('gylebook-outbox/')).map(([, item]) => JSON.parse(item))";
    brewer.tab.until(&format!("{waiting}.every((item) => item.refused)")).await?;
    let refused = brewer.tab.ask(waiting).await?;
    ensure!(refused == json!([]), "refused: {refused}");
    let log = brewer.server.entries(BATCH)?;
    let kept: Vec<f64> = log.iter().filter_map(|entry| entry["temperature_c"].as_f64()).collect();
    println!("{} readings, {restarts} restarts and {broken} broken requests", taps.len());
    ensure!(kept == taps, "tapped {taps:?}\nkept {kept:?}");
    // Without the Z, which sorts after a further digit.
    let at = |entry: &Value| entry["at"].as_str().map(|at| at.trim_end_matches('Z').to_owned());
    let times: Vec<_> = log.iter().filter(|entry| entry["kind"] == "temperature").map(at).collect();
    ensure!(times.is_sorted(), "the times are not in the order of the taps: {times:?}");
    Ok(())
}

/// A bad day on the network.
struct Flaps<'a> {
    brewer: &'a mut Brewer,
    dice: Dice,
    taps: Vec<f64>,
    restarts: usize,
}

impl Flaps<'_> {
    fn count(&self) -> usize {
        self.restarts + self.brewer.wire_broken()
    }

    /// Something that happens on a day like this.
    async fn one_more(&mut self) -> Result<()> {
        // The server's process takes its share, spread over the whole of it.
        if self.restarts * FLAPS < self.count() * RESTARTS {
            return self.restart().await;
        }
        match self.dice.below(40) {
            0 => self.brewer.tab.client.refresh().await?,
            1 => self.another_tab().await?,
            2..8 => self.tap().await?,
            _ => tokio::time::sleep(std::time::Duration::from_millis(20)).await,
        }
        let left = "Object.keys(localStorage).filter((key) => key.startsWith('gylebook-outbox/')).length";
        if self.brewer.tab.ask(left).await?.as_u64() < Some(5) {
            self.tap().await?;
        }
        Ok(())
    }

    async fn restart(&mut self) -> Result<()> {
        if self.dice.below(2) == 0 {
            self.brewer.server.kill()?;
        } else {
            self.brewer.server.stop()?;
        }
        if self.dice.below(3) == 0 {
            self.tap().await?;
        }
        // A page that is gone back to while nobody answers is the browser's own.
        let is_lost = self.dice.below(10) == 0;
        if is_lost {
            let _ = self.brewer.tab.client.refresh().await;
        }
        self.brewer.server.open()?;
        self.restarts += 1;
        if is_lost {
            self.open_mash().await?;
        }
        Ok(())
    }

    async fn another_tab(&mut self) -> Result<()> {
        let client = &self.brewer.tab.client;
        let old = client.window().await?;
        let new = client.new_window(true).await?.handle;
        client.switch_to_window(old).await?;
        client.close_window().await?;
        client.switch_to_window(new).await?;
        self.brewer.tab.browser("Page.addScriptToEvaluateOnNewDocument", json!({ "source": BACK_AGAIN })).await?;
        self.open_mash().await
    }

    async fn open_mash(&self) -> Result<()> {
        Ok(self.brewer.tab.client.goto(&self.brewer.page(&format!("/batches/{BATCH}/mash"))).await?)
    }

    /// A reading, logged as the form logs it; it has to be on the phone at once.
    async fn tap(&mut self) -> Result<()> {
        let reading = FIRST_C + f64::from(u32::try_from(self.taps.len())?) / 10.0;
        let text = format!("{reading:.1}");
        let script = "
            const field = document.querySelector('.bar__input');
            field.value = arguments[0];
            field.form.requestSubmit(document.querySelector('.bar__log'));
            return Object.values(localStorage).some((item) => item.includes(`temperature_c=${arguments[0]}&`));";
        let is_kept = self.brewer.tab.client.execute(script, vec![json!(text)]).await?;
        ensure!(is_kept == true, "{text} was not kept on the phone");
        self.taps.push(text.parse()?);
        Ok(())
    }
}
