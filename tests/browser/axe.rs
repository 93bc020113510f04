//! axe-core, which looks a page over as those do who test it for people who see,
//! hear or move otherwise. `tests/run` brings it, at the version and with the
//! checksum of `axe.sha256`.

use std::{fmt, path::Path};

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};

use crate::tab::Tab;

/// The rules of WCAG 2.0, 2.1 and 2.2 at levels A and AA, and axe's own good practice.
const RULES: [&str; 6] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/// Gives back a line for each element that breaks a rule.
const RUN: &str = "
    const [only, done] = arguments;
    const told = (rule) => rule.nodes.map((node) =>
        `${rule.id}: ${node.target.join(' ')}: ${node.failureSummary.split('\\n').slice(1).join(';').trim()}`);
    axe.run(document, { runOnly: only, resultTypes: ['violations'] })
        .then((found) => done(found.violations.flatMap(told)), (why) => done([`axe itself: ${why}`]));";

/// Which of its rules are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rules {
    /// Every one.
    All,
    /// What depends on the light alone.
    Colour,
    /// What depends on the size of the page and of its text.
    Layout,
}

impl Rules {
    fn asked(self) -> Value {
        match self {
            Self::All => json!({ "type": "tag", "values": RULES }),
            Self::Colour => json!({ "type": "rule", "values": ["color-contrast", "link-in-text-block"] }),
            Self::Layout => json!({ "type": "rule", "values": ["target-size", "scrollable-region-focusable"] }),
        }
    }
}

impl fmt::Display for Rules {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::All => "all rules",
            Self::Colour => "colour",
            Self::Layout => "layout",
        })
    }
}

/// Brings it into every page the tab opens from now on.
///
/// # Errors
/// It was not fetched, or the browser refuses it.
pub async fn bring(tab: &Tab) -> Result<()> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tools/axe.min.js");
    let source = std::fs::read_to_string(&file).context("axe-core is missing; tests/run brings it")?;
    tab.browser("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source })).await.map(drop)
}

/// What it finds wrong with the page in front.
///
/// # Errors
/// It was not brought, or does not answer.
pub async fn violations(tab: &Tab, rules: Rules) -> Result<Vec<String>> {
    let found = tab.client.execute_async(RUN, vec![rules.asked()]).await?;
    let Some(found) = found.as_array() else { bail!("axe answered {found}") };
    Ok(found.iter().filter_map(|line| line.as_str().map(str::to_owned)).collect())
}
