//! Connections: how many, how patient, and how they end.
//!
//! A phone that walks out of reach says nothing, and a stranger may open
//! connections only to keep them. So each has to send its request's head in time
//! and to take its answer in time, there are so many for all and for each
//! address, and the machine itself always finds room.

mod patient;
mod places;

use std::{future::Future, io, net::SocketAddr, sync::Arc, time::Duration};

use axum::{Router, extract::ConnectInfo};
use hyper::{body::Incoming, server::conn::http1, service::service_fn};
use hyper_util::{
    rt::{TokioIo, TokioTimer},
    server::graceful::{GracefulShutdown, Watcher},
};
use tokio::{
    io::{AsyncRead, AsyncWrite},
    net::{TcpListener, TcpStream},
    time::{sleep, timeout},
};
use tokio_rustls::{TlsAcceptor, rustls::ServerConfig};
use tower::ServiceExt;

use super::{App, Options, router};
use crate::store::Store;
use patient::Patient;
use places::Places;

/// How long answers under way may take once the server is told to stop.
const GRACE: Duration = Duration::from_secs(10);
/// How long the head of a request may take, and how long a connection may idle before one.
const HEAD_WITHIN: Duration = Duration::from_secs(20);
/// How long the beginning of TLS may take.
const TLS_WITHIN: Duration = Duration::from_secs(10);
/// The most a request's head may be.
const HEAD_MOST_BYTES: usize = 64 * 1024;
/// After the system had no connection to give: many are about to end.
const BREATH: Duration = Duration::from_millis(250);

/// Serves until `stop` resolves, then finishes what is being written.
///
/// # Errors
/// Where the listener itself fails.
pub async fn serve(
    store: Store,
    listener: TcpListener,
    options: Options,
    stop: impl Future<Output = ()> + Send + 'static,
) -> anyhow::Result<()> {
    serve_app(App::new(store, options), listener, stop).await
}

/// As [`serve`], of a state that was put together before.
///
/// # Errors
/// Where the listener itself fails.
pub async fn serve_app(
    app: App,
    listener: TcpListener,
    stop: impl Future<Output = ()> + Send + 'static,
) -> anyhow::Result<()> {
    let tls = app.options.tls.clone();
    let (router, places, connections) = (router(app.clone()), Places::default(), GracefulShutdown::new());
    tokio::pin!(stop);
    loop {
        let accepted = tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => accepted,
        };
        let (stream, peer) = match accepted {
            Ok(accepted) => accepted,
            Err(error) => {
                wait_out(&error).await;
                continue;
            }
        };
        // One too many is closed at once: to wait would be to keep it.
        let Some(place) = places.take(peer.ip()) else { continue };
        let (tls, router, watcher) = (tls.clone(), router.clone(), connections.watcher());
        tokio::spawn(async move {
            talk(stream, peer, tls, router, watcher).await;
            drop(place);
        });
    }
    drop(listener);
    app.stop();
    if timeout(GRACE, connections.shutdown()).await.is_err() {
        tracing::warn!("a connection was still open {} s after the server was told to stop", GRACE.as_secs());
    }
    Ok(())
}

/// A connection may be gone before it was taken, which is nothing; else the
/// system is out of something, and it helps to wait.
async fn wait_out(error: &io::Error) {
    use io::ErrorKind::{ConnectionAborted, ConnectionRefused, ConnectionReset};
    if !matches!(error.kind(), ConnectionAborted | ConnectionRefused | ConnectionReset) {
        tracing::warn!(%error, "no connection could be taken");
        sleep(BREATH).await;
    }
}

async fn talk(stream: TcpStream, peer: SocketAddr, tls: Option<Arc<ServerConfig>>, router: Router, watcher: Watcher) {
    // A reading is a small answer: it should not wait to be filled up.
    if let Err(error) = stream.set_nodelay(true) {
        tracing::debug!(%error, "no TCP_NODELAY");
    }
    let stream = Patient::new(stream);
    match tls {
        None => answer(stream, peer, router, watcher).await,
        // Who can't begin TLS in time, or speaks plain HTTP to it, is not answered.
        Some(tls) => {
            if let Ok(Ok(stream)) = timeout(TLS_WITHIN, TlsAcceptor::from(tls).accept(stream)).await {
                answer(stream, peer, router, watcher).await;
            }
        }
    }
}

async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin + 'static,
    peer: SocketAddr,
    router: Router,
    watcher: Watcher,
) {
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(ConnectInfo(peer));
        router.clone().oneshot(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN)
        .max_header_size(HEAD_MOST_BYTES)
        .serve_connection(TokioIo::new(stream), service);
    if let Err(error) = watcher.watch(connection).await {
        tracing::debug!(%error, "a connection ended badly");
    }
}
