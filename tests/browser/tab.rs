//! What a person does on a page, and what is asked of the browser about it.

use anyhow::{Context, Result, bail};
use fantoccini::{
    Client, Locator,
    actions::{InputSource, KeyAction, KeyActions},
    elements::Element,
    wd::WebDriverCompatibleCommand,
};
use serde_json::{Value, json};

use crate::{inspect, wait_for};

/// A screen: width and height in CSS pixels.
pub type Screen = (u32, u32);
/// A small phone, the narrowest a page is made for.
pub const PHONE: Screen = (360, 740);

/// A tab, driven as a person would: by what can be seen, clicked and typed in.
#[derive(Clone, Debug)]
pub struct Tab {
    /// The driver's own client, for what is not named here.
    pub client: Client,
}

/// A command of the driver that is not in the standard.
#[derive(Debug)]
struct Own {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Own {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.to_string()))
    }
}

impl Tab {
    pub(crate) fn new(client: Client) -> Self {
        Self { client }
    }

    /// Asks the browser for something beyond the driver (its DevTools protocol).
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn browser(&self, command: &str, params: Value) -> Result<Value> {
        let body = json!({ "cmd": command, "params": params });
        Ok(self.client.issue_cmd(Own { path: "goog/cdp/execute", body }).await?)
    }

    /// Makes the page's own view this large, whatever the window is.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn size(&self, (width, height): Screen) -> Result<()> {
        let params = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600 });
        self.browser("Emulation.setDeviceMetricsOverride", params).await.map(drop)
    }

    /// How the browser shows a page: on which medium ("" is the screen), and by what light.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn see(&self, media: &str, light: &str) -> Result<()> {
        let features = json!([{ "name": "prefers-color-scheme", "value": light }]);
        self.browser("Emulation.setEmulatedMedia", json!({ "media": media, "features": features })).await.map(drop)
    }

    /// Sets how large text is, in hundredths, as a person does in the browser's
    /// own settings: `rem` and `em` follow, in media queries too.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn text_size(&self, percent: u32) -> Result<()> {
        let sizes = json!({ "standard": 16 * percent / 100, "fixed": 13 * percent / 100 });
        self.browser("Page.setFontSizes", json!({ "fontSizes": sizes })).await.map(drop)
    }

    /// Goes to a page and looks it over.
    ///
    /// # Errors
    /// It can't be reached, or something about it is wrong.
    pub async fn open(&self, address: &str) -> Result<()> {
        self.client.goto(address).await?;
        inspect::page(self).await
    }

    /// What a script of one expression gives back.
    ///
    /// # Errors
    /// The script fails.
    pub async fn ask(&self, expression: &str) -> Result<Value> {
        Ok(self.client.execute(&format!("return ({expression});"), vec![]).await?)
    }

    /// Waits until a script's expression holds.
    ///
    /// # Errors
    /// It does not within the patience of the tests.
    pub async fn until(&self, expression: &str) -> Result<()> {
        let held = wait_for(expression, || async {
            // Between two pages there is nothing to ask.
            let held = self.ask(expression).await.unwrap_or(Value::Null);
            Ok((held == Value::Bool(true)).then_some(()))
        });
        match held.await {
            Ok(()) => Ok(()),
            Err(why) => bail!("{why}; the page says:\n{}", self.text("body").await?),
        }
    }

    /// The first element of a selector that can be seen.
    ///
    /// # Errors
    /// There is none.
    pub async fn find(&self, css: &str) -> Result<Element> {
        for element in self.client.find_all(Locator::Css(css)).await? {
            if element.is_displayed().await? {
                return Ok(element);
            }
        }
        bail!("nothing to be seen for {css} on {}", self.client.current_url().await?)
    }

    /// The words of an element, as they are seen.
    ///
    /// # Errors
    /// There is no such element.
    pub async fn text(&self, css: &str) -> Result<String> {
        Ok(self.client.find(Locator::Css(css)).await?.text().await?)
    }

    /// Presses what can be seen for a selector, in the middle of the screen.
    ///
    /// # Errors
    /// There is nothing to press, or something lies over it.
    pub async fn press(&self, css: &str) -> Result<()> {
        let element = self.find(css).await?;
        let script = "arguments[0].scrollIntoView({ block: 'center', behavior: 'instant' })";
        self.client.execute(script, vec![serde_json::to_value(&element)?]).await?;
        element.click().await.with_context(|| format!("pressing {css}"))
    }

    /// Presses what leads to another page, waits for it and looks it over.
    ///
    /// # Errors
    /// No other page came, or something about it is wrong.
    pub async fn follow(&self, css: &str, path: &str) -> Result<()> {
        self.press(css).await?;
        self.until(&format!("document.readyState === 'complete' && location.pathname === {}", json!(path))).await?;
        inspect::page(self).await
    }

    /// Types over what stands in a field.
    ///
    /// # Errors
    /// There is no such field.
    pub async fn type_in(&self, css: &str, text: &str) -> Result<()> {
        let field = self.find(css).await?;
        field.clear().await?;
        Ok(field.send_keys(text).await?)
    }

    /// Presses keys one after another, wherever the focus is.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn keys(&self, keys: impl IntoIterator<Item = char>) -> Result<()> {
        let presses = keys.into_iter().flat_map(|value| [KeyAction::Down { value }, KeyAction::Up { value }]);
        let all = presses.fold(KeyActions::new("keys".into()), |actions, press| actions.then(press));
        Ok(self.client.perform_actions(all).await?)
    }

    /// What the browser complained of since it was last asked: scripts that
    /// failed, files that were missing.
    ///
    /// # Errors
    /// The driver does not tell.
    pub async fn complaints(&self) -> Result<Vec<String>> {
        let log = self.client.issue_cmd(Own { path: "se/log", body: json!({ "type": "browser" }) }).await?;
        let lines = log.as_array().context("a list")?.iter();
        Ok(lines
            .filter(|line| line["level"] == "SEVERE" || line["level"] == "WARNING")
            .map(|line| line["message"].as_str().unwrap_or_default().to_owned())
            .collect())
    }

    /// A picture of the whole page, as PNG.
    ///
    /// # Errors
    /// The browser refuses.
    pub async fn picture(&self, width: u32) -> Result<Vec<u8>> {
        self.size((width, 800)).await?;
        let height = self.ask("document.documentElement.scrollHeight").await?.as_u64().context("a height")?;
        self.size((width, u32::try_from(height)?.max(800))).await?;
        Ok(self.client.screenshot().await?)
    }
}
