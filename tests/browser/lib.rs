//! A real Chromium in front of a real server: what the browser tests stand on.
//!
//! [`server`] starts the built binary on a book of its own, [`chromium`] starts a
//! browser through its driver, [`wire`] puts a network between the two, [`tab`] is what a person does on a page, and
//! [`inspect`] and [`axe`] are what is looked at on each of them. A browser or a driver that
//! is missing is a failure, never a test passed over.

pub mod axe;
pub mod brewer;
pub mod chromium;
pub mod dice;
pub mod inspect;
pub mod longest;
pub mod server;
pub mod tab;
pub mod walk;
pub mod weight;
pub mod wire;

use std::{future::Future, path::Path, time::Duration};

use anyhow::{Result, bail};

/// How long anything may take before it counts as not happening. Generous: a
/// slow machine is not a fault of the page.
const PATIENCE: Duration = Duration::from_secs(60);
const LOOK_EVERY: Duration = Duration::from_millis(100);

/// Asks again and again until the answer is there.
///
/// # Errors
/// Where asking fails, or nothing came within a minute; `what` says of what.
pub async fn wait_for<T, F: Future<Output = Result<Option<T>>>>(what: &str, mut ask: impl FnMut() -> F) -> Result<T> {
    let until = tokio::time::Instant::now() + PATIENCE;
    loop {
        if let Some(answer) = ask().await? {
            return Ok(answer);
        }
        if tokio::time::Instant::now() > until {
            bail!("waited {} s in vain for {what}", PATIENCE.as_secs());
        }
        tokio::time::sleep(LOOK_EVERY).await;
    }
}

/// Keeps a picture in a folder of this crate, to be looked at by a person.
///
/// # Errors
/// It can't be written.
pub fn keep(folder: &str, name: &str, picture: &[u8]) -> Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    std::fs::create_dir_all(&folder)?;
    Ok(std::fs::write(folder.join(format!("{name}.png")), picture)?)
}
