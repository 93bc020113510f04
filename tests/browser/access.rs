//! axe-core and this book's own measures find nothing wrong on any page: in an
//! empty book, in a year of brewing, where a form came back, where everything is
//! as long as it may be; in the light, in the dark and dimmed; narrow and wide; with
//! text of the usual size and twice as large.
//!
//! The whole of it takes half an hour (`GYLEBOOK_VIEWS=all`). In the gate every
//! rule is asked of every page once, on a phone; in the dark those about colour, as
//! nothing but colour changes there (`tokens.css`); on the narrowest phone with the
//! largest text those about size. What is pushed out of the page, or is too small
//! for a thumb, is looked for at every width.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt,
};

use anyhow::{Context, Result, bail, ensure};
use gylebook_browser_tests::{
    axe::{self, Rules},
    chromium::Chromium,
    inspect, longest,
    server::Server,
    tab::Tab,
    walk,
};
use serde_json::json;

/// The last is a person's own choice, whatever the device is set to.
const LIGHTS: [&str; 3] = ["light", "dark", DIM];
const DIM: &str = "dim";
const WIDTHS: [u32; 4] = [320, 360, 768, 1280];
const TEXTS: [u32; 2] = [100, 200];
const HEIGHT: u32 = 740;
/// The page that says there is none.
const NOWHERE: &str = "/nowhere";

/// One way to look at a page.
#[derive(Clone, Copy)]
struct View {
    light: &'static str,
    width: u32,
    text: u32,
    /// Which of axe's rules are asked beside this book's own measures.
    rules: Option<Rules>,
}

impl fmt::Display for View {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} px {} %", self.light, self.width, self.text)
    }
}

fn views() -> Vec<View> {
    if std::env::var_os("GYLEBOOK_VIEWS").is_some_and(|views| views == "all") {
        let mut all = Vec::new();
        for light in LIGHTS {
            for width in WIDTHS {
                all.extend(TEXTS.map(|text| View { light, width, text, rules: Some(Rules::All) }));
            }
        }
        return all;
    }
    let view = |light, width, text, rules| View { light, width, text, rules };
    vec![
        view("light", 360, 100, Some(Rules::All)),
        view("dark", 360, 100, Some(Rules::Colour)),
        view(DIM, 360, 100, Some(Rules::Colour)),
        view("light", 320, 100, None),
        view("light", 320, 200, Some(Rules::Layout)),
        view("light", 768, 200, None),
        view("light", 1280, 100, None),
        view("light", 1280, 200, None),
    ]
}

/// A line for each fault, with the pages and the views it was found in.
type Faults = BTreeMap<String, BTreeSet<String>>;

/// Looks at the page in front from every side.
async fn look(tab: &Tab, name: &str, faults: &mut Faults) -> Result<()> {
    tab.until("document.fonts.status === 'loaded'").await?;
    let chosen = tab.ask("document.documentElement.dataset.light").await?;
    for view in views() {
        let note = |found: Vec<String>, faults: &mut Faults| {
            for line in found {
                faults.entry(line).or_default().insert(format!("{name} ({view})"));
            }
        };
        tab.text_size(view.text).await?;
        let is_dim = view.light == DIM;
        tab.see("", if is_dim { "light" } else { view.light }).await?;
        let light = if is_dim { json!(DIM) } else { chosen.clone() };
        tab.client.execute("document.documentElement.dataset.light = arguments[0]", vec![light]).await?;
        tab.size((view.width, HEIGHT)).await?;
        tab.drawn().await?;
        let mut found = inspect::faults(tab).await?;
        if view.width == WIDTHS[0] && view.text == TEXTS[0] {
            found.extend(inspect::spaced_out(tab).await?);
        }
        note(found, faults);
        let Some(rules) = view.rules else { continue };
        // All of it at once: under the bar nothing would be looked at.
        let height = tab.ask("document.documentElement.scrollHeight").await?.as_u64().context("a height")?;
        tab.size((view.width, u32::try_from(height)?.max(HEIGHT))).await?;
        let found = axe::violations(tab, rules).await?;
        note(found, faults);
    }
    Ok(())
}

fn none_of(faults: &Faults) -> Result<()> {
    if faults.is_empty() {
        return Ok(());
    }
    let told = |(line, places): (&String, &BTreeSet<String>)| {
        let some: Vec<_> = places.iter().take(4).map(String::as_str).collect();
        format!("{line}\n    {} times: {}", places.len(), some.join(", "))
    };
    bail!("{} faults:\n{}", faults.len(), faults.iter().map(told).collect::<Vec<_>>().join("\n"))
}

