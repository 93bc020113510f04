//! Water on the glass taps where nobody wanted to. Ten thousand such taps, anywhere
//! on any page, change nothing that can't be had back.

use std::collections::BTreeMap;

use anyhow::{Context, Result, ensure};
use gylebook_browser_tests::{chromium::Chromium, dice::Dice, server::Server, tab::Tab, walk};
use serde_json::{Value, json};

const TAPS: u64 = 10_000;
/// Drops that fall together before the page is looked at again.
const BURST: u64 = 25;
const BURSTS_A_PAGE: u64 = 10;

/// Taps anywhere the screen shows something, wherever it is scrolled to.
const TAP: &str = "
    for (const [x, y, down] of arguments[0]) {
        scrollTo(0, down * document.documentElement.scrollHeight);
        document.elementFromPoint(x * innerWidth, y * innerHeight)?.click?.();
    }";

/// Everything a book holds that a tap could reach.
#[derive(Debug, PartialEq)]
struct Held {
    entries: BTreeMap<String, Vec<Value>>,
    summaries: BTreeMap<String, Value>,
    recipes: BTreeMap<String, Value>,
    equipment: BTreeMap<String, Value>,
}

fn list(server: &Server, path: &str) -> Result<BTreeMap<String, Value>> {
    let all: Vec<Value> = serde_json::from_str(&server.get(path)?)?;
    Ok(all.into_iter().map(|one| (one["id"].to_string(), one)).collect())
}

/// Settings tapped to other units and a form kept: it gives a number back to a millionth.
fn to_a_millionth(value: &mut Value) {
    match value {
        Value::Array(values) => values.iter_mut().for_each(to_a_millionth),
        Value::Object(fields) => fields.values_mut().for_each(to_a_millionth),
        Value::Number(number) if number.is_f64() => {
            *value = json!(format!("{:.4e}", number.as_f64().unwrap_or_default()));
        }
        _ => {}
    }
}

