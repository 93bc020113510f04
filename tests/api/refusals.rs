//! What is refused, and how that is told.

use axum::{body::Body, http::Method};
use serde_json::{Value, json};

use crate::house::{House, entry, recipe};

const JSON: (&str, &str) = ("content-type", "application/json");

#[tokio::test]
async fn a_body_that_is_no_json_is_told_where_it_breaks() {
    let (house, batch) = House::brewing().await;
    for path in ["/api/v1/recipes", "/api/v1/temperature", &format!("/api/v1/batches/{batch}/entries")] {
        for broken in ["", "{", "{\"name\": }", "{\"a\": 1e999}", "\u{feff}{}", &"[".repeat(500)] {
            let answer = house.send(Method::POST, path, &[JSON], Body::from(broken.to_owned())).await;
            let problem = answer.problem(400);
            assert!(problem["detail"].as_str().unwrap().contains("line"), "{broken:?}: {problem}");
        }
        let answer = house.send(Method::POST, path, &[JSON], Body::from(vec![b'"', 0xff, b'"'])).await;
        answer.problem(400);
        for other in [json!([]), json!("text"), json!(3), json!(null), json!(true)] {
            house.post(path, &other).await.problem(422);
        }
    }
}

#[tokio::test]
async fn what_is_not_said_to_be_json_is_not_read() {
    let house = House::open().await;
    let body = || Body::from(recipe().to_string());
    for kind in ["text/plain", "application/x-www-form-urlencoded", "application/xml"] {
        house.send(Method::POST, "/api/v1/recipes", &[("content-type", kind)], body()).await.problem(415);
        // From our own pages as well, and there it is the handler that says so.
        let headers = [("content-type", kind), ("origin", "http://localhost:4710")];
        house.send(Method::POST, "/api/v1/recipes", &headers, body()).await.problem(415);
    }
    house.send(Method::POST, "/api/v1/recipes", &[], body()).await.problem(415);
    let charset = [("content-type", "application/json; charset=utf-8")];
    assert_eq!(house.send(Method::POST, "/api/v1/recipes", &charset, body()).await.status, 201);
}

#[tokio::test]
async fn a_strangers_page_may_not_write() {
    let house = House::open().await;
    let body = || Body::from(recipe().to_string());
    for origin in ["http://evil.example", "null", "http://localhost:4711"] {
        house.send(Method::POST, "/api/v1/recipes", &[JSON, ("origin", origin)], body()).await.problem(403);
    }
    let answer = house.send(Method::POST, "/api/v1/recipes", &[JSON, ("sec-fetch-site", "cross-site")], body()).await;
    answer.problem(403);
    let ours = [JSON, ("origin", "http://localhost:4710")];
    let answer = house.send(Method::POST, "/api/v1/recipes", &ours, body()).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    assert!(!answer.headers.contains_key("access-control-allow-origin"));
    assert_eq!(house.get("/api/v1/recipes").await.json().as_array().map(Vec::len), Some(1));
}

#[tokio::test]
async fn more_than_is_taken_at_once_is_refused_whole() {
    let (house, batch) = House::brewing().await;
    let path = format!("/api/v1/batches/{batch}/entries");
    let large = json!({"entries": [], "sent_at": "x".repeat(1024 * 1024)});
    house.post(&path, &large).await.problem(413);
    let note = |_| entry(1.0, json!({"kind": "boil_started"}));
    let many: Vec<Value> = (0..1001).map(note).collect();
    let refused = house.post(&path, &json!({ "entries": many })).await.problem(422);
    assert_eq!(refused["field"], "entries");
    assert_eq!(house.get(&path).await.json(), json!([]));
    let receipt = house.append(batch, &many[..1000]).await;
    assert_eq!(receipt["accepted"].as_array().map(Vec::len), Some(1000));
}

