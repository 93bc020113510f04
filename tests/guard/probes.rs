//! A probe's token adds temperatures, and does nothing else.

use axum::http::{Method, StatusCode};

use crate::house::{House, Knock};

const READING: &str = r#"{"temperature_c": 64.2, "place": "wort"}"#;
const PATH: &str = "/api/v1/temperature";

fn probe(token: &str) -> Knock {
    Knock::phone(90).with("authorization", &format!("Bearer {token}"))
}

#[tokio::test]
async fn a_probe_posts_temperatures_under_its_name_and_can_do_nothing_else() {
    let house = House::open().await.with_a_batch().await;
    let owner = Knock::owner();
    let form = house.get(&owner, "/settings/devices").await.token();
    let made = house.post(&owner, "/settings/devices/probes", &[("name", "Kettle probe"), ("form_token", &form)]).await;
    assert_eq!(made.status, StatusCode::OK);
    let token = made.text.split_once(r#"<p class="made__token">"#).expect("a token").1;
    let token = token.split('<').next().unwrap_or_default().to_owned();
    assert_eq!(token.len(), 64);
    let listed = house.get(&owner, "/settings/devices").await.text;
    assert!(listed.contains("Kettle probe") && !listed.contains(&token), "it is told once");

    let taken = house.post_json(&probe(&token), PATH, READING).await;
    assert_eq!(taken.status, StatusCode::CREATED, "{}", taken.text);
    let log = house.get(&owner, "/api/v1/batches/1/entries").await.text;
    assert!(log.contains(r#""device":"Kettle probe""#), "{log}");

    for (method, path) in [
        (Method::GET, "/"),
        (Method::GET, "/api/v1/batches"),
        (Method::GET, PATH),
        (Method::POST, "/api/v1/batches/1/entries"),
        (Method::POST, "/api/v1/recipes"),
        (Method::PUT, "/api/v1/recipes/1"),
        (Method::GET, "/settings/devices"),
    ] {
        let answer = house.send(&probe(&token), method.clone(), path, "application/json", "{}").await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{method} {path}");
    }
    // A probe's token is no cookie, and a phone's cookie no probe's token.
    let as_cookie = Knock { cookie: Some(format!("gylebook_device={token}")), ..Knock::phone(90) };
    assert_eq!(house.get(&as_cookie, "/recipes").await.status, StatusCode::UNAUTHORIZED);
    let phone = house.phone("Phone").await.cookie.expect("a cookie");
    let as_token = probe(phone.split_once('=').expect("a value").1);
    assert_eq!(house.post_json(&as_token, PATH, READING).await.status, StatusCode::UNAUTHORIZED);

    house.store.end_devices(Some(1)).await.expect("ended");
    let refused = house.post_json(&probe(&token), PATH, READING).await;
    assert_eq!((refused.status.as_u16(), refused.header("content-type")), (401, "application/problem+json"));
}

#[tokio::test]
async fn what_is_no_token_lets_nobody_in_not_even_the_owner() {
    let house = House::open().await.with_a_batch().await;
    let none = "00".repeat(32);
    for given in ["Bearer", "Bearer ", "Bearer x", "bearer\tx", "Bearerx", &format!("Bearer {none}")] {
        for knock in [Knock::phone(90), Knock::owner()] {
            let answer = house.post_json(&knock.with("authorization", given), PATH, READING).await;
            assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{given:?}");
        }
    }
    // What is meant for somebody else, a proxy say, proves nothing and spoils nothing.
    let other = "Basic Zzo=";
    let phone = house.post_json(&Knock::phone(91).with("authorization", other), PATH, READING).await;
    assert_eq!(phone.status, StatusCode::UNAUTHORIZED);
    let owner = house.post_json(&Knock::owner().with("authorization", other), PATH, READING).await;
    assert_eq!(owner.status, StatusCode::CREATED);
    let twice = probe(&none).with("authorization", &format!("Bearer {none}"));
    assert_eq!(house.post_json(&twice, PATH, READING).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(house.post_json(&Knock::phone(91), PATH, READING).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(house.post_json(&Knock::owner(), PATH, READING).await.status, StatusCode::CREATED);
}
