//! The pages, and the JSON beside them.
//!
//! Reading order: [`page`] (what every page is told), [`form`] and [`units`]
//! (from what was typed to canonical fields), [`error`] (every refusal is a page
//! with a way back), [`guard`] (who may ask at all), then one file for each
//! family of pages, its `router()` first. No SQL, no formula and no rounding
//! rule lives in a handler.

pub mod api;
pub mod assets;
pub mod batches;
pub mod care;
pub mod chart;
pub mod chill_picture;
pub mod chill_plan;
mod clearance;
pub mod compare;
pub mod equipment;
pub mod error;
pub mod figures;
pub mod form;
pub mod glossary;
pub mod guard;
pub mod health;
pub mod home;
mod instruments;
pub mod lists;
pub mod log;
pub mod page;
pub mod recipes;
mod resend;
pub mod settings;
pub mod sheet;
pub mod stage_labels;
pub mod stages;
pub mod starter;
pub mod strip;
pub mod units;
pub mod welcome;
pub mod when;

#[cfg(test)]
mod tests;

use std::{future::Future, net::SocketAddr, time::Duration};

use axum::{
    Router,
    extract::DefaultBodyLimit,
    http::StatusCode,
    middleware::{from_fn, from_fn_with_state, map_response},
    serve::ListenerExt,
};
use tokio::{net::TcpListener, sync::watch};
use tower_http::{
    catch_panic::CatchPanicLayer,
    compression::{
        CompressionLayer, Predicate,
        predicate::{DefaultPredicate, NotForContentType},
    },
    timeout::TimeoutLayer,
    trace::TraceLayer,
};

pub use error::AppError;
pub use page::{Again, Frame, Page, see_other};

use crate::store::Store;

/// The most a request may bring: an outbox of a long day is a tenth of it.
const BODY_MOST_BYTES: usize = 1024 * 1024;
/// How long a handler may take to begin its answer. An event stream begins at
/// once, so it is not cut off by this.
const ANSWER_WITHIN: Duration = Duration::from_secs(30);
/// How long answers under way may take once the server is told to stop.
const GRACE: Duration = Duration::from_secs(10);

/// What every handler can reach.
#[derive(Clone, Debug)]
pub struct App {
    /// The book.
    pub store: Store,
    /// How the server was started.
    pub options: Options,
    stopping: watch::Sender<bool>,
}

/// How the server was started.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options {
    /// Whether other devices on the network may pair with it.
    pub lan: bool,
    /// Whether this is the demo brew house.
    pub demo: bool,
}

impl App {
    /// A server's state, before it serves.
    #[must_use]
    pub fn new(store: Store, options: Options) -> Self {
        Self { store, options, stopping: watch::Sender::new(false) }
    }

    /// Resolves when the server is told to stop: an event stream ends on it,
    /// as it would hold the server open for ever.
    pub async fn stopping(&self) {
        // The sender lives in `self`, so waiting cannot fail.
        let _ = self.stopping.subscribe().wait_for(|stopping| *stopping).await;
    }
}

/// Every page and resource, behind the guards.
pub fn router(app: App) -> Router {
    guarded(routes(), &app).with_state(app)
}

/// In the order of the sitemap.
fn routes() -> Router<App> {
    Router::new()
        .merge(home::router())
        .merge(welcome::router())
        .merge(batches::router())
        .merge(chill_plan::router())
        .merge(stages::router())
        .merge(sheet::router())
        .merge(recipes::router())
        .merge(equipment::router())
        .merge(compare::router())
        .merge(settings::router())
        .merge(lists::router())
        .merge(api::router())
        .merge(glossary::router())
        .merge(assets::router())
        .merge(health::router())
}

/// What every request and every answer goes through.
fn guarded(routes: Router<App>, app: &App) -> Router<App> {
    routes
        .fallback(|| async { AppError::NotFound })
        .method_not_allowed_fallback(|| async { AppError::Status(StatusCode::METHOD_NOT_ALLOWED) })
        // The last layer named is the first to see a request.
        .layer(DefaultBodyLimit::max(BODY_MOST_BYTES))
        .layer(from_fn(resend::keep))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, ANSWER_WITHIN))
        .layer(CompressionLayer::new().compress_when(compressible()))
        .layer(from_fn(guard::origin::check))
        .layer(from_fn(guard::host::check))
        .layer(CatchPanicLayer::custom(error::after_panic))
        .layer(from_fn_with_state(app.clone(), error::as_page_or_problem))
        // What went wrong inside is logged where it is told, once.
        .layer(TraceLayer::new_for_http().on_failure(()))
        .layer(map_response(guard::headers::add))
}

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
    let app = App::new(store, options);
    let stopping = app.stopping.clone();
    let told = app.clone();
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    // A reading is a small answer: it should not wait to be filled up.
    let listener = listener.tap_io(|stream| {
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!(%error, "no TCP_NODELAY");
        }
    });
    let server = axum::serve(listener, service).with_graceful_shutdown(async move {
        stop.await;
        stopping.send_replace(true);
    });
    tokio::select! {
        ended = server => ended?,
        () = async { told.stopping().await; tokio::time::sleep(GRACE).await } => {
            tracing::warn!("a connection was still open {} s after the server was told to stop", GRACE.as_secs());
        }
    }
    Ok(())
}

/// The font is compressed as it is.
fn compressible() -> impl Predicate {
    DefaultPredicate::new().and(NotForContentType::const_new("font/"))
}
