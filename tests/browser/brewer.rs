//! A person with a phone, on the pages of one batch.

use std::{
    process::Command,
    time::{SystemTime, UNIX_EPOCH},
};

use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};

use crate::{
    chromium::Chromium,
    inspect,
    server::Server,
    tab::Tab,
    wait_for,
    wire::{Fate, Wire},
};

/// The batch that is brewed: the first of an empty book.
pub const BATCH: u32 = 1;

/// What a browser is started with that runs no page's scripts.
pub const NO_SCRIPTS: &str = "--blink-settings=scriptEnabled=false";

/// A clock that is `wrong` by milliseconds, for everything a page asks it.
const WRONG_CLOCK: &str = "
    const Right = Date;
    globalThis.Date = class extends Right {
        constructor(...given) { given.length ? super(...given) : super(Right.now() + wrong); }
        static now() { return Right.now() + wrong; }
    };";

/// A brewer, with a book and a browser of their own.
#[derive(Debug)]
pub struct Brewer {
    /// The tab in front.
    pub tab: Tab,
    /// The book.
    pub server: Server,
    wire: Option<Wire>,
    has_scripts: bool,
    _browser: Chromium,
}

impl Brewer {
    /// Begins an empty book and goes from its door to the first batch.
    ///
    /// # Errors
    /// Something on the way does not work, or is wrong with a page.
    pub async fn begin() -> Result<Self> {
        Self::begin_with(&[]).await
    }

    /// The same on a server that runs already, with an empty book.
    ///
    /// # Errors
    /// As for [`Brewer::begin`].
    pub async fn at(server: Server) -> Result<Self> {
        let (browser, tab) = Chromium::start().await?;
        let brewer = Self { tab, server, wire: None, has_scripts: true, _browser: browser };
        brewer.first_steps().await?;
        Ok(brewer)
    }

    /// The same in a browser with flags of its own.
    ///
    /// # Errors
    /// As for [`Brewer::begin`].
    pub async fn begin_with(flags: &[&str]) -> Result<Self> {
        let server = Server::start()?;
        let (browser, tab) = Chromium::start_with(flags).await?;
        let brewer = Self { tab, server, wire: None, has_scripts: !flags.contains(&NO_SCRIPTS), _browser: browser };
        brewer.first_steps().await?;
        Ok(brewer)
    }

    /// The same with a phone that is not the book's own computer: it is paired first.
    ///
    /// # Errors
    /// As for [`Brewer::begin`].
    pub async fn paired() -> Result<Self> {
        let (browser, tab) = Chromium::start().await?;
        let brewer = Self { tab, server: Server::lan()?, wire: None, has_scripts: true, _browser: browser };
        brewer.pair("/welcome").await?;
        brewer.first_steps().await?;
        Ok(brewer)
    }

    /// The same over a wire that can fail, at an address of the house's network.
    ///
    /// # Errors
    /// As for [`Brewer::begin`].
    pub async fn on_the_network(fates: impl FnMut() -> Fate + Send + 'static) -> Result<Self> {
        let server = Server::start()?;
        let wire = Wire::to(server.address()?, fates).await?;
        let (browser, tab) = Chromium::start_with(&[&wire.flag()]).await?;
        let brewer = Self { tab, server, wire: Some(wire), has_scripts: true, _browser: browser };
        brewer.first_steps().await?;
        Ok(brewer)
    }

    /// Opens a new one-time link and pairs the phone by it.
    ///
    /// # Errors
    /// It does not come to this page then, or something is wrong with the pairing page.
    pub async fn pair(&self, then: &str) -> Result<()> {
        self.tab.open(&self.server.pair()?).await?;
        self.tab.follow("main form button", then).await
    }

    /// Whether its browser runs the pages' scripts.
    #[must_use]
    pub fn has_scripts(&self) -> bool {
        self.has_scripts
    }

    /// A second phone at the same kettle.
    ///
    /// # Errors
    /// No second browser starts.
    pub async fn another(&self) -> Result<(Chromium, Tab)> {
        Chromium::start().await
    }

    /// A page's whole address, as this browser reaches it.
    #[must_use]
    pub fn page(&self, path: &str) -> String {
        if self.wire.is_some() { Wire::page(path) } else { self.server.page(path) }
    }

    /// How many requests its wire has broken.
    #[must_use]
    pub fn wire_broken(&self) -> usize {
        self.wire.as_ref().map_or(0, Wire::broken)
    }

    async fn first_steps(&self) -> Result<()> {
        let tab = &self.tab;
        tab.client.goto(&self.page("/")).await?;
        tab.until("location.pathname === '/welcome'").await?;
        inspect::page(tab).await?;
        tab.follow("main form button.button:not(.button--quiet)", "/welcome/equipment").await?;
        tab.follow("main form button.button", "/welcome/recipe").await?;
        tab.follow("main form button.button", "/welcome/batch").await?;
        tab.follow("main a.button", "/batches/new").await?;
        tab.type_in("[name=tap_c]", "12").await?;
        tab.follow("main form button.button", &format!("/batches/{BATCH}/prepare")).await
    }

    /// Goes to another stage by the strip on top.
    ///
    /// # Errors
    /// It is not reached, or something is wrong with its page.
    pub async fn go(&self, stage: &str) -> Result<()> {
        let path = format!("/batches/{BATCH}/{stage}");
        self.tab.follow(&format!(".strip a[href='{path}']"), &path).await
    }

