//! The one way in: a link that works once, a code that can't be guessed.

use axum::http::StatusCode;
use gylebook::store::{NotLetIn, OPEN_FOR, TRIES, Way};
use time::{Duration, OffsetDateTime};

use crate::house::{House, Knock};

#[tokio::test]
async fn opening_the_link_changes_nothing_and_its_button_uses_it_up() {
    let house = House::open().await;
    let (phone, link) = (Knock::phone(30), house.invite().await.link);
    let path = format!("/pair/{link}");
    for _ in 0..3 {
        let page = house.get(&phone, &path).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.text.contains(&format!(r#"name="link" value="{link}""#)));
        assert_eq!(page.header("referrer-policy"), "origin", "the link is not told on");
        assert_eq!(page.header("cache-control"), "no-store");
        assert!(page.header("set-cookie").is_empty());
    }
    assert_eq!(house.store.devices(OffsetDateTime::now_utc()).await.expect("devices"), []);
    let paired = house.pair(&phone, &[("link", &link), ("name", "Kettle phone")]).await;
    assert_eq!((paired.status, paired.header("location")), (StatusCode::SEE_OTHER, "/"));
    let again = house.pair(&Knock::phone(31), &[("link", &link), ("name", "Second")]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.header("set-cookie").is_empty());
    assert!(house.get(&phone, &path).await.text.contains("This way in is closed"));
    let devices = house.store.devices(OffsetDateTime::now_utc()).await.expect("devices");
    assert_eq!(devices.iter().map(|device| device.name.as_str()).collect::<Vec<_>>(), ["Kettle phone"]);
}

#[tokio::test]
async fn a_code_works_once_with_or_without_its_gap() {
    let house = House::open().await;
    let code = house.invite().await.code.expect("a code");
    let spaced = format!(" {} {}", &code[..3], &code[3..]);
    let paired = house.pair(&Knock::phone(30), &[("code", &spaced), ("name", "")]).await;
    assert_eq!(paired.status, StatusCode::SEE_OTHER, "{}", paired.text);
    let again = house.pair(&Knock::phone(31), &[("code", &code)]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// A button tapped twice: the browser drops the first answer, and the cookie with it.
#[tokio::test]
async fn the_same_form_again_is_let_in_as_the_same_device() {
    let house = House::open().await;
    let code = house.invite().await.code.expect("a code");
    let phone = Knock::phone(30);
    let seal = house.get(&phone, "/pair").await.token();
    let (form, other) = (format!("{seal}.one"), format!("{seal}.two"));
    let fields = [("code", code.as_str()), ("name", "Kettle phone"), ("form_token", &form)];
    let first = house.post(&phone, "/pair", &fields).await;
    let house = house.restarted().await;
    let again = house.post(&phone, "/pair", &fields).await;
    assert_eq!((first.status, again.status), (StatusCode::SEE_OTHER, StatusCode::SEE_OTHER));
    assert_eq!(first.cookie(), again.cookie());
    let devices = || async { house.store.devices(OffsetDateTime::now_utc()).await.expect("devices") };
    assert_eq!(devices().await.len(), 1);
    // Another form has no part in it, and what was ended stays ended.
    let stranger = [fields[0], fields[1], ("form_token", other.as_str())];
    assert_eq!(house.post(&Knock::phone(31), "/pair", &stranger).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    house.store.end_devices(None).await.expect("ended");
    let late = house.post(&phone, "/pair", &fields).await;
    let back = Knock { cookie: Some(late.cookie()), ..phone.clone() };
    assert_eq!(house.get(&back, "/").await.status, StatusCode::UNAUTHORIZED);
    assert!(devices().await.is_empty());
}

#[tokio::test]
async fn a_way_in_is_open_for_ten_minutes_over_midnight_too() {
    let house = House::open().await;
    let store = &house.store;
    let opened = time::macros::datetime!(2026-03-07 23:55:00 UTC);
    let closes = opened + OPEN_FOR;
    assert_eq!(OPEN_FOR, Duration::minutes(10));
    for way in ["link", "code"] {
        for (at, wanted) in [(closes, false), (closes - Duration::milliseconds(1), true)] {
            let invitation = store.invite(true, opened).await.expect("an open door");
            let code = invitation.code.expect("a code");
            let way = if way == "link" { Way::Link(&invitation.link) } else { Way::Code(&code) };
            assert_eq!(store.is_invited(&invitation.link, at).await.expect("a look"), wanted);
            let let_in = store.let_in(way, "Phone", at).await.expect("an answer");
            assert_eq!(let_in.is_ok(), wanted, "{way:?} at {at}");
        }
    }
}

#[tokio::test]
async fn a_new_way_in_takes_the_place_of_the_last() {
    let house = House::open().await;
    let (first, second) = (house.invite().await, house.invite().await);
    let now = OffsetDateTime::now_utc();
    assert_eq!(house.store.let_in(Way::Link(&first.link), "a", now).await.expect("an answer"), Err(NotLetIn::Closed));
    assert!(house.store.let_in(Way::Link(&second.link), "b", now).await.expect("an answer").is_ok());
    house.invite().await;
    house.store.close_door().await.expect("closed");
    assert_eq!(house.store.open_door(now).await.expect("a look"), None);
}

#[tokio::test]
async fn five_wrong_codes_burn_a_code_and_the_link_still_works() {
    let house = House::open().await;
    let invitation = house.invite().await;
    let code = invitation.code.clone().expect("a code");
    for left in (0..TRIES).rev() {
        let answer = house.pair(&Knock::phone(30), &[("code", &wrong(&code, left))]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        let told = match left {
            0 => "five times now".to_owned(),
            1 => "One try is left".into(),
            left => format!("{left} tries are left"),
        };
        assert!(answer.text.contains(&told), "{told}: {}", answer.text);
    }
    let right = house.pair(&Knock::phone(30), &[("code", &code)]).await;
    assert_eq!(right.status, StatusCode::UNPROCESSABLE_ENTITY, "burnt is burnt");
    let by_link = house.pair(&Knock::phone(31), &[("link", &invitation.link)]).await;
    assert_eq!(by_link.status, StatusCode::SEE_OTHER);
}

/// Ten thousand guesses from as many addresses as a guesser could want, with a
/// new code every hundred and a restart every thousand: nobody gets in by one.
#[tokio::test]
async fn ten_thousand_guesses_with_restarts_let_nobody_in() {
    let mut house = House::open().await;
    let (mut looked_at, mut held, mut invitation) = (0, 0, house.invite().await);
    for number in 0..10_000_i64 {
        if number % 1000 == 999 {
            house = house.restarted().await;
        }
        if number % 100 == 0 {
            invitation = house.invite().await;
        }
        let code = invitation.code.as_deref().expect("a code");
        // Every tenth guess is right: after five wrong ones even that is no way in.
        let guess = if number % 10 == 9 { code.to_owned() } else { wrong(code, number) };
        let peer = ([10, 0, (number / 250 % 250) as u8, (number % 250) as u8], 50_000).into();
        let guesser = Knock { peer, ..Knock::phone(0) };
        let token = house.store.form_token("stranger");
        let answer = house.post(&guesser, "/pair", &[("code", &guess), ("form_token", &token)]).await;
        match answer.status {
            StatusCode::UNPROCESSABLE_ENTITY => looked_at += 1,
            StatusCode::TOO_MANY_REQUESTS => held += 1,
            other => panic!("guess {number}: {other}"),
        }
    }
    let now = OffsetDateTime::now_utc();
    assert_eq!(house.store.devices(now).await.expect("devices"), []);
    assert!(held > 9000 && looked_at < 1000, "{looked_at} looked at, {held} held up");
    // The owner gets in as ever, and lets a phone in while codes are still held up.
    assert_eq!(house.get(&Knock::owner(), "/recipes").await.status, StatusCode::OK);
    assert_eq!(house.get(&Knock::owner(), "/settings/devices").await.status, StatusCode::OK);
    let phone = house.phone("Kettle phone").await;
    assert_eq!(house.get(&phone, "/recipes").await.status, StatusCode::OK);
}

#[tokio::test]
async fn one_guesser_is_slowed_before_any_code_is_burnt_for_long() {
    let house = House::open().await;
    house.invite().await;
    let token = house.store.form_token("stranger");
    let mut slowed = 0;
    for _ in 0..100 {
        let answer = house.post(&Knock::phone(66), "/pair", &[("code", "000000"), ("form_token", &token)]).await;
        slowed += usize::from(answer.status == StatusCode::TOO_MANY_REQUESTS);
    }
    assert!(slowed >= 85, "{slowed}");
}

#[tokio::test]
async fn wrong_codes_in_a_row_hold_up_codes_for_five_minutes_only() {
    let house = House::open().await;
    let store = &house.store;
    let now = OffsetDateTime::now_utc();
    let mut last = None;
    for _ in 0..2 {
        let code = store.invite(true, now).await.expect("a door").code.expect("a code");
        for number in 0..TRIES {
            last = store.let_in(Way::Code(&wrong(&code, number)), "x", now).await.expect("an answer").err();
        }
    }
    let until = now + Duration::minutes(5);
    assert!(matches!(last, Some(NotLetIn::Held(at)) if (at - until).abs() < Duration::seconds(1)), "{last:?}");
    let soon = until - Duration::seconds(2);
    let code = store.invite(true, soon).await.expect("a door").code.expect("a code");
    let refused = store.let_in(Way::Code(&code), "x", soon).await.expect("an answer");
    assert!(matches!(refused, Err(NotLetIn::Held(_))), "the right one too: {refused:?}");
    let later = until + Duration::seconds(1);
    assert!(store.let_in(Way::Code(&code), "x", later).await.expect("an answer").is_ok());
}

/// A code that is not this one.
fn wrong(code: &str, number: i64) -> String {
    let right: i64 = code.parse().expect("digits");
    format!("{:06}", (right + 1 + number % 999_998) % 1_000_000)
}
