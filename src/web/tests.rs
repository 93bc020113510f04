//! The shell as a browser, a script and a stranger meet it.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
    response::Response,
    routing::get,
};
use http_body_util::BodyExt;
use scraper::{Html, Selector};
use tempfile::TempDir;
use tower::ServiceExt;

use super::*;
use crate::brewday::Fault;

const HOST: &str = "192.168.1.20:4710";
const FORM: &str = "application/x-www-form-urlencoded";
const CHOSEN: &str = "units.temperature=fahrenheit&units.volume=us_gallons&units.mass=avoirdupois&\
                      units.gravity=plato&units.colour=srm&house=Yard&time_zone=Europe%2FBerlin&altitude_m=1000";

struct House {
    router: Router,
    store: Store,
    _folder: TempDir,
}

struct Answer {
    status: StatusCode,
    headers: axum::http::HeaderMap,
    text: String,
}

impl House {
    async fn new() -> Self {
        Self::with(Router::new()).await
    }

    async fn with(more: Router<App>) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a book");
        let app = App::new(store.clone(), Options::default());
        Self { router: guarded(routes().merge(more), &app).with_state(app), store, _folder: folder }
    }

    async fn answer(&self, request: Request<Body>) -> Answer {
        let response: Response = self.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Answer { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    async fn get(&self, path: &str) -> Answer {
        self.answer(asked("GET", path).body(Body::empty()).expect("a request")).await
    }

    async fn post(&self, path: &str, form: &str) -> Answer {
        let form = format!("{}={}&{form}", guard::form_token::FIELD, self.store.form_token("owner"));
        let request = asked("POST", path)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, FORM)
            .body(Body::from(form));
        self.answer(request.expect("a request")).await
    }
}

impl Answer {
    fn header(&self, name: impl header::AsHeaderName) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
    }

    fn select(&self, selector: &str) -> Vec<String> {
        let page = Html::parse_document(&self.text);
        let selector = Selector::parse(selector).expect("a selector");
        page.select(&selector).map(|element| element.text().collect::<String>().trim().to_owned()).collect()
    }

    fn attribute(&self, selector: &str, name: &str) -> Option<String> {
        let page = Html::parse_document(&self.text);
        let selector = Selector::parse(selector).expect("a selector");
        page.select(&selector).next()?.value().attr(name).map(str::to_owned)
    }
}

fn asked(method: &str, path: &str) -> axum::http::request::Builder {
    Request::builder().method(method).uri(path).header(header::HOST, HOST)
}

#[tokio::test]
async fn every_answer_carries_the_guards_headers() {
    let house = House::new().await;
    let stranger = Request::builder().uri("/").header(header::HOST, "evil.example").body(Body::empty());
    let forged = asked("POST", "/settings").header(header::CONTENT_TYPE, FORM).body(Body::from("house=Mine"));
    let answers = [
        (StatusCode::SEE_OTHER, house.get("/").await),
        (StatusCode::OK, house.get("/welcome").await),
        (StatusCode::OK, house.get("/healthz").await),
        (StatusCode::OK, house.get(&assets::address("base.css")).await),
        (StatusCode::NOT_FOUND, house.get("/static/0/none.css").await),
        (StatusCode::NOT_FOUND, house.get("/nowhere").await),
        (StatusCode::METHOD_NOT_ALLOWED, house.post("/", "").await),
        (StatusCode::UNPROCESSABLE_ENTITY, house.post("/settings", "").await),
        (StatusCode::MISDIRECTED_REQUEST, house.answer(stranger.expect("a request")).await),
        (StatusCode::FORBIDDEN, house.answer(forged.expect("a request")).await),
    ];
    for (status, answer) in answers {
        assert_eq!(answer.status, status);
        let policy = answer.header("content-security-policy");
        assert!(policy.starts_with("default-src 'none';") && policy.contains("frame-ancestors 'none'"), "{status}");
        assert!(!policy.contains("unsafe"), "{status}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{status}");
        assert_eq!(answer.header("referrer-policy"), "same-origin", "{status}");
        assert!(["no-store", "no-cache"].contains(&answer.header("cache-control")), "{status}");
        // Whatever is text says how it is written; a redirect is empty.
        let kind = answer.header("content-type");
        assert!(status == StatusCode::SEE_OTHER || kind.ends_with("charset=utf-8"), "{status}: {kind}");
    }
    assert_eq!(house.store.settings().await.expect("settings").house, "Brew house", "the forged form changed nothing");
}

