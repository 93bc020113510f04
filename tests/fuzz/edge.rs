//! What reaches the server itself: hosts, origins, cookies, addresses, and days of anything.

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderValue, Request, header};
use axum::response::Response;
use gylebook::store::Store;
use gylebook::web::guard::form_token::FIELD;
use gylebook::web::{App, Options, router};
use http_body_util::BodyExt;
use proptest::collection::vec;
use proptest::prelude::*;
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tower::ServiceExt;
use uuid::Uuid;

use crate::records::{entries, recipe};
use crate::typed::pairs;
use crate::{bend, fuzz};

struct House {
    runtime: Runtime,
    router: Router,
    /// What every form carries.
    token: String,
    _folder: TempDir,
}

impl House {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let runtime = Runtime::new().expect("a runtime");
        let store = runtime.block_on(Store::open(folder.path().join("book.db"))).expect("a book");
        let token = store.form_token("owner");
        let house = Self { runtime, router: router(App::new(store, Options::default())), token, _folder: folder };
        house.post("/api/v1/equipment", &json!({"name": "Coil", "kind": "coil"}));
        house.post("/api/v1/recipes", &recipe());
        house
    }

    /// Sends a request; whatever it is, the server does not fail.
    #[track_caller]
    fn ask(&self, request: Request<Body>) -> u16 {
        let told = format!("{request:?}");
        let response: Response =
            self.runtime.block_on(self.router.clone().oneshot(request)).expect("the router answers everything");
        let status = response.status();
        assert!(!status.is_server_error(), "{status}: {told}");
        self.runtime.block_on(response.into_body().collect()).expect("a whole answer");
        status.as_u16()
    }

    #[track_caller]
    fn get(&self, path: &str) -> u16 {
        match Request::get(path).header(header::HOST, "localhost").body(Body::empty()) {
            Ok(request) => self.ask(request),
            // Not an address at all: no client could have sent it.
            Err(_) => 0,
        }
    }

    #[track_caller]
    fn post(&self, path: &str, body: &Value) -> u16 {
        let request =
            Request::post(path).header(header::HOST, "localhost").header(header::CONTENT_TYPE, "application/json");
        self.ask(request.body(Body::from(body.to_string())).expect("a request"))
    }
}

/// Every page that takes a form.
const FORMS: [&str; 16] = [
    "/recipes",
    "/recipes/1",
    "/recipes/preview",
    "/recipes/1/scale",
    "/batches/new",
    "/batches/1",
    "/batches/1/prepare",
    "/batches/1/chill",
    "/batches/1/chill-plan",
    "/settings",
    "/settings/lists",
    "/welcome",
    "/welcome/equipment",
    "/equipment/new?kind=coil",
    "/equipment/1/edit",
    "/equipment/1/care",
];

fn send_form(house: &House, path: &str, mut body: String) -> u16 {
    body += &format!("&{FIELD}={}", house.token);
    let request = Request::post(path)
        .header(header::HOST, "localhost")
        .header(header::ORIGIN, "http://localhost")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    house.ask(request.body(Body::from(body)).expect("a request"))
}

#[test]
fn forms_on_every_page() {
    let house = House::new();
    house.post("/api/v1/batches", &json!({"recipe": 1}));
    fuzz("forms on every page", 20, (proptest::sample::select(&FORMS[..]), pairs()), |(path, pairs)| {
        send_form(&house, path, form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish());
    });
}

#[test]
fn a_form_that_is_a_trap_is_refused() {
    let house = House::new();
    house.post("/api/v1/batches", &json!({"recipe": 1}));
    let deep = format!("{}=1", "a.".repeat(400_000));
    let wide: String = (0..80_000).map(|number| format!("f{number}=1&")).collect();
    for path in FORMS {
        for trap in [&deep, &wide] {
            let status = send_form(&house, path, trap.clone());
            assert_eq!(status, 400, "{path}");
        }
    }
    let question = format!("/batches/1/chill-plan?{}=1", "a.".repeat(30_000));
    house.get(&question);
    for tall in ["9999999999=1", "hops.9999999999.name=1", "hops.%2B9999999999.name=1", "typed=1&typed.0=2&name=1+L"] {
        FORMS.iter().for_each(|path| assert!(send_form(&house, path, tall.into()) < 500, "{path} {tall}"));
    }
}

