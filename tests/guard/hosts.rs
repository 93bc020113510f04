//! Every route, under every form of a Host, from every form of an Origin.

use std::net::SocketAddr;

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};

use crate::house::{FORM, House, Knock};
use crate::routes;

/// Hosts and what becomes of them: answered, or 421.
const HOSTS: [(&str, bool); 40] = [
    ("192.168.1.20:4710", true),
    ("192.168.1.20", true),
    ("10.0.0.7:4710", true),
    ("127.0.0.1", true),
    ("127.0.0.1:1", true),
    ("127.0.0.1:65535", true),
    ("[::1]", true),
    ("[::1]:4710", true),
    ("[FE80::1]:4710", true),
    ("localhost", true),
    ("LOCALHOST:4710", true),
    ("evil.example", false),
    ("evil.example:4710", false),
    ("localhost.evil.example", false),
    ("evil.example.localhost", false),
    ("127.0.0.1.evil.example", false),
    ("192.168.1.20.evil.example:4710", false),
    ("evil-192.168.1.20", false),
    ("localhost.", false),
    ("LOCALHOST.:4710", false),
    ("192.168.1.20.", false),
    ("brewery.local", false),
    (".local", false),
    ("127.0.0.1:", false),
    ("127.0.0.1:0", false),
    ("127.0.0.1:65536", false),
    ("127.0.0.1:4710:4710", false),
    ("127.0.0.1:http", false),
    ("user@127.0.0.1", false),
    ("user:word@localhost:4710", false),
    ("[::1", false),
    ("::1", false),
    ("[::1]evil.example", false),
    ("[evil.example]:4710", false),
    ("[fe80::1%25eth0]", false),
    ("0x7f000001", false),
    ("127.1", false),
    ("2130706433", false),
    ("0177.0.0.1", false),
    ("", false),
];

/// Origins of a form that is posted to [`ASKED`], and whether it comes from us.
const ORIGINS: [(Option<&str>, bool); 13] = [
    (Some("http://192.168.1.20:4710"), true),
    (Some("http://192.168.1.20"), false),
    (Some("http://192.168.1.20:4711"), false),
    (Some("https://192.168.1.20:4710"), false),
    (Some("http://192.168.1.21:4710"), false),
    (Some("http://localhost:4710"), false),
    (Some("http://evil.example"), false),
    (Some("http://192.168.1.20:4710.evil.example"), false),
    (Some("http://192.168.1.20:4710/"), false),
    (Some("http://x@192.168.1.20:4710"), false),
    (Some("null"), false),
    (Some(""), false),
    (None, false),
];
const ASKED: &str = "192.168.1.20:4710";

#[tokio::test]
async fn every_route_is_held_to_the_table() {
    let house = House::open().await;
    let owner = Knock::owner();
    let (mut asked, mut wrong) = (0_u32, Vec::new());
    for (path, method) in routes::all(&house).await {
        for (host, answered) in HOSTS {
            for (origin, is_ours) in ORIGINS {
                let mut request = Request::builder().method(method).uri(&path).header(header::HOST, host);
                request = request.header(header::CONTENT_TYPE, FORM);
                if let Some(origin) = origin {
                    request = request.header(header::ORIGIN, origin);
                }
                // From the network and from nobody known, so that nothing is changed by it; the
                // name decides first, then the origin, then whether one is let in.
                let request = request.body(Body::empty()).expect("a request");
                let status = house.answer(peer(asked), request).await.status;
                let is_form_from_us = is_ours && host == ASKED;
                let by_table = match (answered, method) {
                    (false, _) => status == StatusCode::MISDIRECTED_REQUEST,
                    (true, "GET") => ![StatusCode::MISDIRECTED_REQUEST, StatusCode::FORBIDDEN].contains(&status),
                    // A script's form is told what it may send instead.
                    (true, _) if origin.is_none() && path.starts_with("/api/") => {
                        status == StatusCode::UNSUPPORTED_MEDIA_TYPE
                    }
                    (true, _) if is_form_from_us => {
                        let refused = if path == "/pair" { StatusCode::FORBIDDEN } else { StatusCode::UNAUTHORIZED };
                        status == refused
                    }
                    (true, _) => status == StatusCode::FORBIDDEN || is_same_elsewhere(host, origin, status),
                };
                asked += 1;
                if !by_table {
                    wrong.push(format!("{method} {path}, Host {host:?}, Origin {origin:?}: {status}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {asked}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(asked > 25_000, "{asked}");
    assert_eq!(house.get(&owner, "/").await.status, StatusCode::OK, "the owner is not held up by any of it");
}

/// Each from an address of its own, so that none is refused for its pace.
fn peer(number: u32) -> SocketAddr {
    let [_, high, middle, low] = number.to_be_bytes();
    ([10, high, middle, low], 50_000).into()
}

/// Another host of the table may be the very one that another origin names.
fn is_same_elsewhere(host: &str, origin: Option<&str>, status: StatusCode) -> bool {
    origin == Some(&format!("http://{}", host.to_lowercase())) && status != StatusCode::MISDIRECTED_REQUEST
}

#[tokio::test]
async fn a_name_that_is_given_is_answered_and_no_other() {
    use gylebook::web::{App, Options, router};
    use tower::ServiceExt;

    let house = House::open().await;
    let options = Options { lan: true, hosts: vec!["brewery.lan".into()], ..Options::default() };
    let given = router(App::new(house.store.clone(), options));
    for (host, wanted) in [
        ("brewery.lan", StatusCode::OK),
        ("BREWERY.lan:4710", StatusCode::OK),
        ("brewery.lan.", StatusCode::MISDIRECTED_REQUEST),
        ("x.brewery.lan", StatusCode::MISDIRECTED_REQUEST),
        ("brewery", StatusCode::MISDIRECTED_REQUEST),
    ] {
        let request = Request::get("/pair").header(header::HOST, host).body(Body::empty()).expect("a request");
        let status = given.clone().oneshot(request).await.expect("an answer").status();
        assert_eq!(status, wanted, "{host}");
    }
}