#[tokio::test]
async fn a_newcomer_chooses_units_first_and_then_meets_the_book() {
    let house = House::new().await;
    assert_eq!(house.get("/").await.header(header::LOCATION), "/welcome");
    let welcome = house.get("/welcome").await;
    assert_eq!(welcome.select("h1"), ["Which units do you brew in?"]);
    assert_eq!(welcome.attribute("input[name='units.temperature'][checked]", "value").as_deref(), Some("celsius"));

    let chosen = house.post("/welcome", CHOSEN).await;
    assert_eq!((chosen.status, chosen.header(header::LOCATION)), (StatusCode::SEE_OTHER, "/welcome/equipment"));
    assert_eq!(house.get("/").await.status, StatusCode::OK);
    let settings = house.store.settings().await.expect("settings");
    assert!(settings.welcomed);
    assert_eq!(settings.house, "Yard");
    assert_eq!(settings.time_zone.as_deref(), Some("Europe/Berlin"));
    // The field stood in metres when it was typed, whatever units were chosen beside it.
    assert_eq!(settings.altitude_m, Some(1000.0));
    let page = house.get("/settings").await;
    assert_eq!(page.attribute("input[name='units.volume'][checked]", "value").as_deref(), Some("us_gallons"));
    assert_eq!(page.select("label[for='altitude_m'] .unseen"), [", in feet"]);
    assert_eq!(page.select("select option[selected]"), ["Europe/Berlin"]);
}

#[tokio::test]
async fn settings_that_cannot_be_kept_come_back_as_they_were_typed() {
    let house = House::new().await;
    let typed = CHOSEN.replace("Europe%2FBerlin", "Narnia").replace("altitude_m=1000", "altitude_m=high+up");
    let page = house.post("/settings", &typed).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.select("title")[0].starts_with("Look again: Settings"));
    assert_eq!(page.attribute("#altitude_m", "value").as_deref(), Some("high up"));
    assert_eq!(page.attribute("#altitude_m", "aria-invalid").as_deref(), Some("true"));
    let described = page.attribute("#altitude_m", "aria-describedby").unwrap_or_default();
    assert_eq!(described, "altitude_m-hint altitude_m-fault");
    assert_eq!(page.attribute("input[name='units.mass'][checked]", "value").as_deref(), Some("avoirdupois"));
    assert_eq!(page.attribute(".summary a", "href").as_deref(), Some("#altitude_m"));
    let beside = &page.select("#altitude_m-fault")[0];
    assert!(page.select(".summary a")[0].ends_with(beside.as_str()), "the same words on top and beside the field");
    assert!(page.select(".summary a")[1].starts_with("Time zone."));
    assert_eq!(house.store.settings().await.expect("settings").house, "Brew house");
}

#[tokio::test]
async fn a_device_keeps_the_light_it_was_given() {
    let house = House::new().await;
    let answer = house.post("/settings/light", "light=dim").await;
    assert_eq!(answer.header(header::LOCATION), "/settings");
    let cookie = answer.header(header::SET_COOKIE);
    assert!(cookie.starts_with("gylebook_light=dim; HttpOnly; SameSite=Strict; Path=/; Max-Age="), "{cookie}");
    for (cookie, light) in [("gylebook_light=dim", "dim"), ("gylebook_light=glow", "device"), ("a=b", "device")] {
        for path in ["/welcome", "/nowhere"] {
            let request = asked("GET", path).header(header::COOKIE, cookie).body(Body::empty());
            let page = house.answer(request.expect("a request")).await;
            assert_eq!(page.attribute("html", "data-light").as_deref(), Some(light), "{path} {cookie}");
        }
    }
}

#[tokio::test]
async fn a_person_gets_a_page_with_a_way_back_and_a_script_gets_a_problem() {
    let house = House::new().await;
    let referred = |referer: &str| {
        asked("GET", "/nowhere").header(header::REFERER, referer).body(Body::empty()).expect("a request")
    };
    let page = house.answer(referred("http://192.168.1.20:4710/recipes?page=2")).await;
    assert_eq!(page.select("h1"), ["Nothing here"]);
    assert_eq!(page.attribute(".actions a", "href").as_deref(), Some("/recipes?page=2"));
    for elsewhere in ["http://evil.example/recipes", "http://192.168.1.20:4710//evil.example", "nonsense", ""] {
        let page = house.answer(referred(elsewhere)).await;
        assert_eq!(page.attribute(".actions a", "href").as_deref(), Some("/"), "{elsewhere}");
    }

    let problem = house.get("/api/v1/nowhere").await;
    assert_eq!(problem.status, StatusCode::NOT_FOUND);
    assert_eq!(problem.header(header::CONTENT_TYPE), "application/problem+json");
    let body: serde_json::Value = serde_json::from_str(&problem.text).expect("JSON");
    assert_eq!((&body["status"], &body["title"]), (&404.into(), &"Not Found".into()));
    assert!(body["detail"].is_string());
}