#[test]
fn hosts_origins_and_cookies() {
    const HOSTS: [&str; 12] = [
        "localhost:4710",
        "127.0.0.1:4710",
        "[::1]:4710",
        "192.168.1.20",
        "shelf.local:80",
        "book.example:4710",
        "localhost.",
        "LOCALHOST:4710",
        "user@localhost",
        "[fe80::1%25eth0]:4710",
        "0x7f.1:4710",
        "localhost:99999",
    ];
    const ORIGINS: [&str; 6] = [
        "http://localhost:4710",
        "null",
        "http://127.0.0.1:4710",
        "https://localhost:4710",
        "http://localhost:4710/",
        "file://",
    ];
    const COOKIES: [&str; 5] =
        ["gylebook_light=dim", "gylebook_light=\"bright\"; a=b", "a; b; =; ;;", "gylebook_light=%zz", "x=\u{7f}"];
    let house = House::new();
    let inputs = (bend::text(&HOSTS), bend::text(&ORIGINS), bend::text(&COOKIES), any::<bool>());
    fuzz("hosts, origins, cookies", 20, inputs, |(host, origin, cookie, changes)| {
        let mut request = if changes { Request::post("/settings/light") } else { Request::get("/api/v1/chill-plan") };
        for (name, text) in [(header::HOST, &host), (header::ORIGIN, &origin), (header::COOKIE, &cookie)] {
            if let Ok(text) = HeaderValue::from_bytes(text.as_bytes()) {
                request = request.header(name, text);
            }
        }
        let request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        house.ask(request.body(Body::from("light=dim")).expect("a request"));
    });
}

#[test]
fn addresses_and_their_questions() {
    const PATHS: [&str; 16] = [
        "/?sort=name&descending=1&search=pale&skip=50",
        "/compare?batch=1&batch=2&x=y",
        "/compare/curves.csv?batch=1",
        "/recipes/1?revision=1",
        "/recipes/1/scale?volume_l=25%20L",
        "/recipes/1/changes?from=1&to=2",
        "/equipment/new?kind=coil",
        "/equipment/1",
        "/batches/1/chill?saved=0190a1b2-c3d4-7e5f-8a9b-0c1d2e3f4a5b",
        "/batches/9223372036854775807/sheet",
        "/batches/new?recipe=1",
        "/api/v1/batches?limit=5&after=1",
        "/api/v1/recipes?retired=true",
        "/api/v1/batches/1/entries?after=-1",
        "/static/base.css?v=1",
        "/glossary#wort",
    ];
    let house = House::new();
    fuzz("addresses and questions", 20, bend::text(&PATHS), |path| {
        let path = if path.starts_with('/') { path } else { format!("/{path}") };
        house.get(&path);
    });
}

/// Entries that can be read, in any number and order, are a day that can be shown.
#[test]
fn a_day_of_anything() {
    let house = House::new();
    let plausible = (bend::record(entries()), 0..600_u32, any::<u64>());
    fuzz("days of anything", 300, vec(plausible, 1..40), |day| {
        let batch = {
            let answer = house.post("/api/v1/batches", &json!({"recipe": 1, "equipment": [1]}));
            assert_eq!(answer, 201);
            newest(&house)
        };
        let entries: Vec<Value> = day
            .into_iter()
            .map(|(mut entry, minutes, id)| {
                if let Some(fields) = entry.as_object_mut() {
                    fields.insert("id".into(), json!(Uuid::from_u64_pair(id, u64::from(minutes))));
                    let at = time::macros::datetime!(2026-03-07 08:00 UTC) + time::Duration::minutes(minutes.into());
                    let format = &time::format_description::well_known::Rfc3339;
                    fields.insert("at".into(), json!(at.format(format).expect("a time")));
                }
                entry
            })
            .collect();
        assert_eq!(house.post(&format!("/api/v1/batches/{batch}/entries"), &json!({ "entries": entries })), 200);
        for page in ["", "/prepare", "/mash", "/boil", "/chill", "/pitch", "/clean", "/sheet", "/chill-plan"] {
            assert_eq!(house.get(&format!("/batches/{batch}{page}")), 200);
        }
        assert_eq!(house.get(&format!("/api/v1/batches/{batch}")), 200);
    });
}

fn newest(house: &House) -> i64 {
    let request = Request::get("/api/v1/batches?limit=1").header(header::HOST, "localhost").body(Body::empty());
    house.runtime.block_on(async {
        let answer = house.router.clone().oneshot(request.expect("a request")).await.expect("an answer");
        let bytes = answer.into_body().collect().await.expect("a body").to_bytes();
        let batches: Value = serde_json::from_slice(&bytes).expect("JSON");
        batches[0]["id"].as_i64().expect("a batch")
    })
}
