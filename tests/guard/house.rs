//! A book that is open to the network, and those who knock.

use std::net::SocketAddr;

use axum::{
    Router,
    body::Body,
    extract::ConnectInfo,
    http::{HeaderMap, Method, Request, StatusCode, header},
    response::Response,
};
use gylebook::{
    store::{Invitation, Store},
    web::{App, Options, router},
};
use http_body_util::BodyExt;
use tempfile::TempDir;
use time::OffsetDateTime;
use tower::ServiceExt;

/// Where phones find the book.
pub(crate) const LAN: &str = "192.168.1.20:4710";
/// Where the person at the machine finds it.
pub(crate) const HERE: &str = "localhost:4710";
pub(crate) const FORM: &str = "application/x-www-form-urlencoded";
pub(crate) const HOUSE: &str = "Hidden Yard";
pub(crate) const RECIPE: &str = "Veiled Porter";

/// A book behind the router that serves it to the network.
pub(crate) struct House {
    pub(crate) store: Store,
    pub(crate) folder: TempDir,
    router: Router,
}

/// Whoever asks: from where, under which name, with which headers.
#[derive(Clone)]
pub(crate) struct Knock {
    pub(crate) peer: SocketAddr,
    pub(crate) host: &'static str,
    pub(crate) cookie: Option<String>,
    pub(crate) headers: Vec<(&'static str, String)>,
}

#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) text: String,
}

impl House {
    pub(crate) async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a book");
        let mut settings = store.settings().await.expect("settings");
        (settings.house, settings.welcomed) = (HOUSE.into(), true);
        store.save_settings(&settings).await.expect("saved");
        Self { router: served(&store), store, folder }
    }

    /// The same book after the server was stopped and started again.
    pub(crate) async fn restarted(self) -> Self {
        self.store.close().await;
        let store = Store::open(self.folder.path().join("book.db")).await.expect("the same book");
        Self { router: served(&store), store, folder: self.folder }
    }

    /// The same book with a recipe and a batch in it.
    pub(crate) async fn with_a_batch(self) -> Self {
        let recipe = serde_json::json!({
            "name": RECIPE, "volume_l": 20.0, "boil_min": 60.0,
            "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0,
            "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81.0, "moisture_pct": 4.5,
                "colour_ebc": 6.0, "use": "mash"}],
        });
        let owner = Knock::owner();
        for (path, body) in [("/api/v1/recipes", recipe), ("/api/v1/batches", serde_json::json!({ "recipe": 1 }))] {
            let answer = self.post_json(&owner, path, &body.to_string()).await;
            assert_eq!(answer.status, StatusCode::CREATED, "{}", answer.text);
        }
        self
    }

    pub(crate) async fn invite(&self) -> Invitation {
        self.store.invite(true, OffsetDateTime::now_utc()).await.expect("an open door")
    }

    /// A phone that was let in.
    pub(crate) async fn phone(&self, name: &str) -> Knock {
        let link = self.invite().await.link;
        let phone = Knock::phone(30);
        let paired = self.pair(&phone, &[("link", &link), ("name", name)]).await;
        assert_eq!(paired.status, StatusCode::SEE_OTHER, "{}", paired.text);
        Knock { cookie: Some(paired.cookie()), ..phone }
    }

    /// Sends the pairing page's own form.
    pub(crate) async fn pair(&self, who: &Knock, fields: &[(&str, &str)]) -> Answer {
        let token = self.get(who, "/pair").await.token();
        self.post(who, "/pair", &[fields, &[("form_token", &token)]].concat()).await
    }

    pub(crate) async fn get(&self, who: &Knock, path: &str) -> Answer {
        self.send(who, Method::GET, path, "", "").await
    }

    pub(crate) async fn post(&self, who: &Knock, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let who = who.clone().with("origin", &format!("http://{}", who.host));
        self.send(&who, Method::POST, path, FORM, &body).await
    }

    pub(crate) async fn post_json(&self, who: &Knock, path: &str, body: &str) -> Answer {
        self.send(who, Method::POST, path, "application/json", body).await
    }

    pub(crate) async fn send(&self, who: &Knock, method: Method, path: &str, kind: &str, body: &str) -> Answer {
        let mut request = Request::builder().method(method).uri(path).header(header::HOST, who.host);
        if !kind.is_empty() {
            request = request.header(header::CONTENT_TYPE, kind);
        }
        if let Some(cookie) = &who.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        for (name, value) in &who.headers {
            request = request.header(*name, value);
        }
        self.answer(who.peer, request.body(Body::from(body.to_owned())).expect("a request")).await
    }

    pub(crate) async fn answer(&self, peer: SocketAddr, request: Request<Body>) -> Answer {
        let (parts, body) = self.ask(peer, request).await.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Answer { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    pub(crate) async fn ask(&self, peer: SocketAddr, mut request: Request<Body>) -> Response {
        request.extensions_mut().insert(ConnectInfo(peer));
        self.router.clone().oneshot(request).await.expect("an answer")
    }
}

fn served(store: &Store) -> Router {
    let options = Options { lan: true, address: Some(format!("http://{LAN}")), ..Options::default() };
    router(App::new(store.clone(), options))
}

impl Knock {
    /// The person at the machine.
    pub(crate) fn owner() -> Self {
        Self { peer: ([127, 0, 0, 1], 50_000).into(), host: HERE, cookie: None, headers: Vec::new() }
    }

    /// Another machine on the network.
    pub(crate) fn phone(number: u8) -> Self {
        Self { peer: ([192, 168, 1, number], 50_000).into(), host: LAN, ..Self::owner() }
    }

    pub(crate) fn with(mut self, name: &'static str, value: &str) -> Self {
        self.headers.push((name, value.to_owned()));
        self
    }
}

impl Answer {
    /// The cookie that was set, as a browser sends it back.
    pub(crate) fn cookie(&self) -> String {
        self.header("set-cookie").split(';').next().unwrap_or_default().to_owned()
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
    }

    /// The token in the page's first form that posts, without the form's own key.
    pub(crate) fn token(&self) -> String {
        let rest = self.text.split_once(r#"name="form_token" value=""#).expect("a form with its token").1;
        rest.split(['"', '.']).next().unwrap_or_default().to_owned()
    }
}
