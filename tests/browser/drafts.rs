//! What is typed in any form of the book survives whatever happens to the page.

use std::collections::BTreeMap;

use anyhow::{Context, Result, ensure};
use gylebook_browser_tests::{chromium::Chromium, server::Server, tab::Tab, walk};
use serde_json::json;

/// The fields of a page that can be filled in, each with a name of its own. No
/// page may choose a file again.
const FIELDS: &str = "
    const fields = [...document.forms].flatMap((form, place) => [...form.elements]
        .filter((field) => field.name && field.matches('input:not([type=hidden], [type=file]), select, textarea'))
        .map((field, at) => [`${form.getAttribute('action')} ${place} ${field.name} ${at}`, field]));
    const isTick = (field) => /checkbox|radio/.test(field.type);";
/// Fills each with something it did not hold.
const FILL: &str = "
    for (const [at, [, field]] of fields.entries()) {
        if (isTick(field)) field.checked = !field.checked;
        else if (field.localName === 'select') field.selectedIndex = field.options.length - 1;
        else if (field.type === 'datetime-local') field.value = '2026-01-02T03:04';
        else field.value = `typed ${at}`;
        field.dispatchEvent(new Event('input', { bubbles: true }));
        field.dispatchEvent(new Event('change', { bubbles: true }));
    }";
/// What stands in each.
const READ: &str = "
    return Object.fromEntries(fields.map(([name, field]) => [name, isTick(field) ? String(field.checked) : field.value]));";
const LINES: &str = "[...document.querySelectorAll('.draft')].map((line) => line.innerText).join(' | ')";

/// Ends the tab, as a phone does that needs its memory, and opens another.
async fn kill_tab(tab: &Tab) -> Result<()> {
    let old = tab.client.window().await?;
    let new = tab.client.new_window(true).await?.handle;
    tab.client.switch_to_window(old).await?;
    tab.client.close_window().await?;
    Ok(tab.client.switch_to_window(new).await?)
}

async fn open(tab: &Tab, server: &Server, path: &str) -> Result<()> {
    Ok(tab.client.goto(&server.page(path)).await?)
}

async fn read(tab: &Tab) -> Result<BTreeMap<String, String>> {
    Ok(serde_json::from_value(tab.client.execute(&format!("{FIELDS}{READ}"), vec![]).await?)?)
}

#[tokio::test(flavor = "multi_thread")]
async fn every_field_of_every_form_survives_a_killed_tab() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let (mut fields, mut lost) = (0, Vec::new());
    let pages = walk::pages_with_forms(&tab, &server).await?;
    for path in &pages {
        open(&tab, &server, path).await?;
        tab.client.execute(&format!("{FIELDS}{FILL}"), vec![]).await?;
        let typed = read(&tab).await?;
        kill_tab(&tab).await?;
        open(&tab, &server, path).await?;
        let back = read(&tab).await?;
        fields += typed.len();
        lost.extend(
            typed
                .iter()
                .filter(|(name, text)| back.get(*name) != Some(text))
                .map(|(name, text)| format!("{path}: {name} was {text:?}, is {:?}", back.get(name))),
        );
        ensure!(
            typed.is_empty() || tab.ask(&format!("{LINES}.includes('Kept from ')")).await? == true,
            "{path} says nothing"
        );
        tab.client.execute("localStorage.clear()", vec![]).await?;
    }
    println!("{} pages with forms, {fields} fields", pages.len());
    ensure!(lost.is_empty(), "{} of {fields} lost:\n{}", lost.len(), lost.join("\n"));
    // Fewer would mean that the way through the book was not found.
    ensure!(pages.len() > 20 && fields > 300, "{pages:?}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_outlives_reload_back_and_restart_and_ends_when_it_is_saved() -> Result<()> {
    let mut server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let value = "document.querySelector('[name=notes]').value";
    open(&tab, &server, "/equipment").await?;
    open(&tab, &server, "/recipes/new").await?;
    tab.type_in("[name=name]", "Half a recipe").await?;
    tab.type_in("[name=notes]", "Bay leaf?").await?;
    // A row more, and one less.
    tab.press("[data-add=hops]").await?;
    tab.press("[data-add=hops]").await?;
    let hops = "document.querySelectorAll('[data-rows=hops] > [data-row]').length";
    let rows = tab.ask(hops).await?;

    tab.client.refresh().await?;
    ensure!(tab.ask(value).await? == "Bay leaf?" && tab.ask(hops).await? == rows, "after a reload");
    open(&tab, &server, "/glossary").await?;
    tab.client.back().await?;
    tab.until(&format!("{value} === 'Bay leaf?' && {hops} === {rows}")).await?;
    server.kill()?;
    // It is sent, and nobody is there to take it.
    let _ = tab.press(".bar button[form=recipe]").await;
    server.open()?;
    open(&tab, &server, "/recipes/new").await?;
    ensure!(tab.ask(value).await? == "Bay leaf?", "after the server was gone");

    // Put aside by a stray thumb, it is there to be put back.
    let press = |words: &str| {
        format!("[...document.querySelectorAll('.draft button')].find((one) => one.innerText === '{words}').click()")
    };
    tab.client.execute(&press("Discard"), vec![]).await?;
    tab.until(&format!("document.readyState === 'complete' && {value} === '' && {LINES}.includes('Put aside')"))
        .await?;
    tab.client.execute(&press("Put it back"), vec![]).await?;
    tab.until(&format!("{value} === 'Bay leaf?' && {hops} === {rows}")).await?;

    // Saved, it is no draft any more.
    open(&tab, &server, "/equipment/new?kind=bucket").await?;
    let kinds = tab.ask("document.querySelectorAll('[name=name]').length").await?;
    ensure!(kinds == 1, "no form for a bucket");
    tab.type_in("[name=name]", "Grey bucket").await?;
    tab.press("main form button.button").await?;
    tab.until("/^.equipment.\\d+$/.test(location.pathname)").await?;
    open(&tab, &server, "/equipment/new?kind=bucket").await?;
    ensure!(tab.ask("document.querySelector('[name=name]').value").await? == "", "a saved draft came back");
    ensure!(tab.ask(LINES).await? == "", "a saved draft is still offered");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_server_has_newer_is_not_overwritten_by_an_old_draft() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let name = "document.querySelector('main [name=house]').value";
    open(&tab, &server, "/settings").await?;
    tab.type_in("[name=house]", "Old name").await?;
    // Changed from another phone meanwhile.
    let (_other_browser, other) = Chromium::start().await?;
    open(&other, &server, "/settings").await?;
    other.type_in("[name=house]", "Newer name").await?;
    other.press("main form button.button").await?;
    other.until("document.readyState === 'complete' && document.title.includes('Newer name')").await?;

    tab.client.refresh().await?;
    ensure!(tab.ask(name).await? == "Newer name", "an old draft overwrote it");
    let line = tab.ask(LINES).await?;
    let line = line.as_str().context("words")?;
    ensure!(line.contains("This page has changed since: what you typed at "), "it says: {line}");
    tab.press(".draft button").await?;
    ensure!(tab.ask(name).await? == "Old name", "it can't be had back");
    // Nor does an error page go by another name than the house's own.
    open(&tab, &server, "/nowhere").await?;
    ensure!(tab.text(".rim__house").await? == "Newer name", "the page that says there is nothing");
    ensure!(tab.ask("document.title").await? == json!("Nothing here · Newer name"), "its title");
    Ok(())
}
