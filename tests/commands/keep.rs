//! Keeping and carrying: backup, restore, check, export, import.

use std::ffi::OsStr;
use std::fs;

use serde_json::{Value, json};

use crate::{House, assert_done, assert_fails};

fn exported(house: &House) -> String {
    assert_done(&house.run(["export", "1", "--as", "json"]))
}

#[test]
fn a_restore_brings_the_backup_back_and_keeps_what_was_there() {
    let house = House::new().with_a_batch();
    let backup = house.at("copy.db");
    let said = assert_done(&house.run([OsStr::new("backup"), backup.as_os_str()]));
    assert!(said.contains("copy.db"), "{said}");
    let before = exported(&house);
    fs::write(house.book(), "the disk has gone bad").unwrap();
    let said = assert_done(&house.run([OsStr::new("restore"), backup.as_os_str()]));
    assert_eq!(exported(&house), before);
    let kept = house.names().into_iter().find(|name| name.starts_with("book.db.until-")).unwrap();
    assert!(said.contains(&kept), "{said}");
    assert_eq!(fs::read_to_string(house.at(&kept)).unwrap(), "the disk has gone bad");
}

#[test]
fn a_bad_backup_replaces_nothing() {
    let house = House::new().with_a_batch();
    let before = fs::read(house.book()).unwrap();
    let bad = house.at("letter.txt");
    fs::write(&bad, "Dear all").unwrap();
    assert_fails(&house.run([OsStr::new("restore"), bad.as_os_str()]), &["letter.txt", "not a data file"]);
    assert_fails(&house.run([OsStr::new("restore"), house.at("none.db").as_os_str()]), &["none.db", "not there"]);
    assert_fails(&house.run([OsStr::new("backup"), bad.as_os_str()]), &["letter.txt", "there already"]);
    assert_eq!(fs::read(house.book()).unwrap(), before);
    assert_eq!(house.names(), ["book.db", "letter.txt"]);
}

#[test]
fn a_check_says_what_it_has_looked_at() {
    let house = House::new().with_a_batch();
    let said = assert_done(&house.run(["check"]));
    assert!(said.contains("sound"), "{said}");
    assert!(said.contains("1 batch, 4 entries"), "{said}");
    assert!(said.contains("all as kept"), "{said}");
    assert_eq!(house.names(), ["book.db"]);
}

#[tokio::test]
async fn a_check_rebuilds_a_summary_that_is_not_what_the_log_says() {
    use sqlx::{ConnectOptions, Connection, Executor, sqlite::SqliteConnectOptions};
    let house = House::new();
    crate::a_brew_day(&house.book()).await;
    let mut book = SqliteConnectOptions::new().filename(house.book()).connect().await.unwrap();
    book.execute("update summary set state = 'closed'").await.unwrap();
    book.close().await.unwrap();
    let said = assert_done(&house.run(["check"]));
    assert!(said.contains("1 not as kept") && said.contains("rebuilt"), "{said}");
    assert!(assert_done(&house.run(["check"])).contains("all as kept"));
}

