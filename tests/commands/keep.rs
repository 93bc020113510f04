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
    assert_fails(&house.run([OsStr::new("restore"), house.at("none.db").as_os_str()]), &["none.db"]);
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
    assert_fails(&house.run(["export", "1", "--as", "html"]), &["not built yet"]);
}
