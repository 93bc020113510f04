//! What is refused: a sentence, the right status, and a file left as it was.

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::process::Command;

use crate::{House, assert_fails, gylebook, output, text};

const SERVE: [&str; 3] = ["serve", "--listen", "127.0.0.1:0"];

#[test]
fn what_is_no_book_is_left_as_it_is() {
    let house = House::new();
    let letter = "Dear all, the malt has come. ".repeat(100);
    fs::write(house.book(), &letter).unwrap();
    let commands: [&[&str]; 3] = [&SERVE, &["check"], &["export", "1", "--as", "json"]];
    for command in commands {
        assert_fails(&house.run(command), &["is not a data file of Gylebook", "left as it is", "--data"]);
    }
    assert_eq!(fs::read_to_string(house.book()).unwrap(), letter);
    assert_eq!(house.names(), ["book.db"]);
}

#[tokio::test]
async fn a_database_of_another_program_is_left_as_it_is() {
    let house = House::new();
    sqlite(&house, "create table theirs (x); insert into theirs values (1)").await;
    let before = fs::read(house.book()).unwrap();
    assert_fails(&house.run(SERVE), &["belongs to another program", "left as it is"]);
    assert_eq!(fs::read(house.book()).unwrap(), before);
    assert_eq!(house.names(), ["book.db"]);
}

#[tokio::test]
async fn a_book_from_a_newer_version_is_left_as_it_is() {
    let house = House::new();
    gylebook::store::Store::open(house.book()).await.unwrap().close().await;
    sqlite(&house, "update _sqlx_migrations set version = 9999 where version = 1").await;
    let before = fs::read(house.book()).unwrap();
    assert_fails(&house.run(SERVE), &["newer Gylebook", "left as it is"]);
    assert_fails(&house.run(["check"]), &["newer Gylebook"]);
    assert_eq!(fs::read(house.book()).unwrap(), before);
}

#[test]
fn a_place_that_cannot_be_written_is_named() {
    let house = House::new();
    fs::create_dir(house.at("folder")).unwrap();
    fs::write(house.at("file"), "x").unwrap();
    let folder = output(gylebook().args(SERVE).arg("--data").arg(house.at("folder")));
    assert_fails(&folder, &["folder is a folder"]);
    let below = output(gylebook().args(SERVE).arg("--data").arg(house.at("file/book.db")));
    assert_fails(&below, &["can't be written", "--data"]);
}

#[test]
fn a_file_or_folder_without_the_right_to_write_is_named() {
    let house = House::new().with_a_batch();
    let folder = house.0.path();
    let binary = house.at("gylebook");
    fs::copy(env!("CARGO_BIN_EXE_gylebook"), &binary).unwrap();
    let mode = |path: &std::path::Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    let run = || {
        let mut command = Command::new(&binary);
        command.args(SERVE).env_remove("GYLEBOOK_DATA").arg("--data").arg(house.book());
        // Root may write anywhere, so a tester who is root steps down.
        if fs::metadata(folder).unwrap().uid() == 0 {
            command.uid(65534).gid(65534);
        }
        output(&mut command)
    };
    let before = fs::read(house.book()).unwrap();
    mode(&house.book(), 0o444);
    mode(folder, 0o777);
    assert_fails(&run(), &["book.db can't be written", "writable"]);
    mode(folder, 0o555);
    assert_fails(&run(), &["can't be written", "writable"]);
    mode(folder, 0o755);
    assert_eq!(fs::read(house.book()).unwrap(), before);
    assert_eq!(house.names(), ["book.db", "gylebook"]);
}

#[test]
fn a_book_that_is_not_there_is_not_begun_by_looking() {
    let house = House::new();
    for command in [&["check"][..], &["export", "1", "--as", "csv"], &["backup", "copy.db"]] {
        assert_fails(&house.run(command), &["no data file", "--data"]);
    }
    assert_eq!(house.names(), [""; 0]);
}

#[test]
fn wrong_usage_is_status_2_with_what_would_be_right() {
    let cases: [(&[&str], &str); 9] = [
        (&[], "Usage: gylebook"),
        (&["brew"], "brew"),
        (&["serve", "--port", "80"], "--port"),
        (&["serve", "--listen", "kitchen"], "127.0.0.1:4710"),
        (&["backup"], "<FILE>"),
        (&["export"], "<BATCH>"),
        (&["export", "one", "--as", "json"], "`all`"),
        (&["export", "1"], "--as"),
        (&["export", "1", "--as", "pdf"], "json, csv, html"),
    ];
    for (args, words) in cases {
        let output = output(gylebook().args(args));
        let stderr = text(&output.stderr);
        assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(2), ""), "{args:?}: {stderr}");
        assert!(stderr.contains(words), "{args:?}: {stderr}");
    }
    let wrong = output(gylebook().arg("serve").env("GYLEBOOK_LISTEN", "kitchen"));
    assert_eq!(wrong.status.code(), Some(2));
}

#[test]
fn help_and_version_are_answers_not_failures() {
    for (arg, words) in [("--help", "restore"), ("--version", env!("CARGO_PKG_VERSION"))] {
        let output = output(gylebook().arg(arg));
        assert_eq!(output.status.code(), Some(0));
        assert!(text(&output.stdout).contains(words));
    }
}

async fn sqlite(house: &House, statements: &'static str) {
    sqlite_at(&house.book(), statements).await;
}

/// Changes a file behind the program's back, or begins one that is another program's.
pub(crate) async fn sqlite_at(file: &std::path::Path, statements: &'static str) {
    use sqlx::{ConnectOptions, Connection, Executor, sqlite::SqliteConnectOptions};
    let options = SqliteConnectOptions::new().filename(file).create_if_missing(true);
    let mut connection = options.connect().await.unwrap();
    connection.execute(statements).await.unwrap();
    connection.close().await.unwrap();
}
