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
pub mod day_pictures;
pub mod devices;
pub mod equipment;
pub mod error;
pub mod figures;
pub mod figures_csv;
pub mod form;
pub mod glossary;
pub mod guard;
pub mod health;
pub mod home;
mod instruments;
pub mod keep;
pub mod lists;
pub mod log;
pub mod log_files;
pub mod page;
pub mod pair;
pub mod recipes;
mod resend;
mod serving;
pub mod settings;
pub mod sheet;
mod shelf;
pub mod stage_labels;
pub mod stages;
pub mod starter;
pub mod strip;
pub mod units;
pub mod wall;
pub mod welcome;
pub mod when;

#[cfg(test)]
mod tests;

use std::{sync::Arc, time::Duration};

use axum::{
    Router,
    extract::DefaultBodyLimit,
    http::StatusCode,
    middleware::{from_fn, from_fn_with_state, map_response},
};
use time::OffsetDateTime;
use tokio::sync::watch;
use tokio_rustls::rustls::ServerConfig;
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
pub use serving::{serve, serve_app};
pub use wall::Wall;

use crate::store::Store;

/// The most a request may bring: an outbox of a long day is a tenth of it.
const BODY_MOST_BYTES: usize = 1024 * 1024;
/// How long a request's body may take to come and a handler to begin its answer.
/// An event stream begins at once, so it is not cut off by this.
const ANSWER_WITHIN: Duration = Duration::from_secs(30);

/// What every handler can reach.
#[derive(Clone, Debug)]
pub struct App {
    /// The book.
    pub store: Store,
    /// How the server was started.
    pub options: Options,
    /// What time it is.
    pub wall: Wall,
    answer_within: Duration,
    stopping: watch::Sender<bool>,
    paces: guard::pace::Paces,
    streams: guard::streams::Streams,
    shown: devices::Shown,
    shelf: shelf::Shelf,
}

/// How the server was started.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Whether other devices on the network may pair with it.
    pub lan: bool,
    /// Whether this is the demo brew house.
    pub demo: bool,
    /// Where other devices reach it: `http://192.168.1.20:4710`.
    pub address: Option<String>,
    /// Names it answers to beside its addresses and those of the machine.
    pub hosts: Vec<String>,
    /// The certificate and its key, where it speaks TLS.
    pub tls: Option<Arc<ServerConfig>>,
}

impl Options {
    /// Whether what is sent can be read by nobody on the way.
    #[must_use]
    pub fn is_secure(&self) -> bool {
        self.tls.is_some()
    }
}

impl App {
    /// A server's state, before it serves.
    #[must_use]
    pub fn new(store: Store, options: Options) -> Self {
        Self {
            store,
            options,
            wall: Wall::default(),
            answer_within: ANSWER_WITHIN,
            stopping: watch::Sender::new(false),
            paces: Default::default(),
            streams: Default::default(),
            shown: Default::default(),
            shelf: Default::default(),
        }
    }

    /// The same by another clock.
    #[must_use]
    pub fn by(self, wall: Wall) -> Self {
        Self { wall, ..self }
    }

    /// The same, less patient or more: how long a request's body may take to
    /// come, and a handler to begin its answer.
    #[must_use]
    pub fn answering_within(self, answer_within: Duration) -> Self {
        Self { answer_within, ..self }
    }

    /// What time it is, UTC.
    #[must_use]
    pub fn now(&self) -> OffsetDateTime {
        self.wall.now()
    }

    /// Tells whatever follows the log that the server stops.
    fn stop(&self) {
        self.stopping.send_replace(true);
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
        .merge(log_files::router())
        .merge(chill_plan::router())
        .merge(stages::router())
        .merge(sheet::router())
        .merge(recipes::router())
        .merge(equipment::router())
        .merge(compare::router())
        .merge(settings::router())
        .merge(keep::router())
        .merge(lists::router())
        .merge(devices::router())
        .merge(pair::router())
        .merge(api::router())
        .merge(glossary::router())
        .merge(assets::router())
        .merge(health::router())
}

/// What every request and every answer goes through.
fn guarded(routes: Router<App>, app: &App) -> Router<App> {
    let app = || app.clone();
    routes
        .fallback(|| async { AppError::NotFound })
        .method_not_allowed_fallback(|| async { AppError::Status(StatusCode::METHOD_NOT_ALLOWED) })
        // The last layer named is the first to see a request.
        .layer(DefaultBodyLimit::max(BODY_MOST_BYTES))
        .layer(from_fn(resend::keep))
        .layer(from_fn_with_state(app(), shelf::check))
        .layer(from_fn_with_state(app(), guard::form_token::check))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, app().answer_within))
        .layer(CompressionLayer::new().compress_when(compressible()))
        .layer(from_fn_with_state(app(), guard::door::check))
        .layer(from_fn_with_state(app(), guard::origin::check))
        .layer(from_fn_with_state(app(), guard::pace::check))
        .layer(from_fn_with_state(app(), guard::host::check))
        .layer(CatchPanicLayer::custom(error::after_panic))
        .layer(from_fn_with_state(app(), error::as_page_or_problem))
        // What went wrong inside is logged where it is told, once.
        .layer(TraceLayer::new_for_http().on_failure(()))
        .layer(map_response(guard::headers::add))
}

/// The font is compressed as it is. A copy of the book keeps its length in the
/// answer's head, so that half of one is known for what it is.
fn compressible() -> impl Predicate {
    let not = NotForContentType::const_new;
    DefaultPredicate::new().and(not("font/")).and(not(keep::COPY_TYPE))
}
