//! Faults planted on purpose, one at a time, in pages the book serves: the tests
//! are only worth what they catch.
//!
//! Each is planted in the page after it was loaded, so nothing of it is ever
//! served. What is known not to be caught is named as well, and has to stay so:
//! where a check learns to see it, it moves to the others.

use anyhow::{Result, bail, ensure};
use gylebook_browser_tests::{
    axe::{self, Rules},
    chromium::Chromium,
    inspect,
    server::Server,
    tab::Tab,
};

use crate::keyboard::walk_by_tab;

const MASH: &str = "/batches/16/mash";
const COMPARE: &str = "/compare?batch=1&batch=2";
const SETTINGS: &str = "/settings";
/// The narrowest phone, and as high as the test's own.
const NARROW: (u32, u32) = (320, 740);
const PHONE: (u32, u32) = (360, 740);
/// A page from its top to its end.
const WHOLE: (u32, u32) = (360, 12_000);

/// A fault: what it is, where, and how it is planted.
type Fault = (&'static str, &'static str, &'static str);

/// Adds a rule to the page's style.
const STYLE: &str = "const style = (rule) => { const sheet = new CSSStyleSheet(); sheet.replaceSync(rule);
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]; };
    const one = (css) => document.querySelector(css);";

const CAUGHT: [Fault; 30] = [
    ("a field without a label", MASH, "one('#bar-name').remove()"),
    ("a label that names another field", SETTINGS, "one('label[for]').htmlFor = 'nowhere'"),
    ("a button without words", MASH, "one('.bar__log').textContent = ''"),
    ("a link without words", SETTINGS, "one('.foot a').textContent = ''"),
    (
        "a button of 30 px",
        MASH,
        "style('.bar__log { min-block-size: 30px !important; block-size: 30px; align-self: start }')",
    ),
    ("a hot button of 48 px", MASH, "style('.bar__entry > * { min-block-size: 48px !important; align-self: start }')"),
    ("two buttons 2 px apart", MASH, "style('.bar__entry { gap: 2px !important }')"),
    ("grey text on white", SETTINGS, "style('p { color: #9aa3b2 !important }')"),
    ("body text that is only just readable", SETTINGS, "style('p, label { color: #6b6b6b !important }')"),
    ("an outline too faint to see", MASH, "style('.bar__input { border-color: #dde !important }')"),
    (
        "a picture without a name",
        COMPARE,
        "one('svg[role=img]').removeAttribute('aria-labelledby'); one('svg[role=img] title').remove()",
    ),
    (
        "an image without words for it",
        SETTINGS,
        "one('main').append(Object.assign(new Image(), { src: '/static/1/icon.svg' }))",
    ),
    ("two elements of one id", MASH, "one('#log').append(Object.assign(document.createElement('p'), { id: 'main' }))"),
    ("a heading that jumps two levels", SETTINGS, "one('h2').outerHTML = '<h4>' + one('h2').textContent + '</h4>'"),
    ("no heading above all", SETTINGS, "one('h1').remove()"),
    ("an order of its own for Tab", SETTINGS, "one('main input[type=text]').tabIndex = 5"),
    ("no focus ring", MASH, "style(':focus-visible { outline: none !important }')"),
    ("a focus ring as pale as the page", MASH, "style(':focus-visible { outline-color: #eee !important }')"),
    (
        "a bar that covers what has the focus",
        MASH,
        "style('html { scroll-padding: 0 !important } .bar { min-block-size: 20rem }')",
    ),
    (
        "a page that scrolls sideways",
        MASH,
        "one('main').append(Object.assign(document.createElement('div'), { style: 'width: 400px; height: 1px' }))",
    ),
    ("text cut off by a reader's spacing", SETTINGS, "style('h1 { block-size: 1.25em; overflow: hidden }')"),
    ("no language", SETTINGS, "document.documentElement.removeAttribute('lang')"),
    ("no title", SETTINGS, "document.title = ''"),
    (
        "a table whose heads are not heads",
        COMPARE,
        "for (const th of document.querySelectorAll('.figuretable th')) th.outerHTML = '<td>' + th.innerHTML + '</td>'",
    ),
    (
        "a link told by its colour alone",
        SETTINGS,
        "one('main').insertAdjacentHTML('beforeend', '<p>Words before <a href=/ class=pale>a link</a> and after.</p>'); style('.pale { text-decoration: none; color: #1d3f5f }')",
    ),
    ("no place for what was saved", MASH, "one('#said').removeAttribute('role')"),
    (
        "something that flashes",
        MASH,
        "one('h2').animate([{ opacity: 0 }, { opacity: 1 }], { duration: 200, iterations: Infinity })",
    ),
    (
        "a page that can't be zoomed",
        SETTINGS,
        "one('meta[name=viewport]').content += ', user-scalable=no, maximum-scale=1'",
    ),
    ("a role there is not", SETTINGS, "one('main form').setAttribute('role', 'formular')"),
    (
        "a focusable element that is hidden from readers",
        SETTINGS,
        "one('main form').setAttribute('aria-hidden', 'true')",
    ),
];

/// What needs a person: the checks see that words are there, not what they say,
/// nor what stands for something else only by its colour.
const NOT_CAUGHT: [Fault; 3] = [
    ("a label that says the wrong thing", SETTINGS, "one('label').firstChild.data = 'Colour of the kettle'"),
    (
        "a state told by its colour alone",
        MASH,
        "style('.strip__link .unseen { display: none } .strip__stage--done .strip__link { color: green }')",
    ),
    (
        "parts in another order than they are read",
        MASH,
        "style('.stage { display: flex; flex-direction: column-reverse }')",
    ),
];

/// Plants a fault in a page and gives back what all the checks say of it.
async fn checked(tab: &Tab, server: &Server, page: &str, plant: &str) -> Result<Vec<String>> {
    tab.size(PHONE).await?;
    tab.client.goto(&server.page(page)).await?;
    tab.until("document.fonts.status === 'loaded'").await?;
    tab.client.execute(&format!("{STYLE}{plant}"), vec![]).await?;
    let mut found = walk_by_tab(tab).await?.1;
    tab.size(NARROW).await?;
    found.extend(inspect::faults(tab).await?);
    found.extend(inspect::spaced_out(tab).await?);
    tab.size(WHOLE).await?;
    found.extend(axe::violations(tab, Rules::All).await?);
    Ok(found)
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_planted_is_caught() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    axe::bring(&tab).await?;
    for page in [MASH, COMPARE, SETTINGS] {
        let found = checked(&tab, &server, page, "").await?;
        ensure!(found.is_empty(), "{page} has faults before any is planted: {found:?}");
    }
    let mut missed = Vec::new();
    for (what, page, plant) in CAUGHT {
        let found = checked(&tab, &server, page, plant).await?;
        match found.first() {
            Some(first) => println!("{what}: {first}"),
            None => missed.push(what),
        }
    }
    let mut seen_after_all = Vec::new();
    for (what, page, plant) in NOT_CAUGHT {
        if !checked(&tab, &server, page, plant).await?.is_empty() {
            seen_after_all.push(what);
        }
    }
    let (caught, all) = (CAUGHT.len() - missed.len(), CAUGHT.len() + NOT_CAUGHT.len());
    println!("{caught} of {all} planted faults are caught");
    if !missed.is_empty() || !seen_after_all.is_empty() {
        bail!("not caught: {missed:?}; caught after all: {seen_after_all:?}");
    }
    Ok(())
}
