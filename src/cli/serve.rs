//! `gylebook serve`: opens the book to browsers.

use std::future::Future;
use std::io::{self, IsTerminal};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow, bail};
use time::OffsetDateTime;
use tokio::net::TcpListener;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::prelude::*;

use super::certificate::{self, Certificate};
use super::network::{self, EVERYWHERE, HERE};
use super::place::{Data, demo_beside};
use super::{invitation, say};
use crate::store::{Store, keep_daily_copies};
use crate::{demo, web};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    data: Data,
    /// Where to listen; port 0 takes any that is free [default: 127.0.0.1:4710, with --lan 0.0.0.0:4710]
    #[arg(long, value_name = "ADDR:PORT", env = "GYLEBOOK_LISTEN", value_parser = network::address)]
    listen: Option<String>,
    /// Open the demo brew house, which has a data file of its own.
    #[arg(long)]
    demo: bool,
    /// Let other devices on the network in, once they are paired.
    #[arg(long)]
    lan: bool,
    /// Answer to this name too, where your network has one for this computer.
    #[arg(long = "host", value_name = "NAME", value_parser = network::host)]
    hosts: Vec<String>,
    /// Speak HTTPS, with a certificate made here unless one is given.
    #[arg(long)]
    tls: bool,
    /// The certificate for --tls, a PEM file.
    #[arg(long, value_name = "FILE", requires = "key", requires = "tls")]
    cert: Option<PathBuf>,
    /// The certificate's private key, a PEM file.
    #[arg(long, value_name = "FILE", requires = "cert", requires = "tls")]
    key: Option<PathBuf>,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    log_to_stderr();
    // Caught from here on, so that a signal right after the ready line is not missed.
    let stop = stop_signal().context("Ctrl-C and SIGTERM can't be caught on this system.")?;
    let listen = args.listen.as_deref().unwrap_or(if args.lan { EVERYWHERE } else { HERE });
    let listener = TcpListener::bind(listen).await.map_err(|why| network::cannot_listen(listen, &why))?;
    let address = listener.local_addr()?;
    if !args.lan && !address.ip().is_loopback() {
        bail!("{address} can be reached from other devices, which needs --lan; listen on 127.0.0.1 without it.");
    }
    let mut file = args.data.file()?;
    if args.demo {
        file = demo_beside(&file);
    }
    let certificate = certificate_of(&args, &file, address)?;
    let store =
        if args.demo { demo::open(&file, OffsetDateTime::now_utc()).await? } else { Store::open(&file).await? };
    let options = web::Options {
        lan: args.lan,
        demo: args.demo,
        address: Some(network::link(address, &args.hosts, args.tls)),
        hosts: args.hosts,
        tls: certificate.as_ref().map(|certificate| certificate.config.clone()),
    };
    let served = serve(&store, listener, options, certificate.and_then(|made| made.fingerprint), stop).await;
    // Nobody is reached any more; where that can't be written, the next start does.
    let _ = store.set_address(None).await;
    // Whatever happened, the book is closed and nothing is left beside it.
    store.close().await;
    served
}

fn certificate_of(args: &Args, data: &Path, address: SocketAddr) -> anyhow::Result<Option<Certificate>> {
    match (&args.cert, &args.key) {
        (Some(cert), Some(key)) => certificate::given(cert, key).map(Some),
        _ if args.tls => certificate::own(data, network::names(address, &args.hosts)).map(Some),
        _ => Ok(None),
    }
}

async fn serve(
    store: &Store,
    listener: TcpListener,
    options: web::Options,
    fingerprint: Option<String>,
    stop: impl Future<Output = ()> + Send + 'static,
) -> anyhow::Result<()> {
    let scheme = if options.is_secure() { "https" } else { "http" };
    let reached = options.address.clone().filter(|_| options.lan);
    store.set_address(reached.as_deref()).await?;
    match &reached {
        Some(reached) => say(format_args!("Gylebook is open at {reached}"))?,
        None => say(format_args!("Gylebook is open at {scheme}://{}", listener.local_addr()?))?,
    }
    if let Some(fingerprint) = fingerprint {
        say(format_args!("Its certificate was made here; its SHA-256 fingerprint is\n{fingerprint}"))?;
    }
    if let Some(reached) = &reached {
        invitation::print(store, reached, false).await?;
    }
    // Nobody misses a demo: it has no copies that would lie about.
    let (ended, end) = tokio::sync::oneshot::channel::<()>();
    let end = async { drop(end.await) };
    let copies = (!options.demo).then(|| tokio::spawn(keep_daily_copies(store.clone(), OffsetDateTime::now_utc, end)));
    let served = web::serve(store.clone(), listener, options, stop).await;
    drop(ended);
    if let Some(copies) = copies {
        // What it did not manage is told on the settings page and in the log.
        let _ = copies.await;
    }
    served.map_err(|why| anyhow!("The server stopped ({why}). What was confirmed is kept; start it again."))
}

/// Resolves on Ctrl-C, and on SIGTERM where there is such a thing.
fn stop_signal() -> io::Result<impl Future<Output = ()> + Send + 'static> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
        Ok(async move {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
            }
        })
    }
    #[cfg(not(unix))]
    {
        Ok(async {
            // Without Ctrl-C there is nothing to wait for: closing the window ends the process.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending().await
            }
        })
    }
}

fn log_to_stderr() {
    let levels = Targets::new().with_default(tracing::Level::WARN).with_target("gylebook", tracing::Level::INFO);
    // Colour codes would only be noise in a file.
    let lines = tracing_subscriber::fmt::layer().with_writer(io::stderr).with_ansi(io::stderr().is_terminal());
    tracing_subscriber::registry().with(lines.with_filter(levels)).init();
}
