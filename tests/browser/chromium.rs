//! Chromium behind its driver.

use std::{
    io::{Read, Write},
    net::{TcpListener, TcpStream},
    process::{Child, Command, Stdio},
    time::Duration,
};

use anyhow::{Context, Result};
use fantoccini::ClientBuilder;
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use tempfile::TempDir;

use crate::{tab::Tab, wait_for};

/// What every browser is started with: headless, and nothing of its own on the
/// network. A background tab keeps its clock, as there is one window in front.
const FLAGS: [&str; 13] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--disable-backgrounding-occluded-windows",
    "--disable-renderer-backgrounding",
    "--disable-background-timer-throttling",
    "--host-resolver-rules=MAP brewery.lan 127.0.0.1",
];

/// A browser that shares nothing with another test's.
#[derive(Debug)]
pub struct Chromium {
    driver: Child,
    port: u16,
    session: Option<String>,
    profile: TempDir,
}

impl Chromium {
    /// Starts one, with a tab as large as a phone's screen.
    ///
    /// # Errors
    /// Chromium or its driver is missing (`tests/run` installs them), or will not start.
    pub async fn start() -> Result<(Self, Tab)> {
        Self::start_with(&[]).await
    }

    /// Starts one with flags of its own.
    ///
    /// # Errors
    /// As for [`Chromium::start`].
    pub async fn start_with(own: &[&str]) -> Result<(Self, Tab)> {
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .context("chromedriver is missing; tests/run installs it")?;
        let mut browser = Self { driver, port, session: None, profile: TempDir::new()? };
        wait_for("chromedriver", || async { Ok(TcpStream::connect(("127.0.0.1", port)).ok()) }).await?;
        let mut flags = FLAGS.map(str::to_owned).to_vec();
        flags.push(format!("--user-data-dir={}", browser.profile.path().display()));
        flags.extend(own.iter().map(|&flag| flag.to_owned()));
        let wanted = json!({
            "browserName": "chrome",
            "goog:chromeOptions": { "args": flags },
            "goog:loggingPrefs": { "browser": "ALL" },
        });
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(wanted.as_object().cloned().unwrap_or_default())
            .connect(&format!("http://127.0.0.1:{port}"))
            .await
            .context("chromium is missing or did not start; tests/run installs it")?;
        browser.session = client.session_id().await?;
        let tab = Tab::new(client);
        tab.size(crate::tab::PHONE).await?;
        Ok((browser, tab))
    }

    /// Ends the session, which ends the browser; the driver alone would leave it running.
    fn end_session(&self) -> std::io::Result<()> {
        let Some(session) = &self.session else { return Ok(()) };
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        let host = format!("Host: 127.0.0.1:{}", self.port);
        write!(stream, "DELETE /session/{session} HTTP/1.1\r\n{host}\r\nConnection: close\r\n\r\n")?;
        // It answers once the browser has ended.
        stream.set_read_timeout(Some(Duration::from_secs(20)))?;
        stream.read(&mut [0; 256]).map(drop)
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        // Nothing more can be done about a browser that will not end.
        let _ = self.end_session();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
