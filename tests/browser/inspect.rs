//! What is looked at on every page.

use anyhow::{Result, bail};
use serde_json::Value;

use crate::tab::Tab;

/// A sentence for each script that failed, where the page scrolls sideways, what
/// is too small for a thumb, and each control without a name.
///
/// # Errors
/// The browser does not tell.
pub async fn faults(tab: &Tab) -> Result<Vec<String>> {
    let mut wrong = tab.complaints().await?;
    wrong.extend(told(tab, concat!(include_str!("seen.js"), include_str!("inspect.js"))).await?);
    Ok(wrong)
}

/// What is cut off or pushed out of the page by a reader's own spacing of lines,
/// words and letters (WCAG 1.4.12); the spacing is taken back afterwards.
///
/// # Errors
/// The browser does not tell.
pub async fn spaced_out(tab: &Tab) -> Result<Vec<String>> {
    told(tab, concat!(include_str!("seen.js"), include_str!("spacing.js"))).await
}

/// What has the focus: its place on the page, and a sentence for each thing wrong
/// with how it is seen. Nothing, where nothing has it.
///
/// # Errors
/// The browser does not tell.
pub async fn focus(tab: &Tab) -> Result<Option<(String, Vec<String>)>> {
    let seen = tab.client.execute(concat!(include_str!("seen.js"), include_str!("focus.js")), vec![]).await?;
    let place = seen["place"].as_str().map(str::to_owned);
    Ok(place.map(|place| (place, lines(&seen["wrong"]))))
}

/// Fails where there are [`faults`]; the message lists all of them.
///
/// # Errors
/// As said.
pub async fn page(tab: &Tab) -> Result<()> {
    let wrong = faults(tab).await?;
    if wrong.is_empty() {
        return Ok(());
    }
    bail!("{}:\n  {}", tab.client.current_url().await?, wrong.join("\n  "))
}

async fn told(tab: &Tab, script: &str) -> Result<Vec<String>> {
    Ok(lines(&tab.client.execute(script, vec![]).await?))
}

fn lines(list: &Value) -> Vec<String> {
    list.as_array().into_iter().flatten().filter_map(|line| line.as_str().map(str::to_owned)).collect()
}
