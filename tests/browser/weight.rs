//! What a page weighs on its way to a phone, as the browser counts it.

use anyhow::{Context, Result};
use serde_json::{Value, json};

use crate::{server::Server, tab::Tab};

/// Bytes of bodies as they travel, compressed, where nothing of the book is kept yet.
#[derive(Clone, Copy, Debug, Default)]
pub struct Weight {
    /// The page itself.
    pub html: u64,
    /// Style sheets.
    pub styles: u64,
    /// Scripts.
    pub scripts: u64,
    /// The typeface, which is kept for good after the first page.
    pub font: u64,
    /// The icon, and what else there is.
    pub other: u64,
    /// How many times the server is asked, the page itself included.
    pub requests: usize,
}

impl Weight {
    /// Everything but the typeface.
    #[must_use]
    pub fn cold(&self) -> u64 {
        self.html + self.styles + self.scripts + self.other
    }
}

/// The pages that are open on a brew day, and those one looks things up on.
///
/// # Errors
/// The book has no batch that is brewed, or none that is over.
pub fn pages(server: &Server) -> Result<Vec<(String, String)>> {
    let batches: Vec<Value> = serde_json::from_str(&server.get("/api/v1/batches")?)?;
    let in_state = |state: &str| {
        let found = batches.iter().filter(|batch| batch["state"] == state).filter_map(|batch| batch["id"].as_i64());
        found.max().with_context(|| format!("no batch is {state}"))
    };
    let (now, done) = (in_state("brewing")?, in_state("closed")?);
    let stage = |stage: &str| (stage.to_owned(), format!("/batches/{now}/{stage}"));
    let mut pages: Vec<_> = ["prepare", "mash", "boil", "chill", "pitch", "clean"].map(stage).into();
    let others = [
        ("ledger", "/".to_owned()),
        ("batch", format!("/batches/{done}")),
        ("chill, over", format!("/batches/{done}/chill")),
        ("record", format!("/batches/{done}/sheet")),
        ("recipe", "/recipes/1".to_owned()),
        ("recipe form", "/recipes/1/edit".to_owned()),
        ("compare", format!("/compare?batch={done}&batch={}", done - 1)),
        ("glossary", "/glossary".to_owned()),
    ];
    pages.extend(others.map(|(name, path)| (name.to_owned(), path)));
    Ok(pages)
}

/// Opens a page with nothing kept, and weighs it.
///
/// # Errors
/// It can't be opened.
pub async fn of(tab: &Tab, address: &str) -> Result<Weight> {
    tab.browser("Network.clearBrowserCache", json!({})).await?;
    tab.client.goto(address).await?;
    tab.until("document.fonts.status === 'loaded'").await?;
    let listed = "['navigation', 'resource'].flatMap((kind) => performance.getEntriesByType(kind))
        .map((one) => [new URL(one.name).pathname.split('.').at(-1), one.encodedBodySize])";
    let mut weight = Weight::default();
    for (at, one) in tab.ask(listed).await?.as_array().context("a list")?.iter().enumerate() {
        let bytes = one[1].as_u64().unwrap_or_default();
        weight.requests += 1;
        *match one[0].as_str().unwrap_or_default() {
            _ if at == 0 => &mut weight.html,
            "css" => &mut weight.styles,
            "js" => &mut weight.scripts,
            "woff2" => &mut weight.font,
            _ => &mut weight.other,
        } += bytes;
    }
    Ok(weight)
}
