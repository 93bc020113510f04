//! Three books to look through: what is in them, and under which addresses.

use std::collections::BTreeSet;

use axum::http::StatusCode;
use gylebook::brewday::choices::{Choice, EquipmentKind, Stage};
use gylebook::demo;
use serde_json::{Value, json};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::TestBook;

/// What can be asked for in a book.
pub(super) struct Contents {
    batches: Vec<i64>,
    recipes: Vec<(i64, i64)>,
    equipment: Vec<i64>,
    /// One entry of each kind.
    entries: Vec<(i64, String)>,
    /// Care outside a brew day, by piece.
    care: Vec<(i64, String)>,
    assets: Vec<String>,
    /// A thermometer's log that was brought.
    files: Vec<(i64, Uuid)>,
}

impl Contents {
    /// An empty book: what is not there says so.
    pub(super) fn nothing() -> Self {
        Self {
            batches: Vec::new(),
            recipes: Vec::new(),
            equipment: Vec::new(),
            entries: Vec::new(),
            care: Vec::new(),
            assets: Vec::new(),
            files: Vec::new(),
        }
    }

    /// Looks a book through.
    async fn of(book: &TestBook) -> Self {
        let equipment = book.store.equipment_list(None, false).await.expect("equipment");
        let mut contents = Self {
            batches: book.store.batch_ids().await.expect("batches"),
            equipment: equipment.iter().map(|stored| stored.record.id).collect(),
            ..Self::nothing()
        };
        for record in book.store.recipes("", false).await.expect("recipes") {
            contents.recipes.extend((1..=record.revision).map(|revision| (record.id, revision)));
        }
        if let Some(batch) = contents.batches.first() {
            let log = "time;<x-mark>temp</x-mark>\n03/04/2026 14:42;65,3\n03/04/2026 14:43;<x-mark>\n";
            let brought = book.store.bring_log_file(*batch, "<x-mark>.csv", log.as_bytes(), OffsetDateTime::now_utc());
            contents.files.push((*batch, brought.await.expect("kept").expect("a batch")));
        }
        let mut kinds = BTreeSet::new();
        for batch in &contents.batches {
            let day = book.store.day(*batch).await.expect("a day").expect("a batch");
            for line in &day.lines {
                let kind = line.logged.entry.body.kind();
                if kind != "amendment" && kinds.insert(kind) {
                    contents.entries.push((*batch, line.logged.entry.id.to_string()));
                }
            }
        }
        for piece in &contents.equipment {
            let page = book.get(&format!("/equipment/{piece}")).await;
            let to_care = page.attributes(&format!("a[href^='/equipment/{piece}/care/']"), "href");
            let ids = to_care.iter().filter_map(|href| href.rsplit('/').next());
            contents.care.extend(ids.map(|id| (*piece, id.to_owned())));
        }
        let home = book.get("/").await;
        contents.assets = home.attributes("link[rel='stylesheet'], link[rel='icon'], link[rel='preload']", "href");
        contents
    }

    /// Under the address of each file that waits for its columns to be told.
    fn of_files(&self, part: &str) -> Vec<(String, StatusCode)> {
        if self.files.is_empty() {
            return vec![(format!("/batches/1/readings/import/{}{part}", Uuid::nil()), StatusCode::NOT_FOUND)];
        }
        let files = self.files.iter().map(|(batch, file)| format!("/batches/{batch}/readings/import/{file}{part}"));
        files.map(|address| (address, StatusCode::OK)).collect()
    }

