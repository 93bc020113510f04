//! A person with a phone, on the pages of one batch.

use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};

use crate::{chromium::Chromium, inspect, server::Server, tab::Tab, wait_for};

/// The batch that is brewed: the first of an empty book.
pub const BATCH: u32 = 1;

/// A brewer, with a book and a browser of their own.
#[derive(Debug)]
pub struct Brewer {
    /// The tab in front.
    pub tab: Tab,
    /// The book.
    pub server: Server,
    _browser: Chromium,
}

impl Brewer {
    /// Begins an empty book and goes from its door to the first batch.
    ///
    /// # Errors
    /// Something on the way does not work, or is wrong with a page.
    pub async fn begin() -> Result<Self> {
        Self::at(Server::start()?).await
    }

    /// The same on a server that runs already, with an empty book.
    ///
    /// # Errors
    /// As for [`Brewer::begin`].
    pub async fn at(server: Server) -> Result<Self> {
        let (browser, tab) = Chromium::start().await?;
        let brewer = Self { tab, server, _browser: browser };
        brewer.first_steps().await?;
        Ok(brewer)
    }

    async fn first_steps(&self) -> Result<()> {
        let tab = &self.tab;
        tab.client.goto(&self.server.page("/")).await?;
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