#[tokio::test]
async fn what_goes_wrong_inside_is_never_shown() {
    let broken = || async { AppError::internal(anyhow::anyhow!("no such table: secret")) };
    async fn panics() {
        panic!("secret panic");
    }
    let faulty = || async { AppError::Faults(vec![Fault::new("hops.0.min", "It is too long.")]) };
    let more = Router::new()
        .route("/broken", get(broken))
        .route("/panics", get(panics))
        .route("/api/v1/panics", get(panics))
        .route("/api/v1/faulty", get(faulty));
    let house = House::with(more).await;
    for path in ["/broken", "/panics", "/api/v1/panics"] {
        let answer = house.get(path).await;
        assert_eq!(answer.status, StatusCode::INTERNAL_SERVER_ERROR, "{path}");
        assert!(!answer.text.contains("secret"), "{path}");
        assert!(answer.text.contains("went wrong"), "{path}: {}", answer.text);
    }
    let body: serde_json::Value = serde_json::from_str(&house.get("/api/v1/faulty").await.text).expect("JSON");
    assert_eq!(body["errors"], serde_json::json!([{ "field": "hops.0.min", "why": "It is too long." }]));
}

#[tokio::test]
async fn refusals_of_the_framework_are_pages_too() {
    let house = House::new().await;
    let wrong_way = house.post("/healthz", "").await;
    assert_eq!(wrong_way.status, StatusCode::METHOD_NOT_ALLOWED);
    assert_eq!(wrong_way.header(header::ALLOW), "GET,HEAD");
    assert_eq!(wrong_way.select("h1"), ["Not that way"]);
    let too_much = house.post("/settings", &format!("house={}", "x".repeat(BODY_MOST_BYTES))).await;
    assert_eq!(too_much.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(too_much.select("h1"), ["Too much at once"]);
}

#[tokio::test]
async fn a_file_is_known_by_its_tag_and_travels_compressed() {
    let house = House::new().await;
    let path = assets::address("base.css");
    let file = house.get(&path).await;
    assert_eq!(file.header(header::CONTENT_TYPE), "text/css; charset=utf-8");
    let tag = file.header(header::ETAG).to_owned();
    assert!(tag.starts_with("W/\""));
    let again = asked("GET", &path).header(header::IF_NONE_MATCH, &tag).body(Body::empty());
    assert_eq!(house.answer(again.expect("a request")).await.status, StatusCode::NOT_MODIFIED);
    let zipped = asked("GET", &path).header(header::ACCEPT_ENCODING, "gzip").body(Body::empty());
    assert_eq!(house.answer(zipped.expect("a request")).await.header(header::CONTENT_ENCODING), "gzip");
    let font = asked("GET", &assets::address("fonts/atkinson-hyperlegible-next.woff2"));
    let font = font.header(header::ACCEPT_ENCODING, "gzip").body(Body::empty()).expect("a request");
    assert_eq!(house.answer(font).await.header(header::CONTENT_ENCODING), "", "the font is compressed as it is");
}

#[tokio::test]
async fn pages_run_nothing_inline() {
    let house = House::new().await;
    for path in ["/welcome", "/settings", "/nowhere"] {
        let page = house.get(path).await;
        let inline = "style, script:not([src]), [style], [onclick], [onload], [onsubmit], [onchange], [oninput]";
        assert_eq!(page.select(inline), [""; 0], "{path}");
        assert!(page.text.starts_with("<!doctype html>"), "{path}");
    }
}

#[tokio::test]
async fn the_server_stops_when_told_though_a_connection_is_open() {
    let house = House::new().await;
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let address = listener.local_addr().expect("an address");
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let server = tokio::spawn(serve(house.store.clone(), listener, Options::default(), async {
        let _ = stopped.await;
    }));
    let idle = tokio::net::TcpStream::connect(address).await.expect("a connection");
    stop.send(()).expect("a server that listens");
    server.await.expect("a task").expect("a clean end");
    drop(idle);
}
