//! A phone on the network: let in by a link, ended, and let in again.

use anyhow::{Result, ensure};
use gylebook_browser_tests::brewer::{BATCH, Brewer};

const FIELD: &str = ".bar__input";
const IS_EMPTY: &str = "!document.getElementById('waiting')";

#[tokio::test(flavor = "multi_thread")]
async fn what_a_phone_logs_while_it_is_not_let_in_arrives_once_it_is_paired_anew() -> Result<()> {
    let brewer = Brewer::paired().await?;
    ensure!(brewer.tab.ask("isSecureContext").await? == false, "as on a network without TLS");
    ensure!(brewer.tab.ask("document.cookie").await? == "", "no script sees the cookie");
    brewer.go("chill").await?;
    brewer.send("flame_out", &[]).await?;
    brewer.server.end_devices()?;
    brewer.tab.type_in(FIELD, "61,5").await?;
    brewer.tab.press(".bar__send").await?;
    let told = "document.getElementById('waiting')?.innerText.includes('not let in')";
    brewer.tab.until(told).await?;
    ensure!(brewer.tab.ask("document.querySelector('#waiting a').pathname").await? == "/pair", "the way back in");
    let complaints = brewer.tab.complaints().await?;
    ensure!(complaints.iter().all(|one| one.contains("401")), "{complaints:?}");
    // The form it waits in was made for a device that is no more.
    brewer.tab.open(&brewer.server.pair()?).await?;
    brewer.tab.press("main form button").await?;
    brewer.tab.until("location.pathname === '/'").await?;
    brewer.tab.until("Object.keys(localStorage).every((key) => !key.startsWith('gylebook-outbox'))").await?;
    brewer.tab.until(IS_EMPTY).await?;
    let log = brewer.server.entries(BATCH)?;
    let readings: Vec<_> = log.iter().filter(|entry| entry["kind"] == "temperature").collect();
    ensure!(readings.len() == 1 && readings[0]["temperature_c"] == 61.5, "{readings:?}");
    ensure!(log.iter().all(|entry| entry["device"].is_string()), "each tells its device: {log:?}");
    Ok(())
}
