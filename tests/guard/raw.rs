//! Real connections: requests no library of ours would write, clients that are
//! slow, and many at once.

use std::{
    io::{Read, Write},
    net::{SocketAddr, TcpStream},
    time::Duration,
};

use gylebook::{
    store::Store,
    web::{App, Options, serve_app},
};
use tokio::{net::TcpListener, sync::oneshot, task::JoinHandle};

/// Only against hanging for ever; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(60);

struct Served {
    at: SocketAddr,
    stop: oneshot::Sender<()>,
    server: JoinHandle<anyhow::Result<()>>,
    _folder: tempfile::TempDir,
}

impl Served {
    async fn open() -> Self {
        Self::with(|app| app).await
    }

    async fn with(change: impl FnOnce(App) -> App) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a book");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let at = listener.local_addr().expect("an address");
        let (stop, told) = oneshot::channel::<()>();
        let options = Options { lan: true, ..Options::default() };
        let app = change(App::new(store, options));
        let server = tokio::spawn(serve_app(app, listener, async {
            let _ = told.await;
        }));
        Self { at, stop, server, _folder: folder }
    }

    async fn close(self) {
        self.stop.send(()).expect("a server");
        self.server.await.expect("a task").expect("a clean end");
    }
}

/// Sends bytes as they are and gives the status that is answered; 0 where the
/// connection is closed without one.
fn status(at: SocketAddr, request: &str) -> u16 {
    let mut stream = TcpStream::connect(at).expect("a connection");
    stream.set_read_timeout(Some(PATIENCE)).expect("a time");
    // One that is refused early may be closed before all of it is written.
    let _ = stream.write_all(request.as_bytes());
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    let answer = String::from_utf8_lossy(&answer);
    answer.strip_prefix("HTTP/1.").and_then(|rest| rest.get(2..5)?.parse().ok()).unwrap_or(0)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_request_names_one_host_however_it_is_written() {
    let served = Served::open().await;
    let port = served.at.port();
    let own = format!("127.0.0.1:{port}");
    let long = "x".repeat(100_000);
    let requests = [
        (200, format!("GET /healthz HTTP/1.1\r\nHost: {own}\r\nConnection: close\r\n\r\n")),
        (200, format!("GET http://{own}/healthz HTTP/1.1\r\nHost: {own}\r\nConnection: close\r\n\r\n")),
        (200, format!("GET /healthz HTTP/1.1\r\nhOsT: LOCALHOST:{port}\r\nConnection: close\r\n\r\n")),
        (200, format!("GET /healthz HTTP/1.0\r\nHost: {own}\r\n\r\n")),
        (421, format!("GET http://evil.example/healthz HTTP/1.1\r\nHost: {own}\r\nConnection: close\r\n\r\n")),
        (421, format!("GET http://{own}/healthz HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n")),
        (421, "GET /healthz HTTP/1.1\r\nConnection: close\r\n\r\n".into()),
        (421, "GET /healthz HTTP/1.0\r\n\r\n".into()),
        (421, "GET /healthz HTTP/1.1\r\nHost:\r\nConnection: close\r\n\r\n".into()),
        (421, format!("GET /healthz HTTP/1.1\r\nHost: {own}\r\nHost: {own}\r\nConnection: close\r\n\r\n")),
        (421, format!("GET /healthz HTTP/1.1\r\nHost: {own}\r\nHost: evil.example\r\nConnection: close\r\n\r\n")),
        (421, format!("GET /healthz HTTP/1.1\r\nHost: {own}, evil.example\r\nConnection: close\r\n\r\n")),
        (421, format!("GET /healthz HTTP/1.1\r\nHost: localhost.:{port}\r\nConnection: close\r\n\r\n")),
        (
            421,
            "GET /healthz HTTP/1.1\r\nHost: evil.example\r\nX-Forwarded-Host: localhost\r\nConnection: close\r\n\r\n"
                .into(),
        ),
        (400, format!("GET /healthz HTTP/1.1\r\nHost : {own}\r\nConnection: close\r\n\r\n")),
        (400, format!("GET /healthz HTTP/1.1\r\nHost: {own}\0\r\nConnection: close\r\n\r\n")),
        (400, "GET /healthz HTTP/1.1\r\nHost\r\n\r\n".into()),
        (400, "nonsense\r\n\r\n".into()),
        (431, format!("GET /healthz HTTP/1.1\r\nHost: {own}\r\nX: {long}\r\n\r\n")),
    ];
    let answered = tokio::task::spawn_blocking(move || {
        requests.map(|(wanted, request)| (wanted, status(served.at, &request), request)).to_vec()
    });
    for (wanted, status, request) in answered.await.expect("a task") {
        let told: String = request.chars().take(120).collect();
        assert_eq!(status, wanted, "{told:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn connections_that_say_nothing_keep_nobody_out_and_do_not_hold_the_server_open() {
    let served = Served::open().await;
    let at = served.at;
    let silent = tokio::task::spawn_blocking(move || {
        let open: Vec<_> = (0..400)
            .filter_map(|number| {
                let mut stream = TcpStream::connect(at).ok()?;
                if number % 2 == 0 {
                    stream.write_all(b"GET / HTTP/1.1\r\nHost: loc").ok()?;
                }
                Some(stream)
            })
            .collect();
        let request = format!("GET /healthz HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n");
        assert_eq!(status(at, &request), 200);
        open
    })
    .await
    .expect("a task");
    assert!(silent.len() > 300, "{}", silent.len());
    tokio::time::timeout(PATIENCE, served.close()).await.expect("it ends though they are open");
}

/// Takes as long as the head of a request may, some twenty seconds.
#[tokio::test(flavor = "multi_thread")]
async fn one_that_does_not_finish_its_request_is_closed() {
    let served = Served::open().await;
    let at = served.at;
    let closed = tokio::task::spawn_blocking(move || {
        let mut stream = TcpStream::connect(at).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a time");
        stream.write_all(b"GET / HTTP/1.1\r\nHost: loc").expect("written");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).is_ok()
    });
    assert!(closed.await.expect("a task"), "the connection is still open");
    served.close().await;
}

/// A body that comes a byte at a time is cut off, and is in nobody's way meanwhile.
#[tokio::test(flavor = "multi_thread")]
async fn a_body_that_takes_too_long_is_not_waited_for() {
    let served = Served::with(|app| app.answering_within(Duration::from_secs(1))).await;
    let at = served.at;
    let ended = tokio::task::spawn_blocking(move || {
        let slow = std::thread::spawn(move || {
            let mut stream = TcpStream::connect(at).expect("a connection");
            stream.set_read_timeout(Some(PATIENCE)).expect("a time");
            let head = format!(
                "POST /api/v1/recipes HTTP/1.1\r\nHost: {at}\r\nContent-Type: application/json\r\n\
                 Content-Length: 400\r\n\r\n"
            );
            stream.write_all(head.as_bytes()).expect("written");
            let mut sent = 0;
            // Until nobody takes it any more: all of it would be twenty seconds.
            while sent < 400 && stream.write_all(b" ").is_ok() {
                sent += 1;
                std::thread::sleep(Duration::from_millis(50));
            }
            let mut answer = Vec::new();
            let _ = stream.read_to_end(&mut answer);
            (sent, String::from_utf8_lossy(&answer).into_owned())
        });
        while !slow.is_finished() {
            let request = format!("GET /healthz HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n");
            assert_eq!(status(at, &request), 200);
        }
        slow.join().expect("joined")
    });
    let (sent, answer) = ended.await.expect("a task");
    assert!(sent < 400, "it was listened to until the end");
    assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 503"), "{answer}");
    served.close().await;
}
