//! A device that was let in: what it proves itself with, and how that ends.

use std::time::Duration as Wait;

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use gylebook::store::{IDLE_FOR, LET_IN_FOR, Way};
use http_body_util::BodyExt;
use time::{Duration, OffsetDateTime};

use crate::house::{House, Knock, LAN};

#[tokio::test]
async fn the_cookie_is_for_this_server_alone_and_new_each_time() {
    let house = House::open().await;
    // Somebody planted a cookie in the phone before it was paired.
    let planted = format!("gylebook_device={}", "ab".repeat(32));
    let victim = Knock { cookie: Some(planted.clone()), ..Knock::phone(30) };
    let link = house.invite().await.link;
    let paired = house.pair(&victim, &[("link", &link), ("name", "Kettle phone")]).await;
    assert_ne!(paired.cookie(), planted);
    let set = paired.header("set-cookie").to_owned();
    let attributes: Vec<&str> = set.split("; ").skip(1).collect();
    assert_eq!(attributes, ["HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=34560000"], "{set}");
    let token = paired.cookie().split_once('=').expect("a cookie").1.to_owned();
    assert_eq!(token.len(), 64, "256 bits in hexadecimal digits");
    // What was planted is worth nothing, before and after.
    assert_eq!(house.get(&victim, "/recipes").await.status, StatusCode::UNAUTHORIZED);
    let phone = Knock { cookie: Some(paired.cookie()), ..victim };
    assert_eq!(house.get(&phone, "/recipes").await.status, StatusCode::OK);
    // The file holds no token, only what can't be turned back into one.
    house.store.close().await;
    let file = std::fs::read(house.folder.path().join("book.db")).expect("the file");
    let holds = |needle: &[u8]| file.windows(needle.len()).any(|window| window == needle);
    assert!(!holds(token.as_bytes()) && !holds(link.as_bytes()));
    assert!(holds(b"Kettle phone"), "else the file was not looked at");
}

