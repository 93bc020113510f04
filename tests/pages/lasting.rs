//! Pages that are made once and taken from the shelf until the book is written again.

use axum::{
    Router,
    body::Body,
    http::{Request, header},
};
use gylebook::{
    brewday::Entry,
    demo,
    store::Store,
    web::{App, Options, Wall, router},
};
use http_body_util::BodyExt;
use serde_json::json;
use time::{Duration, OffsetDateTime};
use tower::ServiceExt;
use uuid::Uuid;

const PAGES: [&str; 5] =
    ["/batches/1", "/batches/1?log=2", "/?sort=abv_pct", "/compare?batch=1&batch=2", "/api/v1/batches/1"];

struct House {
    store: Store,
    wall: Wall,
    router: Router,
    _folder: tempfile::TempDir,
}

impl House {
    async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a fresh book");
        demo::fill(&store, OffsetDateTime::now_utc()).await.expect("filled");
        let wall = Wall::default();
        let router = router(App::new(store.clone(), Options::default()).by(wall.clone()));
        Self { store, wall, router, _folder: folder }
    }

    async fn get(&self, path: &str, light: &str) -> String {
        let request = Request::get(path)
            .header(header::HOST, "127.0.0.1:4710")
            .header(header::COOKIE, format!("gylebook_light={light}"))
            .body(Body::empty());
        let response = self.router.clone().oneshot(request.expect("a request")).await.expect("an answer");
        assert_eq!(response.status(), 200, "{path}");
        let body = response.into_body().collect().await.expect("a body").to_bytes();
        String::from_utf8(body.to_vec()).expect("text")
    }

    async fn note(&self, words: &str) {
        let now = self.wall.now();
        let body = json!({"id": Uuid::new_v4(), "at": "2026-03-07T12:00:00Z", "kind": "note", "note": words});
        let note = Entry::from_body(&body, now, Duration::ZERO).expect("a sound note");
        self.store.append(Some(1), vec![note], None, now).await.expect("kept").expect("a batch");
    }
}

/// The moment a page says it was made, and the page without it and without what its forms are known by.
fn made_at(page: &str) -> (Option<OffsetDateTime>, String) {
    let mut pieces = page.split("name=\"form_token\" value=\"");
    let mut rest = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        rest += piece.split_once('"').expect("the token ends").1;
    }
    let Some((before, after)) = rest.split_once("data-now=\"") else { return (None, rest) };
    let (at, after) = after.split_once('"').expect("the attribute ends");
    let at = OffsetDateTime::parse(at, &time::format_description::well_known::Rfc3339).expect("a time");
    (Some(at), format!("{before}{after}"))
}

/// What is on the shelf is given out on any later day: made then, the page has to say the same.
#[tokio::test]
async fn a_lasting_page_says_the_same_two_years_later_but_for_the_moment() {
    let house = House::open().await;
    let mut before = Vec::new();
    for path in PAGES {
        before.push(house.get(path, "device").await);
    }
    house.wall.turn(Duration::days(731));
    let taken_from_the_shelf = house.get(PAGES[0], "device").await;
    // A write that changes none of them empties the shelf.
    house.store.ready().await.expect("written");
    for (path, before) in PAGES.iter().zip(before) {
        let (then, before) = made_at(&before);
        let (now, after) = made_at(&house.get(path, "device").await);
        assert_eq!(before, after, "{path}");
        if let Some((then, now)) = then.zip(now) {
            assert!((now - then - Duration::days(731)).abs() < Duration::minutes(5), "{path}");
        }
    }
    let (now, page) = made_at(&taken_from_the_shelf);
    assert_eq!(page, made_at(&house.get(PAGES[0], "device").await).1);
    assert!(
        (now.expect("a moment") - house.wall.now()).abs() < Duration::minutes(5),
        "the shelf tells the time as well"
    );
}

#[tokio::test]
async fn what_was_just_saved_is_on_the_next_page_and_each_light_has_its_own() {
    let house = House::open().await;
    for turn in 0..20 {
        let words = format!("Remark {turn}");
        assert!(!house.get("/batches/1?log=all", "dim").await.contains(&format!("{words}<")));
        house.note(&words).await;
        assert!(house.get("/batches/1?log=all", "dim").await.contains(&format!("{words}<")), "{words}");
    }
    let (dim, bright) = (house.get("/batches/1", "dim").await, house.get("/batches/1", "bright").await);
    assert!(dim.contains(r#"data-light="dim""#) && bright.contains(r#"data-light="bright""#));
    assert!(house.get("/batches/1", "dim").await.contains(r#"data-light="dim""#));
}

/// Two phones that open one page must not hold one form between them.
#[tokio::test]
async fn a_form_taken_from_the_shelf_twice_is_two_forms() {
    let house = House::open().await;
    let token = async || {
        let page = house.get("/batches/1", "device").await;
        let (_, after) = page.split_once("name=\"form_token\" value=\"").expect("a form");
        after.split_once('"').expect("the token ends").0.to_owned()
    };
    assert_ne!(token().await, token().await);
}
