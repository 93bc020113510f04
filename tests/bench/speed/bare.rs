//! What the stack itself can do: the same crates, profile, runtime, pool and
//! pragmas as the book's server, and nothing of ours in between.
//!
//! - `/still` gives the same words each time (S).
//! - `/row/{id}` reads one row with a prepared statement and gives it as text (B).
//! - `/page/{bytes}/{id}` does the same and writes it into a template as large as
//!   a page of ours (T).
//! - `/commit` writes one row and answers when it is on disk (C).

use std::net::SocketAddr;
use std::path::PathBuf;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Html;
use axum::routing::{get, post};
use axum::serve::ListenerExt;
use axum::{Json, Router};
use serde_json::Value;
use sqlx::SqlitePool;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use tower_http::compression::CompressionLayer;

#[derive(Clone)]
struct Bare {
    readers: SqlitePool,
    writer: SqlitePool,
    padding: &'static str,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = "<!doctype html><title>{{ row }}</title><main><h1>{{ row }}</h1>{{ padding|safe }}</main>"
)]
struct Padded<'a> {
    row: String,
    padding: &'a str,
}

/// Serves until it is killed, and says where on its first line.
#[tokio::main]
#[expect(clippy::print_stdout, reason = "the one who started this reads it")]
pub(crate) async fn serve(book: PathBuf, own: PathBuf) {
    let readers = pool(4).connect_with(options(&book).pragma("query_only", "on")).await.expect("the book");
    let own = options(&own).create_if_missing(true);
    let own = own.journal_mode(SqliteJournalMode::Wal).synchronous(SqliteSynchronous::Full);
    let writer = pool(1).connect_with(own).await.expect("a file of its own");
    sqlx::query("create table if not exists kept (id integer primary key, body text not null) strict")
        .execute(&writer)
        .await
        .expect("a table");
    let padding = "<p>A line of words as long as any other on a page of the record.</p>\n".repeat(20_000);
    let bare = Bare { readers, writer, padding: padding.leak() };
    let routes = Router::new()
        .route("/still", get(async || "the same words each time"))
        .route("/row/{id}", get(row))
        .route("/page/{bytes}/{id}", get(page))
        .route("/commit", post(commit))
        .layer(CompressionLayer::new())
        .with_state(bare);
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port");
    println!("http://{}", listener.local_addr().expect("an address"));
    let listener = listener.tap_io(|stream| drop(stream.set_nodelay(true)));
    axum::serve(listener, routes.into_make_service_with_connect_info::<SocketAddr>()).await.expect("served");
}

async fn row(State(bare): State<Bare>, Path(id): Path<i64>) -> String {
    read(&bare, id).await
}

async fn page(State(bare): State<Bare>, Path((bytes, id)): Path<(usize, i64)>) -> Html<String> {
    let row = read(&bare, id).await;
    let padding = &bare.padding[..bytes.min(bare.padding.len())];
    Html(Padded { row, padding }.render().expect("a page"))
}

async fn read(bare: &Bare, id: i64) -> String {
    let row = sqlx::query_scalar::<_, String>("select name from batch where batch_id = ?").bind(id);
    row.fetch_optional(&bare.readers).await.expect("read").unwrap_or_default()
}

async fn commit(State(bare): State<Bare>, Json(body): Json<Value>) -> &'static str {
    let mut change = bare.writer.begin_with("begin immediate").await.expect("begun");
    let row = sqlx::query("insert into kept (body) values (?)").bind(body.to_string());
    row.execute(&mut *change).await.expect("written");
    change.commit().await.expect("on disk");
    "kept"
}

fn options(path: &std::path::Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new().filename(path).foreign_keys(true).pragma("recursive_triggers", "on")
}

fn pool(connections: u32) -> SqlitePoolOptions {
    SqlitePoolOptions::new().max_connections(connections).idle_timeout(None).max_lifetime(None)
}
