//! `gylebook serve`: opens the book to browsers.

use std::future::Future;
use std::io::{self, IsTerminal};
use std::net::SocketAddr;

use anyhow::{Context, anyhow, bail};
use time::OffsetDateTime;
use tokio::net::TcpListener;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::prelude::*;

use super::place::{Data, demo_beside};
use super::say;
use crate::store::{Store, keep_daily_copies};
use crate::{demo, web};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    data: Data,
    /// Where to listen; port 0 takes any that is free.
    #[arg(
        long,
        value_name = "ADDR:PORT",
        env = "GYLEBOOK_LISTEN",
        default_value = "127.0.0.1:4710",
        value_parser = address
    )]
    listen: String,
    /// Open the demo brew house, which has a data file of its own.
    #[arg(long)]
    demo: bool,
    /// Let other devices on the network pair with it.
    #[arg(long)]
    lan: bool,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    if args.lan {
        bail!("Pairing other devices is not built yet, so --lan would leave the book open to all; run it without.");
    }
    log_to_stderr();
    // Caught from here on, so that a signal right after the ready line is not missed.
    let stop = stop_signal().context("Ctrl-C and SIGTERM can't be caught on this system.")?;
    let listener = TcpListener::bind(&args.listen).await.map_err(|why| cannot_listen(&args.listen, &why))?;
    let address = listener.local_addr()?;
    if !address.ip().is_loopback() {
        bail!("{address} can be reached from other devices, which needs --lan; listen on 127.0.0.1 without it.");
    }
    let file = args.data.file()?;
    let store = if args.demo {
        demo::open(&demo_beside(&file), OffsetDateTime::now_utc()).await?
    } else {
        Store::open(&file).await?
    };
    let options = web::Options { lan: args.lan, demo: args.demo };
    let served = serve(&store, listener, options, stop).await;
    // Whatever happened, the book is closed and nothing is left beside it.
    store.close().await;
    served
}

async fn serve(
    store: &Store,
    listener: TcpListener,
    options: web::Options,
    stop: impl Future<Output = ()> + Send + 'static,
) -> anyhow::Result<()> {
    say(format_args!("Gylebook is open at http://{}", listener.local_addr()?))?;
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

fn cannot_listen(listen: &str, why: &io::Error) -> anyhow::Error {
    match why.kind() {
        io::ErrorKind::AddrInUse => anyhow!(
            "{listen} is taken by another program, maybe another Gylebook. Stop that one, or name another with --listen."
        ),
        _ => anyhow!("{listen} can't be listened on ({why}). Name another with --listen."),
    }
}

/// An address and a port, so that a slip in either is wrong usage, not a failure.
fn address(text: &str) -> Result<String, String> {
    let wanted = || "an address and a port are needed, like 127.0.0.1:4710".to_owned();
    if text.parse::<SocketAddr>().is_ok() {
        return Ok(text.to_owned());
    }
    let (host, port) = text.rsplit_once(':').ok_or_else(wanted)?;
    let named = !host.is_empty() && host.chars().all(|one| one.is_ascii_alphanumeric() || "-.".contains(one));
    if named && port.parse::<u16>().is_ok() { Ok(text.to_owned()) } else { Err(wanted()) }
}

fn log_to_stderr() {
    let levels = Targets::new().with_default(tracing::Level::WARN).with_target("gylebook", tracing::Level::INFO);
    // Colour codes would only be noise in a file.
    let lines = tracing_subscriber::fmt::layer().with_writer(io::stderr).with_ansi(io::stderr().is_terminal());
    tracing_subscriber::registry().with(lines.with_filter(levels)).init();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_has_a_host_and_a_port() {
        for right in ["127.0.0.1:0", "[::1]:4710", "localhost:80", "shelf-2.local:4710"] {
            assert_eq!(address(right).as_deref(), Ok(right));
        }
        for wrong in ["", "4710", ":4710", "localhost", "localhost:", "localhost:70000", "a b:1", "::1:x"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }
}
