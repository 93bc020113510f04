//! Every way to write into the book.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::client::{Answer, Client};
use crate::form::Form;
use crate::house::{House, Server, begin_batch, reading, recipe};

/// The entry that the ways put right: a reading in batch 1.
const READING: u128 = 0x7e1;
/// And one in the history of the coil.
const CARE: u128 = 0xca7e;

/// A way to write.
pub(crate) struct Way {
    pub(crate) name: &'static str,
    by: By,
}

enum By {
    /// A script's body; `n` is like no other.
    Json(&'static str, &'static str, fn(n: u64) -> Value),
    /// A form: its page, how it is found there, and what is typed into it, where `{n}` is like no other.
    Form(&'static str, &'static str, &'static [(&'static str, &'static str)]),
    /// A button alone, and what is done before so that it has something to do.
    Button(&'static str, Option<&'static str>),
}

/// A request, ready to be sent once or twice.
pub(crate) enum Asked {
    Json(&'static str, &'static str, Value),
    Form(Form),
}

const fn json_by(method: &'static str, path: &'static str, body: fn(u64) -> Value) -> Way {
    Way { name: path, by: By::Json(method, path, body) }
}

const fn form_by(page: &'static str, form: &'static str, typed: &'static [(&'static str, &'static str)]) -> Way {
    Way { name: page, by: By::Form(page, form, typed) }
}

const fn button(path: &'static str, undo: Option<&'static str>) -> Way {
    Way { name: path, by: By::Button(path, undo) }
}

pub(crate) const EVERY_WAY: &[Way] = &[
    json_by("POST", "/api/v1/batches/1/entries", three_at_once),
    json_by("POST", "/api/v1/temperature", |n| json!({ "place": "wort", "temperature_c": 61.5, "at": ago(n) })),
    json_by("POST", "/api/v1/recipes", named),
    json_by("PUT", "/api/v1/recipes/1", named),
    json_by("POST", "/api/v1/equipment", |n| json!({ "name": format!("Coil {n}"), "kind": "coil" })),
    json_by("PUT", "/api/v1/equipment/1", |n| json!({ "name": format!("Coil {n}"), "kind": "coil" })),
    json_by("POST", "/api/v1/batches", |n| json!({ "recipe": 1, "name": format!("Batch {n}") })),
    form_by(
        "/batches/1/chill",
        "form:has([name='kind'][value='temperature']):has([name='place'][value='wort'])",
        &[("temperature_c", "54,{n}")],
    ),
    form_by("/batches/1/chill", "form:has([name='kind'][value='note'])", &[("note", "Word {n}")]),
    form_by("/batches/1/entries/00000000-0000-0000-0000-0000000007e1", "main form", &[("temperature_c", "54,{n}")]),
    form_by("/batches/1", "form[action='/batches/1']", &[("name", "Day {n}")]),
    form_by("/batches/new", "main form", &[("recipe", "1"), ("name", "Day {n}")]),
    form_by(
        "/recipes/new",
        "#recipe",
        &[
            ("name", "Pale {n}"),
            ("volume_l", "20"),
            ("boil_min", "60"),
            ("target_pitch_c", "19"),
            ("pitch_low_c", "17"),
            ("pitch_high_c", "21"),
        ],
    ),
    form_by("/recipes/1/edit", "#recipe", &[("name", "Pale {n}")]),
    form_by("/recipes/1/scale?volume_l=25", "form[method='post']", &[]),
    button("/recipes/starter", None),
    button("/recipes/1/put-away", Some("/recipes/1/take-back")),
    button("/recipes/1/take-back", Some("/recipes/1/put-away")),
    form_by("/equipment/new?kind=coil", "main form", &[("name", "Coil {n}")]),
    form_by("/equipment/1/edit", "main form", &[("name", "Coil {n}")]),
    form_by("/equipment/1", "form.care-form", &[("act", "cleaned"), ("note", "Word {n}")]),
    form_by(
        "/equipment/1/care/00000000-0000-0000-0000-00000000ca7e",
        "form.care-form",
        &[("act", "rinsed"), ("note", "Word {n}")],
    ),
    button("/equipment/1/retire", Some("/equipment/1/return")),
    button("/equipment/1/return", Some("/equipment/1/retire")),
    form_by("/settings", "form[action='/settings']", &[("house", "House {n}")]),
    form_by("/settings/lists", "form[action='/settings/lists']", &[("lists.0.name", "List {n}")]),
    button("/settings/lists/defaults", Some("/settings/lists")),
    form_by("/welcome", "main form", &[("house", "House {n}")]),
    form_by("/settings/devices", "form[action='/settings/devices/probes']", &[("name", "Probe {n}")]),
];

fn named(n: u64) -> Value {
    let mut body = recipe();
    body["name"] = json!(format!("Pale {n}"));
    body
}

/// What a phone has waiting goes out together, and is there together or not at all.
fn three_at_once(n: u64) -> Value {
    let entries = [0, 1, 2].map(|which| reading(Uuid::from_u64_pair(0xf00d + which, n), 61.5));
    json!({ "entries": entries })
}

/// A probe's reading is known by its time.
fn ago(n: u64) -> String {
    let at = time::OffsetDateTime::from_unix_timestamp(1_780_000_000 + i64::try_from(n).expect("not so many"));
    let format = &time::format_description::well_known::Rfc3339;
    at.expect("a time").format(format).expect("a time")
}

/// Fills a fresh book with what the ways are about.
pub(crate) fn furnish(server: &Server) -> Client {
    let mut client = server.client();
    let coil = client.post("/api/v1/equipment", &json!({ "name": "Coil", "kind": "coil" })).expect("an answer").id();
    let batch = begin_batch(&mut client);
    assert_eq!((coil, batch), (1, 1));
    let first = [
        json!({ "id": Uuid::from_u128(1), "at": ago(0), "kind": "stage_started", "stage": "chill" }),
        reading(Uuid::from_u128(READING), 70.0),
    ];
    let answer = client.append(batch, &first).expect("an answer");
    assert_eq!(answer.json()["refused"], json!([]), "{}", answer.text);
    let care = Uuid::from_u128(CARE).to_string();
    let page = client.get("/equipment/1").expect("an answer");
    let care = Form::on(&page, "form.care-form").with("act", "cleaned").with("id", &care);
    assert_eq!(care.send(&mut client).expect("an answer").status, 303);
    client
}

impl Way {
    pub(crate) fn is_a_form(&self) -> bool {
        !matches!(self.by, By::Json(..))
    }

