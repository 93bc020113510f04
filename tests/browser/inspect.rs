//! What is looked at on every page.

use anyhow::{Result, bail};

use crate::tab::Tab;

/// A sentence for each script that failed, where the page scrolls sideways, what
/// is too small for a thumb, and each control without a name.
///
/// # Errors
/// The browser does not tell.
pub async fn faults(tab: &Tab) -> Result<Vec<String>> {
    let mut wrong = tab.complaints().await?;
    wrong.extend(told(tab, include_str!("inspect.js")).await?);
    Ok(wrong)
}

/// What is cut off or pushed out of the page by a reader's own spacing of lines,
/// words and letters (WCAG 1.4.12); the spacing is taken back afterwards.
///
/// # Errors
/// The browser does not tell.
pub async fn spaced_out(tab: &Tab) -> Result<Vec<String>> {
    told(tab, include_str!("spacing.js")).await
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
    let seen = tab.client.execute(script, vec![]).await?;
    Ok(seen.as_array().into_iter().flatten().filter_map(|line| line.as_str().map(str::to_owned)).collect())
}
