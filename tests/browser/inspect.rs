//! What is looked at on every page.

use anyhow::{Result, bail};

use crate::tab::Tab;

/// Fails where a script failed, the page scrolls sideways, something is too
/// small for a thumb, or a control has no name; the message lists all of it.
///
/// # Errors
/// As said.
pub async fn page(tab: &Tab) -> Result<()> {
    let mut wrong = tab.complaints().await?;
    let seen = tab.client.execute(include_str!("inspect.js"), vec![]).await?;
    wrong.extend(seen.as_array().into_iter().flatten().filter_map(|line| line.as_str().map(str::to_owned)));
    if wrong.is_empty() {
        return Ok(());
    }
    bail!("{}:\n  {}", tab.client.current_url().await?, wrong.join("\n  "))
}