    /// The request, as the page stands now.
    pub(crate) fn ready(&self, client: &mut Client, n: u64) -> Asked {
        match self.by {
            By::Json(method, path, body) => Asked::Json(method, path, body(n)),
            By::Form(page, selector, typed) => {
                let page = client.get(page).expect("an answer");
                let form = Form::on(&page, selector);
                let n = n.to_string();
                Asked::Form(typed.iter().fold(form, |form, (name, text)| form.with(name, &text.replace("{n}", &n))))
            }
            By::Button(path, undo) => {
                if let Some(undo) = undo {
                    let form = if undo == "/settings/lists" {
                        let page = client.get(undo).expect("an answer");
                        Form::on(&page, "form[action='/settings/lists']").with("lists.0.name", &format!("List {n}"))
                    } else {
                        pressed(client, undo)
                    };
                    assert!(is_done(&form.send(client).expect("an answer")), "{undo}");
                }
                Asked::Form(pressed(client, path))
            }
        }
    }
}

/// A button's form, which holds nothing but the token that every form of the house carries.
fn pressed(client: &mut Client, path: &str) -> Form {
    let page = client.get("/settings").expect("an answer");
    let mut form = Form::on(&page, "form[action='/settings']");
    form.fields.retain(|(name, _)| name == "form_token");
    Form { action: path.into(), ..form }
}

impl Asked {
    pub(crate) fn send(&self, client: &mut Client) -> std::io::Result<Answer> {
        match self {
            Self::Json(method, path, body) => client.ask(method, path, "application/json", &body.to_string()),
            Self::Form(form) => form.send(client),
        }
    }
}

/// Whether a request did what it asked for.
pub(crate) fn is_done(answer: &Answer) -> bool {
    matches!(answer.status, 200 | 201 | 303)
}

/// How many rows each table has.
pub(crate) fn rows(house: &House) -> Vec<i64> {
    use sqlx::Row;
    let counts = "
        select
            (select count(*) from entry),
            (select count(*) from batch),
            (select count(*) from recipe_revision),
            (select count(*) from equipment),
            (select count(*) from device),
            (select count(*) from made_once),
            (select coalesce(sum(seq), 0) from summary)
    ";
    let row = &crate::ledger::ask(&house.book, counts)[0];
    (0..row.len()).map(|place| row.get(place)).collect()
}
