//! What somebody on the network sees who was not let in: that there is a book.

use axum::http::{Method, StatusCode};

use crate::house::{HERE, HOUSE, House, Knock, LAN, RECIPE};
use crate::routes;

/// What anybody may ask for.
const OPEN: [(&str, &str); 5] =
    [("/pair", "GET"), ("/pair/1", "GET"), ("/pair", "POST"), ("/healthz", "GET"), ("/static/1/1", "GET")];

#[tokio::test]
async fn nothing_of_the_book_is_shown() {
    let house = House::open().await.with_a_batch().await;
    let routes = routes::all(&house).await;
    let ways = ["GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"];
    let mut paths: Vec<&str> = routes.iter().map(|(path, _)| path.as_str()).collect();
    paths.extend(["/nowhere", "/api/v1/nowhere", "/static/../recipes", "//", "/pair/../", "/%2e%2e/"]);
    paths.dedup();
    for (number, path) in paths.iter().enumerate() {
        for method in ways {
            // Each from an address of its own, so that none is refused for its pace.
            let stranger = Knock::phone(u8::try_from(number % 200).expect("small"));
            let stranger = stranger.with("origin", &format!("http://{LAN}"));
            let kind = if path.starts_with("/api/") { "application/json" } else { crate::house::FORM };
            let answer = house.send(&stranger, method.parse().expect("a method"), path, kind, "").await;
            let asked = if method == "HEAD" { "GET" } else { method };
            let is_open = OPEN.iter().any(|(open, by)| open == path && *by == asked)
                || (path.starts_with("/pair/") || path.starts_with("/static/")) && asked == "GET";
            if !is_open && method != "OPTIONS" {
                assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{method} {path}");
                assert!(answer.header("www-authenticate").starts_with("Bearer"), "{method} {path}");
            }
            for secret in [HOUSE, RECIPE, "Pale malt"] {
                assert!(!answer.text.contains(secret), "{method} {path} tells {secret}");
            }
            assert_eq!(answer.header("x-content-type-options"), "nosniff", "{method} {path}");
            assert!(answer.header("access-control-allow-origin").is_empty(), "{method} {path}");
        }
    }
    // A script is told in its own way.
    let problem = house.get(&Knock::phone(201), "/api/v1/batches").await;
    assert_eq!((problem.status.as_u16(), problem.header("content-type")), (401, "application/problem+json"));
    let body: serde_json::Value = serde_json::from_str(&problem.text).expect("JSON");
    assert_eq!((&body["status"], &body["title"]), (&401.into(), &"Unauthorized".into()));
    // What is refused to a stranger is there for the owner.
    assert!(house.get(&Knock::owner(), "/").await.text.contains(RECIPE));
}

#[tokio::test]
async fn only_the_person_at_the_machine_is_the_owner() {
    let house = House::open().await;
    let owner = Knock::owner();
    assert_eq!(house.get(&owner, "/recipes").await.status, StatusCode::OK);
    let v6 = Knock { peer: "[::1]:50000".parse().expect("an address"), host: "[::1]:4710", ..owner.clone() };
    let mapped = Knock { peer: "[::ffff:127.0.0.1]:50000".parse().expect("an address"), ..owner.clone() };
    for knock in [v6, mapped] {
        assert_eq!(house.get(&knock, "/recipes").await.status, StatusCode::OK, "{}", knock.peer);
    }
    let strangers = [
        ("from the network under a loopback name", Knock { host: HERE, ..Knock::phone(30) }),
        ("from here under the network's address", Knock { host: LAN, ..owner.clone() }),
        ("through a proxy here", owner.clone().with("x-forwarded-for", "192.168.1.30")),
        ("through another proxy here", owner.clone().with("forwarded", "for=192.168.1.30")),
        ("through a third", owner.clone().with("via", "1.1 proxy")),
    ];
    for (who, knock) in strangers {
        assert_eq!(house.get(&knock, "/recipes").await.status, StatusCode::UNAUTHORIZED, "{who}");
    }
}

#[tokio::test]
async fn health_tells_a_stranger_that_it_runs_and_nothing_else() {
    let house = House::open().await;
    let answer = house.get(&Knock::phone(30), "/healthz").await;
    assert_eq!((answer.status, answer.text.as_str()), (StatusCode::OK, "ok\n"));
    house.store.close().await;
    let answer = house.get(&Knock::phone(30), "/healthz").await;
    assert_eq!(answer.status, StatusCode::SERVICE_UNAVAILABLE);
    assert!(!answer.text.contains("disk"), "{}", answer.text);
}

#[tokio::test]
async fn one_that_asks_too_fast_is_slowed_and_nobody_else_is() {
    let house = House::open().await;
    let fast = Knock::phone(66);
    let mut refused = None;
    for _ in 0..2000 {
        let answer = house.send(&fast, Method::GET, "/static/1/none", "", "").await;
        if answer.status == StatusCode::TOO_MANY_REQUESTS {
            refused = Some(answer);
            break;
        }
    }
    let refused = refused.expect("two thousand at once are too many");
    assert_eq!(refused.header("retry-after"), "10");
    assert_eq!(house.get(&Knock::phone(30), "/pair").await.status, StatusCode::OK);
    for _ in 0..600 {
        let answer = house.get(&Knock::owner(), "/static/1/none").await;
        assert_ne!(answer.status, StatusCode::TOO_MANY_REQUESTS);
    }
}