#[tokio::test]
async fn a_session_outlives_a_restart_and_ends_when_it_is_ended() {
    let house = House::open().await.with_a_batch().await;
    let phone = house.phone("Kettle phone").await;
    let house = house.restarted().await;
    assert_eq!(house.get(&phone, "/recipes").await.status, StatusCode::OK);

    let request = Request::get("/api/v1/batches/1/events").header(header::HOST, LAN);
    let request = request.header(header::COOKIE, phone.cookie.as_deref().unwrap_or_default());
    let stream = house.ask(phone.peer, request.body(Body::empty()).expect("a request")).await;
    assert_eq!(stream.status(), StatusCode::OK);

    let page = house.get(&Knock::owner(), "/settings/devices").await;
    assert!(page.text.contains("Kettle phone"));
    let token = page.token();
    let ended = house.post(&Knock::owner(), "/settings/devices/1/end", &[("form_token", &token)]).await;
    assert_eq!(ended.status, StatusCode::SEE_OTHER);
    assert_eq!(house.get(&phone, "/recipes").await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(house.get(&phone, "/api/v1/batches").await.status, StatusCode::UNAUTHORIZED);
    // What it followed ends with it, though nothing was logged.
    let rest = tokio::time::timeout(Wait::from_secs(10), stream.into_body().collect()).await;
    assert!(rest.is_ok(), "the event stream goes on");
}

#[tokio::test]
async fn all_are_ended_at_once_and_one_can_leave_by_itself() {
    let house = House::open().await;
    let (one, other) = (house.phone("Phone").await, house.phone("Phone").await);
    let names: Vec<_> = house.store.devices(OffsetDateTime::now_utc()).await.expect("devices");
    assert!(names.iter().any(|device| device.name == "Phone 2"), "two of a name can be told apart: {names:?}");
    let token = house.get(&one, "/settings/devices").await.token();
    let left = house.post(&one, "/settings/devices/leave", &[("form_token", &token)]).await;
    assert_eq!((left.status, left.header("location")), (StatusCode::SEE_OTHER, "/pair"));
    assert!(left.header("set-cookie").starts_with("gylebook_device=; "), "{}", left.header("set-cookie"));
    assert!(left.header("set-cookie").contains("Max-Age=0"));
    assert_eq!(house.get(&one, "/recipes").await.status, StatusCode::UNAUTHORIZED, "the old cookie is worth nothing");
    assert_eq!(house.get(&other, "/recipes").await.status, StatusCode::OK);
    let token = house.get(&Knock::owner(), "/settings/devices").await.token();
    house.post(&Knock::owner(), "/settings/devices/end", &[("form_token", &token)]).await;
    assert_eq!(house.get(&other, "/recipes").await.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn a_session_ends_by_itself_unused_or_old() {
    let house = House::open().await;
    let store = &house.store;
    let start = time::macros::datetime!(2026-12-31 23:59:59.5 UTC);
    let link = store.invite(false, start).await.expect("a door").link;
    let token = store.let_in(Way::Link(&link), "Phone", start).await.expect("an answer").expect("let in");
    let just_before = Duration::milliseconds(1);
    let known = async |at: OffsetDateTime| store.device_of(&token, at).await.expect("a look");
    assert!(known(start).await.is_some());
    assert!(known(start + IDLE_FOR - just_before).await.is_some());
    assert_eq!(known(start + IDLE_FOR).await, None, "unused for {IDLE_FOR}");
    // Used again and again it is good until its last day, and not a moment longer.
    let mut at = start;
    while at + Duration::days(60) < start + LET_IN_FOR {
        at += Duration::days(60);
        let device = known(at).await.expect("it is used");
        store.seen(&device, at).await.expect("noted");
    }
    assert!(known(start + LET_IN_FOR - just_before).await.is_some());
    assert_eq!(known(start + LET_IN_FOR).await, None);
    for wrong in ["", "ab", &token[..63], &token.to_uppercase(), &format!("{token}0")] {
        assert_eq!(store.device_of(wrong, start).await.expect("a look"), None, "{wrong}");
    }
}

#[tokio::test]
async fn who_wrote_an_entry_is_told_where_more_than_one_writes() {
    let house = House::open().await.with_a_batch().await;
    let note = |id: u8, words: &str| {
        let at = OffsetDateTime::now_utc().format(&time::format_description::well_known::Rfc3339).expect("a time");
        let id = uuid::Uuid::from_u128(u128::from(id));
        serde_json::json!({ "entries": [{ "id": id, "at": at, "kind": "note", "note": words }] }).to_string()
    };
    let path = "/api/v1/batches/1/entries";
    assert_eq!(house.post_json(&Knock::owner(), path, &note(1, "strike")).await.status, StatusCode::OK);
    assert!(!house.get(&Knock::owner(), "/batches/1").await.text.contains("log__by"), "one writes: nothing to tell");
    let phone = house.phone("Kettle <phone>").await;
    assert_eq!(house.post_json(&phone, path, &note(2, "mash")).await.status, StatusCode::OK);
    let log: serde_json::Value = serde_json::from_str(&house.get(&phone, path).await.text).expect("JSON");
    assert_eq!((&log[0]["device"], &log[1]["device"]), (&serde_json::Value::Null, &"Kettle <phone>".into()));
    let page = house.get(&phone, "/batches/1").await.text;
    assert!(page.contains(r#"<small class="log__by">Kettle &#60;phone&#62;</small>"#), "{page}");
    assert!(page.contains(r#"<small class="log__by">this book’s computer</small>"#));
}

#[tokio::test]
async fn a_device_has_only_so_many_streams_open() {
    let house = House::open().await.with_a_batch().await;
    let phone = house.phone("Phone").await;
    let open = async || {
        let request = Request::get("/api/v1/batches/1/events").header(header::HOST, LAN);
        let request = request.header(header::COOKIE, phone.cookie.as_deref().unwrap_or_default());
        house.ask(phone.peer, request.body(Body::empty()).expect("a request")).await
    };
    let mut streams = Vec::new();
    for _ in 0..12 {
        streams.push(open().await);
        assert_eq!(streams.last().map(|stream| stream.status()), Some(StatusCode::OK));
    }
    assert_eq!(open().await.status(), StatusCode::TOO_MANY_REQUESTS);
    drop(streams);
    for _ in 0..200 {
        if open().await.status() == StatusCode::OK {
            return;
        }
        tokio::time::sleep(Wait::from_millis(20)).await;
    }
    panic!("the places of closed streams are not given back");
}
