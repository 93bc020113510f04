//! What is opened, what is refused, and that a refused file is left as it is.

use super::*;
use crate::store::testing::{Book, book};

fn names(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<_> = names.collect();
    names.sort();
    names
}

async fn pragma(pool: &SqlitePool, name: &'static str) -> String {
    sqlx::query_scalar::<_, String>(name).fetch_one(pool).await.unwrap()
}

#[tokio::test]
async fn a_book_is_opened_as_it_should_be() {
    let Book { store, folder: _folder } = book().await;
    assert_eq!(pragma(&store.0.writer, "pragma journal_mode").await, "wal");
    let number = async |pool, pragma| sqlx::query_scalar::<_, i64>(pragma).fetch_one(pool).await.unwrap();
    assert_eq!(number(&store.0.writer, "pragma synchronous").await, 2);
    for pool in [&store.0.writer, &store.0.readers] {
        assert_eq!(number(pool, "pragma foreign_keys").await, 1);
        assert_eq!(number(pool, "pragma busy_timeout").await, 5000);
    }
    assert!(sqlx::query("delete from setting").execute(&store.0.readers).await.is_err());
    store.ready().await.unwrap();
}

#[tokio::test]
async fn sqlite_is_past_the_version_that_loses_commits() {
    let Book { store, folder: _folder } = book().await;
    let version = pragma(&store.0.readers, "select sqlite_version()").await;
    let parts: Vec<u32> = version.split('.').map(|part| part.parse().unwrap()).collect();
    assert!(parts >= vec![3, 51, 3], "{version}");
}

#[tokio::test]
async fn folders_are_made_and_nothing_is_left_beside_a_closed_book() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("deep/er/book.db");
    let store = Store::open(&path).await.unwrap();
    assert!(names(path.parent().unwrap()).contains(&"book.db.lock".into()));
    store.settings().await.unwrap();
    store.close().await;
    assert_eq!(names(path.parent().unwrap()), ["book.db"]);
    Store::open(&path).await.unwrap().close().await;
}

#[tokio::test]
async fn two_servers_do_not_share_a_book_but_a_reader_may() {
    let Book { store, folder: _folder } = book().await;
    assert!(matches!(Store::open(store.path()).await, Err(OpenError::InUse(_))));
    let reader = Store::open_to_read(store.path()).await.unwrap();
    reader.settings().await.unwrap();
    assert!(reader.ready().await.is_err());
    reader.close().await;
    store.ready().await.unwrap();
}

#[tokio::test]
async fn what_is_not_ours_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let text = folder.path().join("notes.txt");
    fs::write(&text, "Buy malt. ".repeat(200)).unwrap();
    let other = folder.path().join("other.db");
    let mut theirs = options(&other).create_if_missing(true).connect().await.unwrap();
    sqlx::query("create table theirs (x)").execute(&mut theirs).await.unwrap();
    theirs.close().await.unwrap();
    let before = (fs::read(&text).unwrap(), fs::read(&other).unwrap());

    assert!(matches!(Store::open(&text).await, Err(OpenError::NotADatabase(_))));
    assert!(matches!(Store::open(&other).await, Err(OpenError::Foreign(_))));
    assert!(matches!(Store::open(folder.path()).await, Err(OpenError::Folder(_))));
    let below_a_file = Store::open(text.join("book.db")).await;
    assert!(matches!(below_a_file, Err(OpenError::NotWritable { .. })));
    let missing = Store::open_to_read(folder.path().join("none.db")).await;
    assert!(matches!(missing, Err(OpenError::Missing(_))));

    assert_eq!((fs::read(&text).unwrap(), fs::read(&other).unwrap()), before);
    assert_eq!(names(folder.path()), ["notes.txt", "other.db"]);
}

#[tokio::test]
async fn a_file_from_a_newer_version_is_refused_and_left_as_it_is() {
    let Book { store, folder: _folder } = book().await;
    sqlx::query("insert into _sqlx_migrations select 999, description, installed_on, success, checksum, 0 from _sqlx_migrations limit 1")
        .execute(&store.0.writer)
        .await
        .unwrap();
    let path = store.path().to_owned();
    store.close().await;
    let before = fs::read(&path).unwrap();
    assert!(matches!(Store::open(&path).await, Err(OpenError::Newer(_))));
    assert!(matches!(Store::open_to_read(&path).await, Err(OpenError::Newer(_))));
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[tokio::test]
async fn a_step_that_fails_leaves_the_file_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.db");
    // Ours by its mark, but a table of the first step is in the way of it.
    let mut old = options(&path).create_if_missing(true).connect().await.unwrap();
    for step in [
        SET_APPLICATION_ID,
        "create table _sqlx_migrations (version bigint primary key, description text not null, installed_on timestamp, success boolean not null, checksum blob not null, execution_time bigint not null)",
        "create table summary (x)",
    ] {
        sqlx::query(step).execute(&mut old).await.unwrap();
    }
    old.close().await.unwrap();
    assert!(matches!(Store::open(&path).await, Err(OpenError::Migration { .. })));
    let mut after = options(&path).connect().await.unwrap();
    let tables: Vec<String> =
        sqlx::query_scalar("select name from sqlite_schema where type = 'table'").fetch_all(&mut after).await.unwrap();
    assert_eq!(tables, ["_sqlx_migrations", "summary"]);
    assert!(matches!(Store::open_to_read(&path).await, Err(OpenError::Older(_))));
}

#[tokio::test]
async fn a_foreign_lock_on_the_file_is_told_as_such() {
    let Book { store, folder: _folder } = book().await;
    let path = store.path().to_owned();
    store.close().await;
    let mut other = options(&path).connect().await.unwrap();
    sqlx::query("pragma locking_mode = exclusive").execute(&mut other).await.unwrap();
    sqlx::query("begin exclusive").execute(&mut other).await.unwrap();
    assert!(matches!(Store::open(&path).await, Err(OpenError::InUse(_))));
}