    /// Where a route is asked for in this book, and what it should answer.
    pub(super) fn addresses(&self, route: &str) -> Vec<(String, StatusCode)> {
        let found = |addresses: Vec<String>| addresses.into_iter().map(|one| (one, StatusCode::OK)).collect();
        // With nothing to ask for, what is asked for is not there.
        let each = |addresses: Vec<String>, missing: &str| {
            if addresses.is_empty() { vec![(missing.to_owned(), StatusCode::NOT_FOUND)] } else { found(addresses) }
        };
        let of = |ids: &[i64], part: &str| {
            let family = route.split("/{").next().unwrap_or_default();
            each(ids.iter().map(|id| format!("{family}/{id}{part}")).collect(), &format!("{family}/1{part}"))
        };
        let recipes = || {
            let mut ids: Vec<i64> = self.recipes.iter().map(|(id, _)| *id).collect();
            ids.dedup();
            ids
        };
        match route {
            "/batches/{id}" => of(&self.batches, ""),
            "/batches/{id}/chill/now" => of(&self.batches, "/chill/now"),
            "/batches/{id}/chill-plan" => of(&self.batches, "/chill-plan"),
            "/batches/{id}/sheet" => of(&self.batches, "/sheet"),
            "/batches/{id}/sheet/blank" => of(&self.batches, "/sheet/blank"),
            "/batches/{id}/report.html" => of(&self.batches, "/report.html"),
            "/batches/{id}/batch.json" => of(&self.batches, "/batch.json"),
            "/batches/{id}/readings.csv" => of(&self.batches, "/readings.csv"),
            "/batches/{id}/readings/import" => of(&self.batches, "/readings/import"),
            "/batches/{id}/readings/import/{file}" => self.of_files(""),
            "/batches/{id}/readings/import/{file}/refused.csv" => self.of_files("/refused.csv"),
            "/batches/{id}/{stage}" => {
                let stages = Stage::ALL.iter().map(|stage| format!("/{}", stage.key()));
                let mut all: Vec<_> = stages.flat_map(|stage| of(&self.batches, &stage)).collect();
                all.push(("/batches/1/lunch".into(), StatusCode::NOT_FOUND));
                all
            }
            "/batches/{id}/entries/{entry}" => {
                let entries = self.entries.iter().map(|(batch, id)| format!("/batches/{batch}/entries/{id}"));
                each(entries.collect(), &format!("/batches/1/entries/{}", Uuid::nil()))
            }
            "/recipes/{id}" => of(&recipes(), ""),
            "/recipes/{id}/edit" => of(&recipes(), "/edit"),
            "/recipes/{id}/scale" => [of(&recipes(), "/scale"), of(&recipes(), "/scale?volume_l=10")].concat(),
            "/recipes/{id}/revisions/{number}" => {
                let revisions = self.recipes.iter().map(|(id, number)| format!("/recipes/{id}/revisions/{number}"));
                each(revisions.collect(), "/recipes/1/revisions/1")
            }
            "/equipment/{id}" => of(&self.equipment, ""),
            "/equipment/{id}/batches.csv" => of(&self.equipment, "/batches.csv"),
            "/equipment/{id}/edit" => of(&self.equipment, "/edit"),
            "/equipment/{id}/care/{entry}" => {
                let care = self.care.iter().map(|(piece, id)| format!("/equipment/{piece}/care/{id}"));
                each(care.collect(), &format!("/equipment/1/care/{}", Uuid::nil()))
            }
            "/equipment/new" => {
                let kinds = EquipmentKind::ALL.iter().map(|kind| format!("/equipment/new?kind={}", kind.key()));
                found(kinds.chain(["/equipment/new".into()]).collect())
            }
            "/recipes/new" => found(
                recipes().iter().map(|id| format!("/recipes/new?from={id}")).chain(["/recipes/new".into()]).collect(),
            ),
            "/" => found(["/", "/?find=nothing+like+it", "/?sort=name"].map(str::to_owned).into()),
            "/compare" | "/compare.csv" | "/compare/curves.csv" => {
                let chosen = |ids: &[i64]| ids.iter().map(|id| format!("batch={id}")).collect::<Vec<_>>().join("&");
                let two = &self.batches[..self.batches.len().min(2)];
                found([&[][..], two, &self.batches, &[9999]].map(|ids| format!("{route}?{}", chosen(ids))).into())
            }
            "/pair/{link}" => found(vec!["/pair/0123456789abcdef".into()]),
            "/static/{version}/{*path}" => each(self.assets.clone(), "/static/1/nothing.css"),
            plain if !plain.contains('{') => found(vec![plain.to_owned()]),
            _ => Vec::new(),
        }
    }
}

/// A year of brewing: the demo brew house.
pub(super) async fn year() -> (TestBook, Contents) {
    let book = TestBook::open().await;
    assert!(demo::fill(&book.store, OffsetDateTime::now_utc()).await.expect("the demo fits in a book"));
    let contents = Contents::of(&book).await;
    (book, contents)
}

/// As much as is kept of everything, and names made to break a page.
pub(super) async fn overfull() -> (TestBook, Contents) {
    let book = TestBook::open().await;
    book.post_form::<&str, &str>("/welcome/skip", &[]).await;
    let pieces: Vec<i64> = pieces(&book).await;
    add(&book, "/api/v1/recipes", &recipe()).await;
    let batch = json!({ "recipe": 1, "name": name("The longest day"), "equipment": pieces, "tap_c": 12 });
    add(&book, "/api/v1/batches", &batch).await;
    let entries = entries();
    for some in entries.chunks(1000) {
        let receipt = book.post_json("/api/v1/batches/1/entries", &json!({ "entries": some })).await.json();
        assert_eq!(receipt["refused"], json!([]));
    }
    let contents = Contents::of(&book).await;
    (book, contents)
}