#[tokio::test]
async fn what_is_not_there_is_not_found_and_what_cannot_be_done_says_so() {
    let house = House::open().await;
    for path in [
        "/api/v1/recipes/1",
        "/api/v1/recipes/x",
        "/api/v1/recipes/-1",
        "/api/v1/recipes/99999999999999999999",
        "/api/v1/equipment/1",
        "/api/v1/batches/1",
        "/api/v1/batches/1/entries",
        "/api/v1/batches/1/events",
        "/api/v1/batches/1/readings.csv",
        "/api/v1/nothing",
        "/api/v2/recipes",
        "/api/",
    ] {
        house.get(path).await.problem(404);
    }
    house.post("/api/v1/batches/1/entries", &json!({"entries": []})).await.problem(404);
    for (method, path) in [
        (Method::DELETE, "/api/v1/recipes/1"),
        (Method::PUT, "/api/v1/recipes"),
        (Method::POST, "/api/v1/batches/1"),
        (Method::PATCH, "/api/v1/equipment/1"),
    ] {
        let answer = house.send(method.clone(), path, &[JSON], Body::from("{}")).await;
        answer.problem(405);
        assert!(answer.headers.contains_key("allow"), "{method} {path}");
    }
}

#[tokio::test]
async fn a_list_is_asked_for_by_numbers() {
    let house = House::open().await;
    for (query, field) in [
        ("limit=0", "limit"),
        ("limit=201", "limit"),
        ("limit=ten", "limit"),
        ("limit=", "limit"),
        ("after=-1", "after"),
        ("after=1.5", "after"),
        ("after=99999999999999999999", "after"),
        ("retired=perhaps", "retired"),
    ] {
        let problem = house.get(&format!("/api/v1/recipes?{query}")).await.problem(422);
        assert_eq!(problem["field"], field, "{query}");
    }
    let both = house.get("/api/v1/recipes?limit=0&after=x").await.problem(422);
    assert_eq!(both["errors"].as_array().map(Vec::len), Some(2));
}

#[tokio::test]
async fn every_faulty_field_of_a_record_is_named_by_its_path() {
    let house = House::open().await;
    let set = |pointer: &str, value: Value| {
        let mut body = recipe();
        let (parent, name) = pointer.rsplit_once('/').unwrap();
        body.pointer_mut(parent).unwrap()[name] = value;
        body
    };
    let cases = [
        (set("/name", json!("")), "name"),
        (set("/name", json!("   ")), "name"),
        (set("/name", json!("x".repeat(121))), "name"),
        (set("/name", json!(7)), "name"),
        (set("/style", json!([])), "style"),
        (set("/volume_l", json!(0)), "volume_l"),
        (set("/volume_l", json!(2000.1)), "volume_l"),
        (set("/volume_l", json!("20")), "volume_l"),
        (set("/volume_l", json!(null)), "volume_l"),
        (set("/boil_min", json!(-1)), "boil_min"),
        (set("/target_pitch_c", json!(25)), "target_pitch_c"),
        (set("/pitch_low_c", json!(22)), "pitch_low_c"),
        (set("/pitch_high_c", json!(116)), "pitch_high_c"),
        (set("/fermentables/0/mass_kg", json!(-0.1)), "fermentables.0.mass_kg"),
        (set("/fermentables/0/use", json!("boil")), "fermentables.0.use"),
        (set("/fermentables/0/yield_pct", json!(101)), "fermentables.0.yield_pct"),
        (set("/fermentables/0/moisture", json!(4)), "fermentables.0.moisture"),
        (set("/hops/0/alpha_pct", json!(-1)), "hops.0.alpha_pct"),
        (set("/hops/0/min", json!(61)), "hops.0.min"),
        (set("/hops/0/form", json!("whole")), "hops.0.form"),
        (set("/mash_rests/0/temperature_c", json!(200)), "mash_rests.0.temperature_c"),
        (set("/hops", json!({})), "hops"),
        (set("/yeast", json!("ale")), "yeast"),
        (set("/yeast/kind", json!("wild")), "yeast.kind"),
        (set("/other/0/min", json!("late")), "other.0.min"),
        (set("/colour", json!(7)), "colour"),
        (set("/id", json!(7)), "id"),
    ];
    for (body, field) in cases {
        let problem = house.post("/api/v1/recipes", &body).await.problem(422);
        assert_eq!(problem["field"], field, "{problem}");
        assert_eq!(problem["errors"][0]["field"], field);
        assert_eq!(problem["errors"].as_array().map(Vec::len), Some(1), "{problem}");
        let why = problem["errors"][0]["why"].as_str().unwrap();
        assert!(why.ends_with('.') && !why.to_lowercase().contains("invalid"), "{why}");
    }
    assert_eq!(house.get("/api/v1/recipes").await.json(), json!([]));
}
