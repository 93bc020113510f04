//! A whole brew day on a phone, from an empty book to a stored coil.

use anyhow::{Context, Result, ensure};
use gylebook_browser_tests::brewer::{Brewer, NO_SCRIPTS};
use serde_json::Value;

#[tokio::test(flavor = "multi_thread")]
async fn from_an_empty_book_to_a_stored_coil() -> Result<()> {
    let brewer = Brewer::begin().await?;
    whole_day(&brewer).await
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_day_without_a_script() -> Result<()> {
    let brewer = Brewer::begin_with(&[NO_SCRIPTS]).await?;
    brewer.go("mash").await?;
    // The steppers are the script's, and stay hidden.
    ensure!(brewer.tab.ask("document.querySelector('[data-step]').hidden").await? == true, "a script has run");
    brewer.tab.press(".bar [name=ago] option[value='5']").await?;
    let entry = brewer.send("temperature", &[("temperature_c", "71,5")]).await?;
    let ago = brewer.seconds_ago(&entry).await?;
    ensure!((290..360).contains(&ago), "5 min ago became {ago} s");
    brewer.tab.press(".saved button").await?;
    brewer.tab.until("!!document.querySelector('.log__one--struck')").await?;
    brewer.go("prepare").await?;
    whole_day(&brewer).await
}

/// From the check list of the morning to the coil on its shelf.
async fn whole_day(brewer: &Brewer) -> Result<()> {
    prepare(brewer).await?;
    mash(brewer).await?;
    boil(brewer).await?;
    chill(brewer).await?;
    pitch(brewer).await?;
    clean(brewer).await?;
    look_back(brewer).await
}

async fn prepare(brewer: &Brewer) -> Result<()> {
    brewer.tick_all().await?;
    brewer.send("stage_finished", &[]).await.map(drop)
}

async fn mash(brewer: &Brewer) -> Result<()> {
    brewer.go("mash").await?;
    brewer.send("strike", &[("volume_l", "18"), ("temperature_c", "15")]).await?;
    brewer.send("stage_started", &[]).await?;
    let entry = brewer.send("temperature", &[("temperature_c", "66,5")]).await?;
    ensure!(entry["place"] == "mash" && entry["temperature_c"] == 66.5, "{entry}");
    brewer.send("mash_ph", &[("ph", "5.4")]).await?;
    brewer.send("first_wort", &[("reading", "1.070")]).await?;
    brewer.send("sparge", &[("volume_l", "16")]).await?;
    brewer.send("pre_boil", &[("volume_l", "27")]).await?;
    brewer.send("pre_boil_gravity", &[("reading", "1.044")]).await.map(drop)
}

async fn boil(brewer: &Brewer) -> Result<()> {
    brewer.go("boil").await?;
    brewer.send("boil_started", &[]).await?;
    // The first addition counts down from the boil's start.
    if brewer.has_scripts() {
        brewer.tab.until("document.querySelectorAll('[data-timer] .timers__left').length > 1").await?;
    }
    brewer.send("addition-0", &[]).await?;
    brewer.send("flush_started", &[("temperature_c", "97")]).await?;
    if brewer.has_scripts() {
        brewer.tab.until("!!document.querySelector('[data-counter] .timers__left')").await?;
    }
    brewer.send("flush_finished", &[("temperature_c", "96")]).await?;
    brewer.send("flame_out", &[]).await?;
    brewer.send("post_boil", &[("volume_l", "22.5")]).await?;
    brewer.send("post_boil_gravity", &[("reading", "1.051")]).await.map(drop)
}

async fn chill(brewer: &Brewer) -> Result<()> {
    brewer.go("chill").await?;
    brewer.tick_all().await?;
    brewer.tab.press("a[href='#new-bath']").await?;
    brewer.tab.press("label:has([value=ice_bath])").await?;
    brewer.send("new_bath", &[("water_l", "40"), ("water_c", "12"), ("ice_kg", "5")]).await?;
    for reading in ["82", "60.5", "41", "29", "22"] {
        let entry = brewer.send("temperature", &[("temperature_c", reading)]).await?;
        ensure!(entry["place"] == "wort", "{entry}");
    }
    brewer.send("stirred", &[]).await?;
    brewer.tab.press("a[href='#add-ice']").await?;
    brewer.send("ice", &[("ice_kg", "1.5")]).await?;
    let last = brewer.send("temperature", &[("temperature_c", "19.5")]).await?;
    ensure!(brewer.tab.text(".reading__value").await?.starts_with("19.5"), "{last} is not what the page shows");
    brewer.send("drained", &[("recovered_l", "0.6")]).await?;
    brewer.send("stage_finished", &[]).await.map(drop)
}

async fn pitch(brewer: &Brewer) -> Result<()> {
    brewer.go("pitch").await?;
    brewer.send("into_fermenter", &[("volume_l", "20"), ("temperature_c", "19")]).await?;
    brewer.send("original", &[("reading", "1.050"), ("temperature_c", "19")]).await?;
    brewer.send("pitched", &[("wort_c", "19"), ("yeast_c", "20")]).await.map(drop)
}

async fn clean(brewer: &Brewer) -> Result<()> {
    brewer.go("clean").await?;
    brewer.tick_all().await?;
    brewer.send("weighed", &[("mass_kg", "3.2")]).await?;
    brewer.send("stored", &[("where", "Shelf, ends open")]).await?;
    brewer.send("stage_finished", &[]).await?;
    brewer.tab.until("document.body.innerText.includes('This batch is closed')").await
}

/// What a closed batch leaves behind: its page, its sheet, its line in the ledger.
async fn look_back(brewer: &Brewer) -> Result<()> {
    for path in ["/batches/1", "/batches/1/sheet", "/batches/1/sheet/blank", "/", "/equipment", "/compare?batch=1"] {
        brewer.tab.open(&brewer.server.page(path)).await?;
    }
    let batch: Value = serde_json::from_str(&brewer.server.get("/api/v1/batches/1")?)?;
    let original = batch["summary"]["gravity"]["original_sg"].as_f64().context("an original gravity")?;
    // 1.050 read at 19 °C, one below the hydrometer's own 20 °C: less than half a point less.
    ensure!((original - 1.050).abs() < 0.000_5, "{original}");
    Ok(())
}
