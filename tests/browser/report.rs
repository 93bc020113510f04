//! A record as one file, opened from a folder: nothing is fetched, nothing runs.

use anyhow::{Result, ensure};
use gylebook_browser_tests::{chromium::Chromium, server::Server};
use serde_json::json;

#[tokio::test(flavor = "multi_thread")]
async fn a_report_opens_from_a_folder_and_asks_for_nothing() -> Result<()> {
    let server = Server::demo()?;
    let report = server.get("/batches/3/report.html")?;
    drop(server);
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("report.html");
    std::fs::write(&file, report)?;
    let (_browser, tab) = Chromium::start().await?;
    tab.open(&format!("file://{}", file.display())).await?;
    ensure!(tab.ask("document.readyState").await? == "complete");
    let asked = tab.ask("performance.getEntriesByType('resource').map(one => one.name)").await?;
    ensure!(asked == json!([]), "it asked for {asked}");
    ensure!(tab.ask("document.scripts.length").await? == 0);
    // What its own policy forbids would be complained of here.
    let complaints = tab.complaints().await?;
    ensure!(complaints.is_empty(), "{complaints:?}");
    // Its styles are in it and count: the sheet has its own ground, and the curve its line.
    let ground = tab.ask("getComputedStyle(document.querySelector('.paper')).backgroundColor").await?;
    ensure!(ground == "rgb(255, 255, 255)" || ground == "rgb(18, 28, 49)", "{ground}");
    let fill = tab.ask("getComputedStyle(document.querySelector('svg.chart-cooling polyline')).fill").await?;
    ensure!(fill == "none", "{fill}");
    let wide = tab.ask("document.documentElement.scrollWidth <= innerWidth").await?;
    ensure!(wide == true, "it scrolls sideways on a phone");
    Ok(())
}