#[test]
fn a_damaged_book_does_not_pass_the_check() {
    let house = House::new().with_a_batch();
    let mut bytes = fs::read(house.book()).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 6000].fill(0x5a);
    fs::write(house.book(), bytes).unwrap();
    let output = house.run(["check"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(crate::text(&output.stderr).contains("gylebook restore"), "{}", crate::text(&output.stderr));
}

#[test]
fn an_export_holds_the_whole_batch_and_an_import_gives_it_back_to_the_byte() {
    let (here, there) = (House::new().with_a_batch(), House::new());
    let text = exported(&here);
    let body: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(body["recipe"]["name"], "Slate Roof Pale");
    assert_eq!(body["equipment"][0]["name"], "Coil");
    assert_eq!(body["entries"].as_array().unwrap().len(), 4);
    assert!(body["summary"]["chill"].is_object());
    let file = there.at("batch.json");
    fs::write(&file, &text).unwrap();
    assert_eq!(assert_done(&there.run([OsStr::new("import"), file.as_os_str()])), "Imported as batch 1\n");
    assert_eq!(exported(&there), text);
    assert_fails(&there.run([OsStr::new("import"), file.as_os_str()]), &["entries", "already", "nothing was changed"]);
    assert!(assert_done(&there.run(["check"])).contains("1 batch, 4 entries"));
}

#[test]
fn a_bad_import_names_its_fields_and_begins_nothing() {
    let house = House::new();
    let file = house.at("batch.json");
    let import = [OsStr::new("import"), file.as_os_str()];
    assert_fails(&house.run(import), &["batch.json", "can't be read"]);
    fs::write(&file, "{").unwrap();
    assert_fails(&house.run(import), &["batch.json", "not JSON"]);
    let mut body: Value = serde_json::from_str(&exported(&House::new().with_a_batch())).unwrap();
    body["batch"]["volume_l"] = json!(-3);
    body["entries"][2]["temperature_c"] = json!(451);
    fs::write(&file, body.to_string()).unwrap();
    assert_fails(&house.run(import), &["batch.volume_l", "entries.2.temperature_c", "nothing was changed"]);
    assert_eq!(house.names(), ["batch.json"]);
}

#[test]
fn readings_go_out_as_a_table_without_anything_a_spreadsheet_would_run() {
    let house = House::new().with_a_batch();
    let table = assert_done(&house.run(["export", "1", "--as", "csv"]));
    assert_eq!(
        table,
        "at,kind,point,instrument,temperature_c,volume_l,gravity_sg,brix,ph\r\n\
         2026-03-07T11:30:00Z,temperature,wort,,97.1,,,,\r\n\
         2026-03-07T11:40:00Z,temperature,wort,,54.3,,,,\r\n"
    );
}

#[test]
fn what_can_not_be_exported_is_told() {
    let house = House::new().with_a_batch();
    assert_fails(&house.run(["export", "7", "--as", "json"]), &["no batch 7"]);
    assert_fails(&house.run(["export", "7", "--as", "html"]), &["no batch 7"]);
    assert_fails(&house.run(["export", "all", "--as", "html"]), &["one batch"]);
}

#[test]
fn a_record_goes_out_as_one_file_that_needs_nothing_beside_it() {
    let house = House::new().with_a_batch();
    let report = assert_done(&house.run(["export", "1", "--as", "html"]));
    assert!(report.starts_with("<!doctype html>"), "{}", &report[..80]);
    // The name of a picture's kind, not an address.
    let report = report.replace(r#" xmlns="http://www.w3.org/2000/svg""#, "");
    for word in ["<script", "src=", "href=", "url(", "@import", "http://", "https://", "<link", "<iframe", "<object"] {
        assert!(!report.contains(word), "{word} is in the report");
    }
    for word in ["Slate Roof Pale", "97.1", "54.3", "=1+1, \u{201c}quoted"] {
        let plain = word.replace('\u{201c}', "&#34;");
        assert!(report.contains(word) || report.contains(&plain), "{word} is not in the report");
    }
    assert!(report.contains("default-src 'none'"), "its own policy forbids fetching");
}

#[test]
fn a_whole_book_goes_out_and_comes_back_to_the_byte() {
    let (here, there) = (House::new().with_a_batch(), House::new());
    let text = assert_done(&here.run(["export", "all", "--as", "json"]));
    let file = there.at("book.json");
    fs::write(&file, &text).unwrap();
    assert_eq!(assert_done(&there.run([OsStr::new("import"), file.as_os_str()])), "Imported a book of 1 batch\n");
    assert_eq!(assert_done(&there.run(["export", "all", "--as", "json"])), text);
    assert_eq!(exported(&there), exported(&here));
    assert_fails(
        &there.run([OsStr::new("import"), file.as_os_str()]),
        &["has records already", "--data", "nothing was changed"],
    );
    let table = assert_done(&here.run(["export", "all", "--as", "csv"]));
    assert!(table.starts_with("batch,at,kind,"), "{table}");
    assert_eq!(table.lines().nth(1), Some("1,2026-03-07T11:30:00Z,temperature,wort,,97.1,,,,"));
}

/// What a restore may be handed, and words of the sentence each gets.
#[tokio::test]
async fn each_file_that_is_no_backup_gets_its_own_sentence_and_replaces_nothing() {
    let house = House::new();
    crate::a_brew_day(&house.book()).await;
    let good = house.at("good.db");
    assert_done(&house.run([OsStr::new("backup"), good.as_os_str()]));
    let bytes = fs::read(&good).unwrap();
    let at = |name: &str, bytes: &[u8]| {
        let path = house.at(name);
        fs::write(&path, bytes).unwrap();
        path
    };
    let mut damaged = bytes.clone();
    let middle = damaged.len() / 2;
    damaged[middle..middle + 8192].fill(0x5a);
    let newer = at("newer.db", &bytes);
    crate::refuse::sqlite_at(&newer, "update _sqlx_migrations set version = 9999 where version = 1").await;
    let foreign = house.at("foreign.db");
    crate::refuse::sqlite_at(&foreign, "create table theirs (x); insert into theirs values (1)").await;
    let folder = house.at("folder");
    fs::create_dir(&folder).unwrap();
    let text = "Dear all, the malt has come. ".repeat(100);
    // Each: the file, what a restore says of it, and what a server that is to open it says.
    let cases = [
        (at("damaged.db", &damaged), "did not pass its check", None),
        (at("cut.db", &bytes[..bytes.len() / 3]), "did not pass its check", None),
        (at("letter.txt", text.as_bytes()), "is not a data file of Gylebook", Some("is not a data file of Gylebook")),
        (foreign, "belongs to another program", Some("belongs to another program")),
        (newer, "was written by a newer Gylebook", Some("was written by a newer Gylebook")),
        (at("empty.db", b""), "is empty", None),
        (house.at("none.db"), "is not there", None),
        (folder, "is a folder", Some("is a folder")),
    ];
    let before = fs::read(house.book()).unwrap();
    for (file, says, serve_says) in &cases {
        let name = file.file_name().unwrap().to_str().unwrap();
        let was = fs::read(file).ok();
        assert_fails(&house.run([OsStr::new("restore"), file.as_os_str()]), &[name, says, "othing was replaced"]);
        assert_eq!(fs::read(house.book()).unwrap(), before, "{name}");
        if let Some(says) = serve_says {
            let mut serve = crate::gylebook();
            serve.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(file);
            assert_fails(&crate::output(&mut serve), &[name, says]);
        }
        assert_eq!(fs::read(file).ok(), was, "{name} is as it was");
    }
    let left: Vec<_> =
        house.names().into_iter().filter(|name| name.contains("part") || name.contains("until")).collect();
    assert_eq!(left, [""; 0]);
}

#[tokio::test]
async fn a_backup_of_an_older_version_is_put_back_and_brought_up_to_date_when_served() {
    let house = House::new();
    crate::a_brew_day(&house.book()).await;
    let old = house.at("old.db");
    assert_done(&house.run([OsStr::new("backup"), old.as_os_str()]));
    // As the version before the last three steps left it.
    let first = include_str!("../../migrations/1_book.sql");
    let table = &first[first.find("create table summary").expect("the first step makes it")..];
    let table = &table[..table.find(';').expect("the statement ends")];
    let take_back = format!(
        "drop index care_in_order; drop index care_by_act; drop index care_weighed; drop index care_amended;
         drop index use_in_order; drop table made_once; drop table check_lists_before; drop index batch_named; drop table summary; {table};
         create index summary_by_brewed on summary (brewed_ms); delete from _sqlx_migrations where version >= 5"
    )
    .leak();
    crate::refuse::sqlite_at(&old, take_back).await;
    assert_done(&house.run([OsStr::new("restore"), old.as_os_str()]));
    assert_fails(&house.run(["check"]), &["older Gylebook", "gylebook serve"]);
    let server = crate::Server::start(&house.book());
    assert!(server.get("/batches/1").contains("Slate Roof Pale"));
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert!(assert_done(&house.run(["check"])).contains("all as kept"));
}