/// Every kind of page there is in a book, and these.
async fn every_page(server: &Server, more: &[String], least: usize) -> Result<()> {
    let (_browser, tab) = Chromium::start().await?;
    let mut pages = walk::pages(&tab, server).await?;
    pages.extend(more.iter().cloned());
    ensure!(pages.len() >= least, "only {pages:?}");
    axe::bring(&tab).await?;
    let mut faults = Faults::new();
    for page in &pages {
        tab.client.goto(&server.page(page)).await?;
        if page == NOWHERE {
            // Rightly complained of: there is no such page.
            tab.complaints().await?;
        }
        look(&tab, page, &mut faults).await?;
    }
    println!("{} pages, {} views of each", pages.len(), views().len());
    none_of(&faults)
}

#[tokio::test(flavor = "multi_thread")]
async fn of_an_empty_book() -> Result<()> {
    let server = Server::start()?;
    server.form("/welcome", "/welcome/skip", "")?;
    every_page(&server, &[], 15).await
}

#[tokio::test(flavor = "multi_thread")]
async fn of_a_year_of_brewing() -> Result<()> {
    let server = Server::demo()?;
    // What the way by links meets only one of: other kinds of equipment, and
    // the batches that are over or not begun.
    let equipment: serde_json::Value = serde_json::from_str(&server.get("/api/v1/equipment")?)?;
    let mut kinds = BTreeMap::new();
    for piece in equipment.as_array().into_iter().flatten() {
        kinds.insert(piece["kind"].to_string(), format!("/equipment/{}", piece["id"]));
    }
    let mut more: Vec<String> = kinds.into_values().collect();
    let batches: serde_json::Value = serde_json::from_str(&server.get("/api/v1/batches")?)?;
    for state in ["planned", "closed"] {
        let one = batches.as_array().into_iter().flatten().find(|batch| batch["state"] == state);
        let Some(one) = one else { bail!("no batch is {state}") };
        for part in ["", "/prepare", "/chill", "/sheet"] {
            more.push(format!("/batches/{}{part}", one["id"]));
        }
    }
    more.extend(["/compare?batch=1&batch=2&batch=3", "/pair", NOWHERE].map(str::to_owned));
    every_page(&server, &more, 40).await
}

#[tokio::test(flavor = "multi_thread")]
async fn of_a_book_that_is_as_long_as_may_be() -> Result<()> {
    let server = Server::start()?;
    longest::fill(&server)?;
    every_page(&server, &["/compare?batch=1&batch=2".to_owned()], 25).await
}

#[tokio::test(flavor = "multi_thread")]
async fn of_a_form_that_came_back() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let pages = walk::pages_with_forms(&tab, &server).await?;
    axe::bring(&tab).await?;
    let (mut faults, mut seen) = (Faults::new(), BTreeSet::new());
    for page in &pages {
        let mut form = 0;
        loop {
            tab.client.goto(&server.page(page)).await?;
            // A draft would come back too; this is about what the server says.
            tab.ask("localStorage.clear()").await?;
            let sent = tab.client.execute(SEND_NONSENSE, vec![json!(form)]).await?;
            let Some(name) = sent.as_str() else { break };
            form += 1;
            if name.is_empty() || !seen.insert(name.to_owned()) {
                continue;
            }
            tab.until("!window.isOld && document.readyState === 'complete'").await?;
            // The browser tells of the refusal as if it were a missing file.
            tab.complaints().await?;
            if tab.ask("document.querySelector('.summary') !== null").await? == true {
                look(&tab, &format!("{page}, {name}"), &mut faults).await?;
            } else {
                seen.remove(name);
            }
        }
    }
    println!("{} forms came back: {seen:?}", seen.len());
    ensure!(seen.len() >= 15, "only {seen:?} came back");
    none_of(&faults)
}

/// Fills the form at a place with what no number can be and sends it as a browser
/// without scripts does. Gives back what the form is known by; "" where nothing
/// can be typed in it, null where there is no such form.
const SEND_NONSENSE: &str = "
    const form = [...document.forms].filter((form) => form.getAttribute('method') === 'post')[arguments[0]];
    if (!form) return null;
    const fields = [...form.elements].filter((field) => field.matches('input[type=text], textarea'));
    if (fields.length === 0) return '';
    for (const field of fields) field.value = field.inputMode === 'decimal' ? 'much' : '';
    window.isOld = true;
    const action = form.getAttribute('action').replace(/\\/[\\d-][\\w-]*/g, '/#');
    const told = form.elements.namedItem('form')?.value ?? form.elements.namedItem('kind')?.value ?? '';
    HTMLFormElement.prototype.submit.call(form);
    return `${action} ${told}`;";
