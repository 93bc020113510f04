//! Over TLS the cookie is kept to it, and so is the origin.

use std::sync::Arc;

use gylebook::{
    store::Store,
    web::{Options, serve},
};
use time::OffsetDateTime;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::oneshot,
};
use tokio_rustls::{
    TlsConnector,
    rustls::{
        ClientConfig, RootCertStore, ServerConfig,
        crypto::ring,
        pki_types::{CertificateDer, PrivateKeyDer, ServerName},
    },
};

/// A certificate of our own, and a client that trusts it and no other.
fn ends() -> (Arc<ServerConfig>, Arc<ClientConfig>) {
    let own = rcgen::generate_simple_self_signed(["localhost".to_owned()]).expect("a certificate");
    let certificate: CertificateDer<'static> = own.cert.der().clone();
    let key = PrivateKeyDer::try_from(own.signing_key.serialize_der()).expect("a key");
    let provider = Arc::new(ring::default_provider());
    let server = ServerConfig::builder_with_provider(provider.clone())
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_no_client_auth()
        .with_single_cert(vec![certificate.clone()], key)
        .expect("a server");
    let mut trusted = RootCertStore::empty();
    trusted.add(certificate).expect("trusted");
    let client = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(trusted)
        .with_no_client_auth();
    (Arc::new(server), Arc::new(client))
}

#[tokio::test]
async fn over_tls_the_cookie_never_travels_without_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path().join("book.db")).await.expect("a book");
    let (server, client) = ends();
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let at = listener.local_addr().expect("an address");
    let (stop, told) = oneshot::channel::<()>();
    let options = Options { lan: true, tls: Some(server), ..Options::default() };
    let serving = tokio::spawn(serve(store.clone(), listener, options, async {
        let _ = told.await;
    }));
    // Under another host than the machine's own, as a phone comes.
    let host = format!("192.168.1.20:{}", at.port());
    let ask = async |request: String| {
        let stream = TcpStream::connect(at).await.expect("a connection");
        let name = ServerName::try_from("localhost").expect("a name");
        let mut stream = TlsConnector::from(client.clone()).connect(name, stream).await.expect("TLS");
        stream.write_all(request.as_bytes()).await.expect("sent");
        let mut answer = String::new();
        // A server need not say goodbye before it closes.
        let _ = stream.read_to_string(&mut answer).await;
        answer
    };
    let link = store.invite(false, OffsetDateTime::now_utc()).await.expect("a door").link;
    let form = format!("link={link}&name=Phone&form_token={}", store.form_token("stranger"));
    let post = |scheme: &str| {
        format!(
            "POST /pair HTTP/1.1\r\nHost: {host}\r\nOrigin: {scheme}://{host}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
            form.len(),
        )
    };
    let plain = ask(post("http")).await;
    assert!(plain.starts_with("HTTP/1.1 403 "), "{plain}");
    let paired = ask(post("https")).await;
    assert!(paired.starts_with("HTTP/1.1 303 "), "{paired}");
    let cookie = paired.lines().find(|line| line.starts_with("set-cookie: ")).expect("a cookie");
    assert!(cookie.starts_with("set-cookie: __Host-gylebook_device="), "{cookie}");
    assert!(cookie.contains("; Secure") && cookie.contains("; HttpOnly") && cookie.contains("; Path=/"), "{cookie}");
    assert!(!cookie.contains("Domain"), "{cookie}");
    let cookie = cookie.trim_start_matches("set-cookie: ").split(';').next().unwrap_or_default();
    let page =
        ask(format!("GET /recipes HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n")).await;
    assert!(page.starts_with("HTTP/1.1 200 "), "{page}");
    // Plain HTTP to the same port is not answered.
    let mut plain = TcpStream::connect(at).await.expect("a connection");
    plain.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").await.expect("sent");
    let mut answer = Vec::new();
    let _ = plain.read_to_end(&mut answer).await;
    assert!(!answer.starts_with(b"HTTP"), "{answer:?}");
    stop.send(()).expect("a server");
    serving.await.expect("a task").expect("a clean end");
}
