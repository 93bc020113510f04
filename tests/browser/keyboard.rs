//! A day by keyboard alone: everything is reached by Tab, what has the focus is
//! always seen, and what was saved is said.

use anyhow::{Result, bail, ensure};
use fantoccini::key::Key;
use gylebook_browser_tests::{
    brewer::{BATCH, Brewer},
    inspect,
    tab::{Screen, Tab},
};
use serde_json::json;

const FIELD: &str = ".bar__input";
/// More than any page has places to stop at.
const STOPS: usize = 400;
const SCREENS: [Screen; 2] = [(360, 740), (1280, 740)];

fn key(key: Key) -> [char; 1] {
    [key.into()]
}

/// Goes on by Tab until the focus is there. On the way it must be seen at every stop.
async fn reach(tab: &Tab, css: &str) -> Result<()> {
    for _ in 0..STOPS {
        tab.keys(key(Key::Tab)).await?;
        if let Some((_, wrong)) = inspect::focus(tab).await? {
            ensure!(wrong.is_empty(), "on the way to {css}: {wrong:?}");
        }
        if tab.ask(&format!("document.activeElement.matches({})", json!(css))).await? == true {
            return Ok(());
        }
    }
    bail!("{css} is not reached by Tab on {}", tab.client.current_url().await?)
}

/// Waits until an entry more is kept, and holds what is said against it.
async fn said(brewer: &Brewer, before: usize, words: &str) -> Result<()> {
    brewer.kept(before).await?;
    let told = brewer.tab.text("main > [role=status]").await?;
    ensure!(told.contains("Saved.") && told.contains(words), "{told:?} is said, not {words}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_logged_undone_and_put_right() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let tab = &brewer.tab;
    brewer.go_straight("mash").await?;
    // The place to say it in is there before anything is, or it would not be read out.
    ensure!(tab.ask("document.querySelector('main > [role=status]').childElementCount").await? == 0);

    reach(tab, FIELD).await?;
    tab.keys("66.5\u{e007}".chars()).await?;
    said(&brewer, 0, "66.5").await?;
    ensure!(
        tab.ask(&format!("document.activeElement.matches('{FIELD}')")).await? == true,
        "the next one is typed where?"
    );

    reach(tab, ".saved button").await?;
    tab.keys(key(Key::Enter)).await?;
    tab.until("!!document.querySelector('.log__one--struck')").await?;
    ensure!(tab.ask("document.activeElement !== document.body").await? == true, "the focus is lost with the button");

    let before = brewer.server.entries(BATCH)?.len();
    reach(tab, FIELD).await?;
    tab.keys("65,5\u{e007}".chars()).await?;
    said(&brewer, before, "65.5").await?;
    reach(tab, ".log__one:not(.log__one--struck) .log__row").await?;
    tab.keys(key(Key::Enter)).await?;
    tab.until("location.pathname.includes('/entries/') && document.readyState === 'complete'").await?;
    reach(tab, "[name=temperature_c]").await?;
    tab.ask("document.activeElement.select()").await?;
    tab.keys("64.5\u{e007}".chars()).await?;
    tab.until("document.querySelector('.log')?.innerText.includes('64.5')").await?;
    let mut amended = brewer.server.entries(BATCH)?.into_iter().filter(|entry| entry["kind"] == "amendment");
    ensure!(
        amended.next_back().is_some_and(|entry| entry["replacement"]["temperature_c"] == 64.5),
        "it was not put right"
    );
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_coil_is_moved_and_the_chill_ended() -> Result<()> {
    let brewer = Brewer::begin().await?;
    let tab = &brewer.tab;
    brewer.send_entry_at("flame_out", json!({}), 1200)?;
    brewer.send_entry_at("temperature", json!({ "place": "wort", "temperature_c": 60 }), 120)?;
    brewer.go_straight("chill").await?;

    let before = brewer.server.entries(BATCH)?.len();
    reach(tab, "a[href='#new-bath']").await?;
    tab.keys(key(Key::Enter)).await?;
    reach(tab, "#new-bath [name=method]").await?;
    // Still bath, then ice bath.
    tab.keys(key(Key::Down)).await?;
    for (field, text) in [("water_l", "30"), ("water_c", "12"), ("ice_kg", "4")] {
        reach(tab, &format!("#new-bath [name={field}]")).await?;
        tab.keys(text.chars()).await?;
    }
    tab.keys(key(Key::Enter)).await?;
    said(&brewer, before, "30").await?;
    let entry = brewer.server.entries(BATCH)?.pop().unwrap_or_default();
    ensure!(entry["method"] == "ice_bath" && entry["ice_kg"] == 4.0, "{entry}");

    let before = brewer.server.entries(BATCH)?.len();
    reach(tab, "form:has([value=stage_finished]) button").await?;
    tab.keys(key(Key::Enter)).await?;
    said(&brewer, before, "").await?;
    ensure!(brewer.server.entries(BATCH)?.last().is_some_and(|entry| entry["kind"] == "stage_finished"));
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_has_the_focus_is_seen_at_every_stop_of_every_stage() -> Result<()> {
    let brewer = Brewer::begin().await?;
    brewer.send("stage_finished", &[]).await?;
    let mut wrong = Vec::new();
    for stage in ["prepare", "mash", "boil", "chill", "pitch", "clean"] {
        brewer.go_straight(stage).await?;
        for screen in SCREENS {
            brewer.tab.size(screen).await?;
            let (stops, found) = walk_by_tab(&brewer.tab).await?;
            ensure!(stops > 12, "{stage} has only {stops} places to stop at");
            wrong.extend(found.into_iter().map(|line| format!("{stage}, {} px: {line}", screen.0)));
        }
    }
    ensure!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// From the top of the page to its end by Tab: how many stops, and what is wrong with them.
pub(crate) async fn walk_by_tab(tab: &Tab) -> Result<(usize, Vec<String>)> {
    tab.ask("(document.activeElement.blur(), scrollTo(0, 0))").await?;
    let (mut stops, mut wrong) = (Vec::new(), Vec::new());
    for _ in 0..STOPS {
        tab.keys(key(Key::Tab)).await?;
        let Some((place, found)) = inspect::focus(tab).await? else { break };
        if stops.contains(&place) {
            break;
        }
        stops.push(place);
        wrong.extend(found);
    }
    Ok((stops.len(), wrong))
}
