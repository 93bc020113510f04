//! `serve --lan` and `pair`: how another device gets in, as the terminal tells it.

use std::fs;
use std::io::{BufRead, Read, Write};
use std::net::TcpStream;

use crate::{House, Server, assert_done, assert_fails, gylebook};

fn serve_lan(house: &House) -> Server {
    Server::from(gylebook().args(["serve", "--lan", "--listen", "127.0.0.1:0", "--data"]).arg(house.book()))
}

/// The line of the link, and what stood before it.
fn until_the_link(lines: impl Iterator<Item = String>) -> (String, Vec<String>) {
    let mut before = Vec::new();
    for line in lines {
        if let Some(link) = line.strip_prefix("Pair a device: ") {
            return (link.to_owned(), before);
        }
        before.push(line);
    }
    panic!("no link after {before:?}");
}

fn asked(address: &str, request: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn the_link_that_is_printed_pairs_one_device_and_is_never_logged() {
    let house = House::new();
    let mut server = serve_lan(&house);
    let (link, picture) = until_the_link(server.stdout.by_ref().lines().map(Result::unwrap));
    assert!(picture.iter().filter(|line| line.contains(['█', '▀', '▄'])).count() > 15, "a picture: {picture:?}");
    let (address, token) = link.trim_start_matches("http://").split_once("/pair/").unwrap();
    assert_eq!((address, token.len()), (server.address.as_str(), 32));

    // From here, but under another address, as a phone would ask.
    let host = format!("192.168.1.20:{}", address.rsplit_once(':').unwrap().1);
    let page = asked(address, &format!("GET /pair/{token} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));
    assert!(page.starts_with("HTTP/1.1 200 "), "{page}");
    let form_token = page.split_once(r#"name="form_token" value=""#).unwrap().1.split('"').next().unwrap();
    let form = format!("link={token}&name=Kettle%0Aphone&form_token={form_token}");
    let request = format!(
        "POST /pair HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
        form.len(),
    );
    let paired = asked(address, &request);
    assert!(paired.starts_with("HTTP/1.1 303 "), "{paired}");
    let cookie = paired.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap().to_owned();
    // The same form again is answered the same; another one finds the link used up.
    let again = asked(address, &request.replace("Kettle", "Copper"));
    assert!(again.starts_with("HTTP/1.1 422 "), "{again}");

    let mut stderr = server.child.stderr.take().unwrap();
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    let mut log = String::new();
    stderr.read_to_string(&mut log).unwrap();
    assert!(log.contains("a device was paired") && log.contains("a device was not paired"), "{log}");
    assert!(
        log.lines().all(|line| line.contains("INFO") || line.contains("WARN")),
        "no line of another's making: {log}"
    );
    let secret = cookie.split(['=', ';']).nth(1).unwrap();
    for secret in [token, form_token, secret] {
        assert!(!log.contains(secret), "{log}");
    }
    assert_eq!(house.names(), ["book.db"]);
}

#[test]
fn pair_lets_another_device_in_while_the_book_is_served_to_the_network() {
    let house = House::new();
    assert_fails(&house.run(["pair"]), &["no data file"]);
    let server = Server::start(&house.book());
    assert_fails(&house.run(["pair"]), &["this computer alone", "--lan"]);
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert_fails(&house.run(["pair"]), &["not being served", "--lan"]);

    let server = serve_lan(&house);
    let said = assert_done(&house.run(["pair"]));
    let (link, _) = until_the_link(said.lines().map(str::to_owned));
    assert!(link.starts_with(&format!("http://{}/pair/", server.address)), "{link}");
    let code = said.lines().find(|line| line.contains("type ")).unwrap();
    assert_eq!(code.chars().rev().filter(char::is_ascii_digit).take(6).count(), 6, "{code}");
    let (host, token) = (&server.address, link.rsplit_once('/').unwrap().1);
    let page = asked(host, &format!("GET /pair/{token} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));
    assert!(page.contains(&format!(r#"name="link" value="{token}""#)), "the running server knows it: {page}");
    let (status, _) = server.signal("KILL");
    assert_eq!(status.code(), None);
    assert_fails(&house.run(["pair"]), &["not being served"]);
}

#[test]
fn tls_makes_a_certificate_once_and_prints_its_fingerprint() {
    let house = House::new();
    let start = || {
        let mut server =
            Server::from(gylebook().args(["serve", "--tls", "--listen", "127.0.0.1:0", "--data"]).arg(house.book()));
        let mut lines = server.stdout.by_ref().lines().map(Result::unwrap);
        let fingerprint = lines.find(|line| line.matches(':').count() == 31).unwrap();
        assert_eq!(server.signal("TERM").0.code(), Some(0));
        fingerprint
    };
    assert_eq!(start(), start());
    assert_eq!(house.names(), ["book.cert.pem", "book.db", "book.key.pem"]);
    let not_one = house.book();
    let not_one = not_one.to_str().unwrap();
    assert_fails(&house.run(["serve", "--tls", "--cert", not_one, "--key", not_one]), &["PEM"]);
    assert_eq!(gylebook().args(["serve", "--cert", "a.pem"]).output().unwrap().status.code(), Some(2));
    assert!(fs::metadata(house.at("book.key.pem")).is_ok());
}
