//! Two windows on one batch, as two phones at one kettle.

use anyhow::{Result, ensure};
use gylebook_browser_tests::{brewer::Brewer, tab::PHONE};

const FIELD: &str = ".bar__input";

#[tokio::test(flavor = "multi_thread")]
async fn what_one_logs_shows_in_the_other_and_leaves_its_fields_alone() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let tab = &brewer.tab;
    brewer.go("mash").await?;
    let page = tab.client.current_url().await?;
    let here = tab.client.window().await?;

    tab.type_in(FIELD, "67.").await?;
    let there = tab.client.new_window(true).await?.handle;
    tab.client.switch_to_window(there).await?;
    tab.size(PHONE).await?;
    tab.open(page.as_str()).await?;
    brewer.send("temperature", &[("temperature_c", "65.2")]).await?;

    tab.client.switch_to_window(here).await?;
    tab.until("document.getElementById('log').innerText.includes('65.2')").await?;
    ensure!(tab.ask(&format!("document.querySelector('{FIELD}').value")).await? == "67.", "what was typed is gone");
    ensure!(tab.ask(&format!("document.activeElement.matches('{FIELD}')")).await? == true, "the keyboard is gone");

    // Nor does an entry of this window's own touch another of its forms.
    brewer.fill("first_wort", &[("reading", "1.06")]).await?;
    brewer.send("temperature", &[("temperature_c", "67.5")]).await?;
    let reading =
        tab.ask("document.querySelector('form:has([name=form][value=first_wort]) [name=reading]').value").await?;
    ensure!(reading == "1.06", "half typed, now {reading}");
    Ok(())
}
