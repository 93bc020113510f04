//! A brew house of its own for each test, asked in-process.

use std::sync::atomic::{AtomicU64, Ordering};

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Method, Request, StatusCode, header},
    response::Response,
};
use gylebook::{
    store::Store,
    web::{App, Options, router},
};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use tempfile::TempDir;
use time::{Duration, OffsetDateTime, format_description::well_known::Rfc3339};
use tower::ServiceExt;
use uuid::Uuid;

/// A server with an empty book.
pub(crate) struct House {
    pub(crate) store: Store,
    router: Router,
    _folder: TempDir,
}

/// An answer, read whole.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) text: String,
}

impl House {
    pub(crate) async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a fresh book opens");
        let router = router(App::new(store.clone(), Options::default()));
        Self { store, router, _folder: folder }
    }

    /// A house with one batch under way, of [`recipe`], and its id.
    pub(crate) async fn brewing() -> (Self, i64) {
        let house = Self::open().await;
        let batch = house.start(json!({})).await;
        (house, batch)
    }

    /// Starts a batch of a new [`recipe`], with more of its fields.
    pub(crate) async fn start(&self, mut fields: Value) -> i64 {
        fields["recipe"] = self.add("/api/v1/recipes", recipe()).await["id"].clone();
        self.add("/api/v1/batches", fields).await["id"].as_i64().expect("an id")
    }

    /// Adds a record and gives it as it was answered.
    pub(crate) async fn add(&self, path: &str, body: Value) -> Value {
        let answer = self.post(path, &body).await;
        assert_eq!(answer.status, StatusCode::CREATED, "{}", answer.text);
        answer.json()
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(Method::GET, path, &[], Body::empty()).await
    }

    pub(crate) async fn post(&self, path: &str, body: &Value) -> Answer {
        self.send(Method::POST, path, &[("content-type", "application/json")], Body::from(body.to_string())).await
    }

    pub(crate) async fn put(&self, path: &str, body: &Value) -> Answer {
        self.send(Method::PUT, path, &[("content-type", "application/json")], Body::from(body.to_string())).await
    }

    /// Posts entries to a batch and gives the receipt.
    pub(crate) async fn append(&self, batch: i64, entries: &[Value]) -> Value {
        let answer = self.post(&format!("/api/v1/batches/{batch}/entries"), &json!({ "entries": entries })).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
        answer.json()
    }

    pub(crate) async fn summary(&self, batch: i64) -> Value {
        self.get(&format!("/api/v1/batches/{batch}")).await.json()["summary"].clone()
    }

    pub(crate) async fn send(&self, method: Method, path: &str, headers: &[(&str, &str)], body: Body) -> Answer {
        let response = self.ask(method, path, headers, body).await;
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.expect("a whole answer").to_bytes();
        let text = String::from_utf8(bytes.to_vec()).expect("an answer in UTF-8");
        Answer { status: parts.status, headers: parts.headers, text }
    }

    /// Sends a request and gives the answer with its body still to come.
    pub(crate) async fn ask(&self, method: Method, path: &str, headers: &[(&str, &str)], body: Body) -> Response {
        let mut request = Request::builder().method(method).uri(path).header(header::HOST, "localhost:4710");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(body).expect("a request");
        self.router.clone().oneshot(request).await.expect("the router answers everything")
    }
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|why| panic!("{why}: {}", self.text))
    }

    /// The problem details of a refusal with this status.
    #[track_caller]
    pub(crate) fn problem(&self, status: u16) -> Value {
        assert_eq!(self.status.as_u16(), status, "{}", self.text);
        assert_eq!(self.headers[header::CONTENT_TYPE], "application/problem+json");
        let problem = self.json();
        assert_eq!(problem["type"], "about:blank");
        assert_eq!(problem["status"], status);
        for sentence in ["title", "detail"] {
            assert!(problem[sentence].as_str().is_some_and(|text| !text.is_empty()), "{sentence} of {problem}");
        }
        problem
    }
}

/// A pale ale of 20 L.
pub(crate) fn recipe() -> Value {
    json!({
        "name": "Slate Roof Pale", "volume_l": 20.0, "boil_min": 60.0,
        "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0,
        "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81.0, "moisture_pct": 4.5,
            "colour_ebc": 6.0, "use": "mash"}],
        "hops": [{"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5.0, "form": "pellet", "use": "boil",
            "min": 60.0}],
        "mash_rests": [{"temperature_c": 66.0, "min": 60.0}],
        "yeast": {"name": "House ale", "kind": "ale", "form": "liquid", "cells_billion": 200.0},
        "other": [{"name": "Kettle finings", "mass_kg": 0.004, "use": "boil", "min": 10.0}],
    })
}

/// An entry with an id of its own, so many minutes ago.
pub(crate) fn entry(minutes_ago: f64, mut body: Value) -> Value {
    static NUMBER: AtomicU64 = AtomicU64::new(1);
    let number = NUMBER.fetch_add(1, Ordering::Relaxed);
    body["id"] = json!(Uuid::from_u64_pair(7, number));
    body["at"] = json!(ago(minutes_ago));
    body
}

/// So many minutes ago, to the second.
pub(crate) fn ago(minutes: f64) -> String {
    let at = OffsetDateTime::now_utc() - Duration::seconds_f64(minutes * 60.0);
    at.replace_nanosecond(0).expect("a whole second").format(&Rfc3339).expect("a time")
}

pub(crate) fn wort(minutes_ago: f64, celsius: f64) -> Value {
    entry(minutes_ago, json!({"kind": "temperature", "place": "wort", "temperature_c": celsius}))
}