    /// Goes to another stage by its address, whatever may be wrong with its page.
    ///
    /// # Errors
    /// It is not reached.
    pub async fn go_straight(&self, stage: &str) -> Result<()> {
        Ok(self.tab.client.goto(&self.page(&format!("/batches/{BATCH}/{stage}"))).await?)
    }

    /// Logs an entry as another phone would, now.
    ///
    /// # Errors
    /// The server does not take it.
    pub fn send_entry(&self, kind: &str, fields: Value) -> Result<()> {
        self.send_entry_at(kind, fields, 0)
    }

    /// The same, so many seconds ago.
    ///
    /// # Errors
    /// The server does not take it.
    pub fn send_entry_at(&self, kind: &str, mut fields: Value, seconds_ago: u64) -> Result<()> {
        let at = SystemTime::now().duration_since(UNIX_EPOCH)?.as_secs() - seconds_ago;
        fields["kind"] = json!(kind);
        fields["at"] = json!(timestamp(at)?);
        let count = self.server.entries(BATCH)?.len();
        fields["id"] = json!(format!("01890000-0000-7000-8000-{count:012x}"));
        let answer = self.server.post(&format!("/api/v1/batches/{BATCH}/entries"), &json!({ "entries": [fields] }))?;
        let answer: Value = serde_json::from_str(&answer)?;
        ensure!(answer["refused"] == json!([]), "{answer}");
        Ok(())
    }

    /// How long ago an entry happened, by this machine's clock.
    ///
    /// # Errors
    /// It has no time.
    pub async fn seconds_ago(&self, entry: &Value) -> Result<i64> {
        let ago = self.tab.ask(&format!("Math.round((Date.now() - Date.parse({})) / 1000)", entry["at"])).await?;
        ago.as_i64().context("a time")
    }

    /// Sets the phone's clock wrong, on every page opened from now on.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn set_clock(&self, wrong_min: i64) -> Result<()> {
        let source = format!("globalThis.wrong = {wrong_min} * 60000;{WRONG_CLOCK}");
        self.tab.browser("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source })).await.map(drop)
    }

    /// Ticks every line of this page's lists, one after another.
    ///
    /// # Errors
    /// A line is not kept, or stays.
    pub async fn tick_all(&self) -> Result<()> {
        let lines =
            self.tab.ask("document.querySelectorAll('.checks__one').length").await?.as_u64().context("lines")?;
        ensure!(lines > 0, "no list on this page");
        for _ in 0..lines {
            let before = self.server.entries(BATCH)?.len();
            self.tab.press(".checks__form > button").await?;
            self.kept(before).await?;
        }
        self.tab.until("!document.querySelector('.checks__form')").await?;
        inspect::page(&self.tab).await
    }

    /// Unfolds one of the page's forms, where it is folded away, and fills it in.
    /// Gives back its selector.
    ///
    /// # Errors
    /// There is no such form, or it has no such field.
    pub async fn fill(&self, form: &str, fields: &[(&str, &str)]) -> Result<String> {
        let named = format!("[name=form][value='{form}']");
        let form = format!("form:has({named})");
        if self.tab.ask(&format!("document.querySelector({})?.checkVisibility() === false", json!(form))).await? == true
        {
            self.tab.press(&format!("details:not([open]):has({named}) > summary")).await?;
        }
        for (name, text) in fields {
            self.tab.type_in(&format!("{form} [name='{name}']"), text).await?;
        }
        Ok(form)
    }

    /// Fills in one of the page's forms, sends it and waits until it is kept and
    /// said so. Gives back the entry it made.
    ///
    /// # Errors
    /// It is not kept, kept twice, or something is wrong with the page then.
    pub async fn send(&self, form: &str, fields: &[(&str, &str)]) -> Result<Value> {
        let before = self.server.entries(BATCH)?.len();
        let form = self.fill(form, fields).await?;
        self.tab.press(&format!("{form} button[type=submit]")).await?;
        let entry = self.kept(before).await?;
        inspect::page(&self.tab).await?;
        Ok(entry)
    }

    /// Waits until the page says that one entry more was saved, and gives it back
    /// as the server has it. A care event may follow from it; a second of its
    /// own kind may not.
    ///
    /// # Errors
    /// It does not say so, or one act made two entries of a kind.
    pub async fn kept(&self, before: usize) -> Result<Value> {
        let entry = wait_for("an entry to be saved", || async {
            let said = self.tab.ask("document.querySelector('.saved [name=of]')?.value").await?;
            Ok(self.server.entries(BATCH)?.into_iter().skip(before).find(|entry| entry["id"] == said))
        });
        let entry = match entry.await {
            Ok(entry) => entry,
            Err(why) => bail!("{why}; the page says:\n{}", self.tab.text("body").await?),
        };
        let new = self.server.entries(BATCH)?.split_off(before);
        let alike = new.iter().filter(|other| other["kind"] == entry["kind"]).count();
        ensure!(alike == 1, "one act, {alike} entries: {new:?}");
        Ok(entry)
    }
}

/// Seconds since 1970 as RFC 3339.
fn timestamp(seconds: u64) -> Result<String> {
    let told = Command::new("date").args(["-u", "-d", &format!("@{seconds}"), "+%Y-%m-%dT%H:%M:%SZ"]).output()?;
    ensure!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    Ok(String::from_utf8(told.stdout)?.trim().to_owned())
}
