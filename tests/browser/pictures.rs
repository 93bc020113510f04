//! A picture of every page of the demo brew house, to be looked at by a person:
//! `shots/`, which is not kept. Each page is looked over by the same measures
//! as on the brew day.
//!
//! With `GYLEBOOK_PICTURES` set, those the README shows are made anew as well.

use anyhow::{Context, Result, bail};
use gylebook_browser_tests::{
    chromium::Chromium,
    inspect, keep,
    server::Server,
    tab::{Screen, Tab},
};
use serde_json::{Value, json};

const LIGHTS: [&str; 2] = ["light", "dark"];
/// A phone, a tablet held upright, a desktop.
const WIDTHS: [u32; 3] = [360, 768, 1280];
/// The page that says there is none.
const LOST: &str = "lost";
/// A phone scrolled down a little, as one picture.
const LONG_PHONE: Screen = (390, 1180);
const DESKTOP: Screen = (1280, 860);
/// A4 at 96 pixels an inch.
const PAPER: Screen = (794, 1123);

#[tokio::test(flavor = "multi_thread")]
async fn of_every_page() -> Result<()> {
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let pages = pages(&server)?;
    let mut wrong = Vec::new();
    for light in LIGHTS {
        tab.see("", light).await?;
        for (name, path) in &pages {
            tab.client.goto(&server.page(path)).await?;
            tab.until("document.fonts.status === 'loaded'").await?;
            if name == LOST {
                // Rightly complained of: there is no such page.
                tab.complaints().await?;
            }
            for width in WIDTHS {
                let picture = tab.picture(width).await?;
                keep("shots", &format!("{name}-{width}-{light}"), &picture)?;
                tab.size((width, 740)).await?;
                if let Err(why) = inspect::page(&tab).await {
                    wrong.push(format!("{width} px, {light}: {why}"));
                }
            }
        }
    }
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n"));
    }
    readme(&server, &tab, &pages).await
}

/// The pictures that stand in the README.
async fn readme(server: &Server, tab: &Tab, pages: &[(String, String)]) -> Result<()> {
    if std::env::var_os("GYLEBOOK_PICTURES").is_none() {
        return Ok(());
    }
    tab.browser("Emulation.setScrollbarsHidden", json!({ "hidden": true })).await?;
    let shown = [
        ("chill", "chill-phone", LONG_PHONE, ""),
        ("ledger", "ledger-desktop", DESKTOP, ""),
        ("sheet", "sheet", PAPER, "print"),
    ];
    for (name, file, screen, media) in shown {
        let (_, path) = pages.iter().find(|(page, _)| page == name).context(name)?;
        tab.see(media, "light").await?;
        tab.size(screen).await?;
        tab.client.goto(&server.page(path)).await?;
        tab.until("document.fonts.status === 'loaded'").await?;
        if media == "print" {
            // Paper has margins, a screen has none.
            tab.ask("document.body.style.padding = '10mm'").await?;
        }
        keep("pictures", file, &tab.client.screenshot().await?)?;
    }
    Ok(())
}

/// Every page by name: of the batches, the one under way and the one brewed last.
fn pages(server: &Server) -> Result<Vec<(String, String)>> {
    let list = |path: &str| -> Result<Vec<Value>> { Ok(serde_json::from_str(&server.get(path)?)?) };
    let batches = list("/api/v1/batches")?;
    let in_state = |state: &str| {
        let found = batches.iter().filter(|batch| batch["state"] == state).filter_map(|batch| batch["id"].as_i64());
        found.max().with_context(|| format!("no batch is {state}: {batches:?}"))
    };
    let (now, done, planned) = (in_state("brewing")?, in_state("closed")?, in_state("planned")?);
    let recipe = id(&list("/api/v1/recipes")?, |_| true)?;
    let coil = id(&list("/api/v1/equipment")?, |piece| piece["kind"] == "coil")?;
    let mut pages: Vec<(String, String)> = [
        ("ledger", "/".to_owned()),
        ("batch", format!("/batches/{done}")),
        ("sheet", format!("/batches/{done}/sheet")),
        ("blank", format!("/batches/{planned}/sheet/blank")),
        ("chill", format!("/batches/{now}/chill")),
        ("chill-done", format!("/batches/{done}/chill")),
        ("chill-plan", format!("/batches/{planned}/chill-plan")),
        ("start", "/batches/new".to_owned()),
        ("recipes", "/recipes".to_owned()),
        ("recipe", format!("/recipes/{recipe}")),
        ("recipe-edit", format!("/recipes/{recipe}/edit")),
        ("recipe-scale", format!("/recipes/{recipe}/scale?volume_l=40")),
        ("equipment", "/equipment".to_owned()),
        ("coil", format!("/equipment/{coil}")),
        ("coil-edit", format!("/equipment/{coil}/edit")),
        ("equipment-new", "/equipment/new".to_owned()),
        ("compare", format!("/compare?batch={done}&batch={}", done - 1)),
        ("compare-choose", "/compare".to_owned()),
        ("glossary", "/glossary".to_owned()),
        ("settings", "/settings".to_owned()),
        ("lists", "/settings/lists".to_owned()),
        ("welcome", "/welcome".to_owned()),
        ("welcome-equipment", "/welcome/equipment".to_owned()),
        (LOST, "/nowhere".to_owned()),
    ]
    .map(|(name, path)| (name.to_owned(), path))
    .to_vec();
    for stage in ["prepare", "mash", "boil", "pitch", "clean"] {
        pages.push((stage.to_owned(), format!("/batches/{now}/{stage}")));
    }
    Ok(pages)
}

fn id(list: &[Value], is_it: impl Fn(&Value) -> bool) -> Result<i64> {
    list.iter().find(|one| is_it(one)).and_then(|one| one["id"].as_i64()).context("nothing like that in the demo")
}
