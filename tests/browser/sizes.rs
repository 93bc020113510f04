//! No page grows heavy: the sizes a phone on a poor Wi-Fi has to bear.

use anyhow::{Result, ensure};
use gylebook_browser_tests::{chromium::Chromium, server::Server, weight};

/// What fits the first flight of a connection (ten segments of 1,460 bytes). The
/// glossary is a book to read in, not a page of the brew day.
const HTML_MOST: u64 = 14_000;
const SCRIPTS_MOST: u64 = 15_000;
/// All of it but the typeface, where nothing is kept yet.
const COLD_MOST: u64 = 60_000;

#[tokio::test(flavor = "multi_thread")]
async fn every_page_stays_light() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let mut heavy = Vec::new();
    for (name, path) in weight::pages(&server)? {
        let told = weight::of(&tab, &server.page(&path)).await?;
        ensure!(told.html > 0 && told.scripts > 0 && told.styles > 0, "{name}: nothing was weighed: {told:?}");
        if (told.html > HTML_MOST && name != "glossary") || told.scripts > SCRIPTS_MOST || told.cold() > COLD_MOST {
            heavy.push(format!("{name}: {told:?}, cold {}", told.cold()));
        }
    }
    ensure!(heavy.is_empty(), "{}", heavy.join("\n"));
    Ok(())
}