impl Held {
    fn by(server: &Server) -> Result<Self> {
        let batches = list(server, "/api/v1/batches")?;
        let (mut entries, mut summaries) = (BTreeMap::new(), BTreeMap::new());
        for id in batches.keys() {
            entries.insert(id.clone(), serde_json::from_str(&server.get(&format!("/api/v1/batches/{id}/entries"))?)?);
            let mut batch: Value = serde_json::from_str(&server.get(&format!("/api/v1/batches/{id}"))?)?;
            summaries.insert(id.clone(), batch["summary"].take());
        }
        let mut equipment = list(server, "/api/v1/equipment")?;
        // What was done to a piece is its log's business.
        for piece in equipment.values_mut() {
            piece["care"].take();
        }
        let mut recipes = list(server, "/api/v1/recipes")?;
        for kept in equipment.values_mut().chain(recipes.values_mut()) {
            kept["changed_at"].take();
            kept["typed"].take();
            to_a_millionth(kept);
        }
        Ok(Self { entries, summaries, recipes, equipment })
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn ten_thousand_ghost_taps_change_nothing_for_good() -> Result<()> {
    let mut dice = Dice::seeded()?;
    let server = Server::demo()?;
    let (_browser, tab) = Chromium::start().await?;
    let pages = walk::pages_with_forms(&tab, &server).await?;
    let before = Held::by(&server)?;
    let lists = server.get("/settings/lists")?;

    let mut taps = 0;
    while taps < TAPS {
        let page = &pages[usize::try_from(dice.below(pages.len() as u64))?];
        tab.client.goto(&server.page(page)).await?;
        for _ in 0..BURSTS_A_PAGE {
            let mut share = || dice.below(1_000) as f64 / 1_000.0;
            let burst: Vec<_> = (0..BURST).map(|_| json!([share(), share(), share()])).collect();
            // A tap that leads elsewhere takes the page from under the next ones.
            let _ = tab.client.execute(TAP, vec![json!(burst)]).await;
            taps += BURST;
        }
    }
    tab.client.goto(&server.page("/settings")).await?;
    tab.until("!document.getElementById('waiting')?.innerText.includes('waiting to send')").await?;

    let after = Held::by(&server)?;
    let new: usize = before.entries.iter().map(|(batch, entries)| after.entries[batch].len() - entries.len()).sum();
    println!(
        "{taps} taps: {new} entries more in the batches there were, {} batches more",
        after.entries.len() - before.entries.len()
    );
    for (batch, entries) in &before.entries {
        ensure!(after.entries[batch].starts_with(entries), "the log of batch {batch} is not what it was, and more");
        undo(&server, batch, entries, &after.entries[batch])?;
    }
    for id in before.recipes.keys() {
        send(&tab, &format!("/recipes/{id}/take-back"), "").await?;
    }
    for id in before.equipment.keys() {
        send(&tab, &format!("/equipment/{id}/return"), "").await?;
    }
    let now = server.get("/settings/lists")?;
    if let Some((_, oldest)) = now.rsplit_once(r#"name="number" value=""#) {
        // The demo brew house never changed its own.
        send(&tab, "/settings/lists/before", oldest.split('"').next().unwrap_or_default()).await?;
    }
    let back = Held::by(&server)?;
    for (batch, summary) in &before.summaries {
        // A plan kept anew has the old one's figures back once that is kept again.
        let figures = |of: &Value| {
            let mut figures = of.clone();
            figures["chill"]["planned_min"].take();
            figures["missing"].as_object_mut().map(|missing| missing.remove("chill.planned_min"));
            figures
        };
        let (now, then) = (figures(&back.summaries[batch]), figures(summary));
        ensure!(now == then, "the figures of batch {batch} can't be had back: {now} was {then}");
    }
    for (id, recipe) in &before.recipes {
        let now = back.recipes.get(id).context("a recipe")?;
        // A recipe's form that is kept is a revision more, and its page tells the ones before.
        let told = format!("Revision {}", recipe["revision"]);
        let is_later = now["revision"].as_u64() > recipe["revision"].as_u64();
        let is_held = is_later && server.get(&format!("/recipes/{id}"))?.contains(&told);
        ensure!(now == recipe || is_held, "recipe {id}: {now:?}");
    }
    for (id, piece) in &before.equipment {
        ensure!(back.equipment.get(id) == Some(piece), "equipment {id}: {:?}", back.equipment.get(id));
    }
    ensure!(kept_lists(&server.get("/settings/lists")?) == kept_lists(&lists), "the check lists are changed");
    Ok(())
}

/// Strikes out what came to a log, and puts right what was struck out of it.
fn undo(server: &Server, batch: &str, before: &[Value], after: &[Value]) -> Result<()> {
    let stands = |id: &Value| before.iter().find(|entry| entry["id"] == *id);
    for (count, entry) in after[before.len()..].iter().enumerate() {
        let mut amendment = json!({
            "id": format!("01890000-0000-7000-9000-{:06x}{count:06x}", batch.parse::<u32>()?),
            "at": entry["received_at"], "kind": "amendment", "of": entry["id"], "why": "a drop of water",
        });
        if entry["kind"] == "amendment" {
            // Of one of the entries there were: it is to say again what it said.
            let Some(was) = stands(&entry["of"]) else { continue };
            let mut body = was.clone();
            for name in ["id", "seq", "received_at", "device", "typed"] {
                body.as_object_mut().context("an entry")?.remove(name);
            }
            amendment["of"] = was["id"].clone();
            amendment["replacement"] = body;
        } else {
            amendment["void"] = json!(true);
        }
        let answer = server.post(&format!("/api/v1/batches/{batch}/entries"), &json!({ "entries": [amendment] }))?;
        let answer: Value = serde_json::from_str(&answer)?;
        ensure!(answer["refused"] == json!([]), "{entry} can't be taken back: {answer}");
    }
    Ok(())
}

/// What stands in the first form of the lists' page, behind its token.
fn kept_lists(page: &str) -> Option<&str> {
    let form = page.split("<form").nth(1)?.split("</form").next()?;
    form.split_once(r#"name="form_token""#)?.1.split_once('>').map(|(_, lists)| lists)
}

/// Presses a button that is on some page; where it is not needed, nothing comes of it.
async fn send(tab: &Tab, action: &str, number: &str) -> Result<()> {
    let script = "const done = arguments[2];
        const token = document.querySelector('[name=form_token]')?.value ?? '';
        const body = new URLSearchParams({ form_token: token, number: arguments[1] });
        fetch(arguments[0], { method: 'POST', body }).then((answer) => done(answer.status));";
    tab.client.execute_async(script, vec![json!(action), json!(number)]).await.map(drop).map_err(Into::into)
}