/// A name of 120 letters, with marks in it and no place to break.
fn name(starts: &str) -> String {
    let marked = format!("{starts} <x-mark>&amp;\"'🍺");
    let filling = 120 - marked.chars().count();
    marked + &"W".repeat(filling)
}

fn note() -> String {
    let line = "<x-mark> & \"quoted\" 'n' \u{202e}turned\u{202c} ½ ° \n";
    line.chars().cycle().take(1999).chain(['.']).collect()
}

async fn add(book: &TestBook, path: &str, body: &Value) -> i64 {
    let answer = book.post_json(path, body).await;
    assert_eq!(answer.status, StatusCode::CREATED, "{}", answer.text);
    answer.json()["id"].as_i64().expect("an id")
}

async fn pieces(book: &TestBook) -> Vec<i64> {
    let mut ids = Vec::new();
    for number in 0..60 {
        let kind = EquipmentKind::ALL[number % EquipmentKind::ALL.len()].key();
        let piece = json!({ "name": name(&format!("{kind} {number}")), "kind": kind, "volume_l": 30, "notes": note() });
        ids.push(add(book, "/api/v1/equipment", &piece).await);
    }
    ids
}

fn recipe() -> Value {
    let rows = |row: fn(usize) -> Value| (0..100).map(row).collect::<Vec<_>>();
    json!({
        "name": name("Everything ale"), "style": "x".repeat(120), "volume_l": 20, "boil_min": 60, "notes": note(),
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": rows(|n| json!({ "name": name(&format!("Malt {n}")), "mass_kg": 0.05, "yield_pct": 80,
            "moisture_pct": 4, "colour_ebc": n, "use": if n % 9 == 0 { "kettle" } else { "mash" } })),
        "hops": rows(|n| json!({ "name": name(&format!("Hop {n}")), "mass_kg": 0.001, "alpha_pct": 6, "form": "pellet",
            "use": (["first_wort", "boil", "flame_out"][n % 3]), "min": n % 60 })),
        "mash_rests": rows(|n| json!({ "temperature_c": 60.0 + n as f64 / 10.0, "min": 1 })),
        "other": rows(|n| json!({ "name": name(&format!("Salt {n}")), "mass_kg": 0.001,
            "use": (["mash", "boil", "flame_out", "fermenter"][n % 4]), "min": n % 60 })),
        "yeast": { "name": name("Yeast"), "kind": "lager", "form": "slurry", "mass_kg": 0.2 },
    })
}

/// Three thousand entries on one day: a probe in the wort, long notes, everything else.
fn entries() -> Vec<Value> {
    let mut entries = Vec::new();
    let mut log = |second: u32, mut body: Value| {
        body["id"] = json!(Uuid::now_v7());
        body["at"] = json!(format!("2025-03-15T{:02}:{:02}:{:02}Z", 8 + second / 3600, second / 60 % 60, second % 60));
        entries.push(body);
    };
    for n in 0..1200 {
        log(n, json!({ "kind": "temperature", "place": "mash", "temperature_c": 67.0 + f64::from(n % 7) / 10.0 }));
    }
    for n in 0..100 {
        log(1300 + n, json!({ "kind": "addition", "what": name(&format!("Hop {n}")), "mass_kg": 0.001, "planned": n }));
        if n % 5 == 0 {
            log(1300 + n, json!({ "kind": "note", "note": note() }));
        }
    }
    log(1290, json!({ "kind": "boil_started" }));
    log(5000, json!({ "kind": "flame_out", "note": note() }));
    for n in 0..40 {
        log(5000 + 60 * n, json!({ "kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12 }));
    }
    for n in 0..480 {
        let celsius = 12.0 + 84.0 * (-f64::from(n) / 120.0).exp();
        log(5000 + 5 * n, json!({ "kind": "temperature", "place": "wort", "temperature_c": celsius }));
        log(5000 + 5 * n, json!({ "kind": "temperature", "place": "bath", "temperature_c": 12.0 + f64::from(n % 12) }));
    }
    for n in 0..600 {
        log(
            8000 + n,
            json!({ "kind": "check", "item": format!("mine {n}"), "outcome": "skipped", "why": name("Because") }),
        );
    }
    log(9000, json!({ "kind": "pitched", "yeast": name("Yeast"), "mass_kg": 0.2, "wort_c": 12, "yeast_c": 12 }));
    assert!(entries.len() > 2900, "{}", entries.len());
    entries
}
