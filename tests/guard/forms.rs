//! A form counts for whom it was shown to, and what was typed is never lost.

use axum::http::{Method, StatusCode};

use crate::house::{FORM, HERE, HOUSE, House, Knock};

const TYPED: [(&str, &str); 7] = [
    ("house", "Long <Yard> & Sons"),
    ("units.temperature", "celsius"),
    ("units.volume", "litres"),
    ("units.mass", "metric"),
    ("units.gravity", "sg"),
    ("units.colour", "ebc"),
    ("time_zone", ""),
];

fn with_token(token: &str) -> Vec<(&'static str, &str)> {
    TYPED.iter().copied().chain([("form_token", token)]).collect()
}

#[tokio::test]
async fn every_form_that_posts_carries_the_token_of_whom_it_was_shown_to() {
    let house = House::open().await.with_a_batch().await;
    let phone = house.phone("Phone").await;
    for path in [
        "/settings",
        "/settings/devices",
        "/recipes/new",
        "/batches/1/chill",
        "/batches/1/mash",
        "/equipment/new?kind=kettle",
    ] {
        let (ours, theirs) = (house.get(&Knock::owner(), path).await, house.get(&phone, path).await);
        for page in [&ours, &theirs] {
            assert_eq!(page.status, StatusCode::OK, "{path}");
            let forms = page.text.matches(r#"method="post""#).count();
            let tokens = page.text.matches(&format!(r#"name="form_token" value="{}."#, page.token())).count();
            assert!(forms > 0 && forms == tokens, "{path}: {forms} forms, {tokens} tokens");
        }
        assert_ne!(ours.token(), theirs.token(), "{path}");
    }
    // A form that only asks has nothing to prove.
    let asking = house.get(&Knock::owner(), "/recipes").await.text;
    let search = asking.split_once(r#"role="search""#).expect("a search").1;
    assert!(!search.split("</form>").next().unwrap_or_default().contains("form_token"));
}

#[tokio::test]
async fn without_its_token_a_form_changes_nothing_and_comes_back_whole() {
    let house = House::open().await;
    let (phone, other) = (house.phone("Phone").await, house.phone("Tablet").await);
    let theirs = house.get(&other, "/settings").await.token();
    let own = house.get(&phone, "/settings").await.token();
    let broken = format!("{}0", &own[..63]);
    for token in ["", "nonsense", "ab", &theirs, &broken] {
        if token == own {
            continue;
        }
        let answer = house.post(&phone, "/settings", &with_token(token)).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{token}");
        assert!(answer.text.contains("<dd>Long &#60;Yard&#62; &#38; Sons</dd>"), "{}", answer.text);
        assert!(answer.text.contains(r#"name="units.gravity" value="sg""#));
        assert_eq!(answer.token(), own, "it comes back with one that counts");
    }
    let missing = house.post(&phone, "/settings", &TYPED).await;
    assert_eq!(missing.status, StatusCode::FORBIDDEN);
    let twice = [with_token(&own), vec![("form_token", own.as_str())]].concat();
    assert_eq!(house.post(&phone, "/settings", &twice).await.status, StatusCode::FORBIDDEN);
    assert_eq!(house.store.settings().await.expect("settings").house, HOUSE, "nothing was changed");
    // One press on what came back keeps it.
    let kept = house.post(&phone, "/settings", &with_token(&missing.token())).await;
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text);
    assert_eq!(house.store.settings().await.expect("settings").house, "Long <Yard> & Sons");
    // Whatever is no form at all has no token either.
    for (kind, body) in [("text/plain", "house=Mine"), ("application/json", "{}"), ("", "")] {
        let phone = phone.clone().with("origin", "http://192.168.1.20:4710");
        let answer = house.send(&phone, Method::POST, "/settings/devices/end", kind, body).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{kind}");
    }
}

#[tokio::test]
async fn a_form_left_open_counts_after_a_restart_and_after_pairing_anew_it_comes_back() {
    let house = House::open().await;
    let phone = house.phone("Phone").await;
    let open = house.get(&phone, "/settings").await.token();
    let house = house.restarted().await;
    assert_eq!(house.post(&phone, "/settings", &with_token(&open)).await.status, StatusCode::SEE_OTHER);

    house.store.end_devices(None).await.expect("ended");
    let refused = house.post(&phone, "/settings", &with_token(&open)).await;
    assert_eq!(refused.status, StatusCode::UNAUTHORIZED, "the outbox keeps what is refused so");
    let again = house.phone("Phone").await;
    let stale = house.post(&again, "/settings", &with_token(&open)).await;
    assert_eq!(stale.status, StatusCode::FORBIDDEN);
    assert!(stale.text.contains("data-again"), "the outbox takes the token from here");
    assert_eq!(house.post(&again, "/settings", &with_token(&stale.token())).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_form_with_a_file_proves_itself_by_its_first_part() {
    let house = House::open().await;
    let token = house.get(&Knock::owner(), "/settings").await.token();
    let owner = Knock::owner().with("origin", &format!("http://{HERE}"));
    let body = |token: &str| {
        format!(
            "--q\r\nContent-Disposition: form-data; name=\"form_token\"\r\n\r\n{token}\r\n\
             --q\r\nContent-Disposition: form-data; name=\"house\"\r\n\r\nMine\r\n--q--\r\n"
        )
    };
    let kind = "multipart/form-data; boundary=q";
    let wrong = house.send(&owner, Method::POST, "/settings", kind, &body("wrong")).await;
    assert_eq!(wrong.status, StatusCode::FORBIDDEN);
    // The right one comes as far as the page, which takes no files.
    let right = house.send(&owner, Method::POST, "/settings", kind, &body(&token)).await;
    assert_eq!(right.status, StatusCode::UNSUPPORTED_MEDIA_TYPE);
}

#[tokio::test]
async fn a_file_sent_twice_is_brought_once() {
    let house = House::open().await.with_a_batch().await;
    let owner = Knock::owner().with("origin", &format!("http://{HERE}"));
    let seal = house.get(&owner, "/settings").await.token();
    let mut wheres = Vec::new();
    // A browser makes a new boundary each time; the last is another file under the same key.
    for (boundary, readings) in [("q1", "10:00;66"), ("q2", "10:00;66"), ("q3", "10:00;67")] {
        let body = format!(
            "--{boundary}\r\nContent-Disposition: form-data; name=\"form_token\"\r\n\r\n{seal}.key\r\n\
             --{boundary}\r\nContent-Disposition: form-data; name=\"pasted\"\r\n\r\ntime;wort\n{readings}\r\n--{boundary}--\r\n"
        );
        let kind = format!("multipart/form-data; boundary={boundary}");
        let brought = house.send(&owner, Method::POST, "/batches/1/readings/import", &kind, &body).await;
        assert_eq!(brought.status, StatusCode::SEE_OTHER, "{}", brought.text);
        wheres.push(brought.header("location").to_owned());
    }
    assert_eq!(wheres[0], wheres[1]);
    assert_ne!(wheres[0], wheres[2]);
    assert_eq!(house.store.log_files(1).await.expect("files").len(), 2);
}

#[tokio::test]
async fn more_than_a_form_can_be_is_refused() {
    let house = House::open().await;
    let token = house.store.form_token("stranger");
    let much = "x".repeat(5000);
    let stranger = house.post(&Knock::phone(30), "/pair", &[("form_token", &token), ("name", &much)]).await;
    assert_eq!(stranger.status, StatusCode::PAYLOAD_TOO_LARGE);
    let body = format!("form_token={}&house={}", house.store.form_token("owner"), "x".repeat(1024 * 1024));
    let owner = Knock::owner().with("origin", &format!("http://{HERE}"));
    let answer = house.send(&owner, Method::POST, "/settings", FORM, &body).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
}
