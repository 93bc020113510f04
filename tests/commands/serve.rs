//! `serve`: the ready line, and how it ends.

use std::fs;

use crate::{House, Server, assert_done, assert_fails, gylebook};

fn exported(house: &House) -> String {
    assert_done(&house.run(["export", "1", "--as", "json"]))
}

#[test]
fn it_answers_at_the_address_it_prints_and_says_nothing_else() {
    let house = House::new();
    let server = Server::start(&house.book());
    assert!(!server.address.ends_with(":0"), "{}", server.address);
    let health = server.get("/healthz");
    assert!(health.starts_with("HTTP/1.1 200 "), "{health}");
    let (status, rest) = server.signal("INT");
    assert_eq!((status.code(), rest.as_str()), (Some(0), ""));
}

#[test]
fn sigterm_and_ctrl_c_leave_the_book_alone_in_its_folder_with_all_that_was_in_it() {
    for signal in ["TERM", "INT"] {
        let house = House::new().with_a_batch();
        let before = exported(&house);
        let server = Server::start(&house.book());
        // Writes, so that there is a write-ahead log to fold in.
        assert!(server.get("/healthz").starts_with("HTTP/1.1 200 "));
        assert!(house.names().contains(&"book.db-wal".into()));
        let (status, _) = server.signal(signal);
        assert_eq!(status.code(), Some(0));
        assert_eq!(house.names(), ["book.db", "book.db.copies"], "after {signal}");
        let copies: Vec<_> = fs::read_dir(house.at("book.db.copies")).unwrap().map(Result::unwrap).collect();
        assert_eq!(copies.len(), 1, "the copy under way was finished, and nothing half made is left");
        assert!(copies[0].file_name().into_string().unwrap().starts_with("0001-"));
        assert_eq!(exported(&house), before);
    }
}

#[test]
fn a_killed_server_leaves_nothing_in_the_way_of_the_next() {
    let house = House::new().with_a_batch();
    let before = exported(&house);
    let (status, _) = Server::start(&house.book()).signal("KILL");
    assert_eq!(status.code(), None);
    let server = Server::start(&house.book());
    assert!(server.get("/healthz").starts_with("HTTP/1.1 200 "));
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert_eq!(house.names_beside_copies(), ["book.db"]);
    assert_eq!(exported(&house), before);
}

#[test]
fn the_environment_equals_the_flags() {
    let house = House::new();
    let (data, listen) = (house.at("deep/er/house.db"), "127.0.0.1:0");
    let server = Server::from(gylebook().arg("serve").env("GYLEBOOK_DATA", &data).env("GYLEBOOK_LISTEN", listen));
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert!(data.exists());
}

#[test]
fn without_a_name_the_book_is_in_the_data_folder() {
    let house = House::new();
    let home = house.0.path();
    let mut command = gylebook();
    command.args(["serve", "--listen", "127.0.0.1:0"]).env("HOME", home).env("XDG_DATA_HOME", home.join("share"));
    assert_eq!(Server::from(&mut command).signal("TERM").0.code(), Some(0));
    assert!(cfg!(not(target_os = "linux")) || home.join("share/gylebook/gylebook.db").exists());
}

#[test]
fn the_demo_leaves_the_real_book_alone() {
    let house = House::new().with_a_batch();
    let before = fs::read(house.book()).unwrap();
    let mut command = gylebook();
    command.args(["serve", "--demo", "--listen", "127.0.0.1:0", "--data"]).arg(house.book());
    assert_eq!(Server::from(&mut command).signal("TERM").0.code(), Some(0));
    assert_eq!(house.names(), ["book-demo.db", "book.db"]);
    assert_eq!(fs::read(house.book()).unwrap(), before);
}

#[test]
fn a_demo_killed_while_it_is_filled_is_filled_anew() {
    let house = House::new();
    let demo = |house: &House| {
        let mut command = gylebook();
        command.args(["serve", "--demo", "--listen", "127.0.0.1:0", "--data"]).arg(house.book());
        command
    };
    // Killed again and again, ever later, until it has the time to say that it is open.
    let mut killed = 0;
    for wait_ms in (0..).map(|round: u64| 15 * round * round) {
        let mut child =
            demo(&house).stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::null()).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait_ms));
        child.kill().unwrap();
        let said = child.wait_with_output().unwrap().stdout;
        if !said.is_empty() {
            break;
        }
        killed += 1;
        // Whatever bears the demo's name is whole, or has nothing in it yet.
        let batches =
            crate::output(gylebook().args(["export", "all", "--as", "json", "--data"]).arg(house.at("book-demo.db")));
        if batches.status.success() {
            let book: serde_json::Value = serde_json::from_slice(&batches.stdout).unwrap();
            let batches = book["batches"].as_array().unwrap().len();
            assert!(batches == 0 || batches > 8, "killed after {wait_ms} ms: {batches} batches");
        }
    }
    assert!(killed > 1, "it was killed while it was filled");
    let server = Server::from(&mut demo(&house));
    assert!(server.get("/").contains("Slate Yard"));
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert_eq!(house.names(), ["book-demo.db"], "nothing is left of what was cut off");
}

#[test]
fn a_book_is_served_once_and_its_backup_may_be_made_meanwhile() {
    let house = House::new().with_a_batch();
    let server = Server::start(&house.book());
    assert_fails(&house.run(["serve", "--listen", "127.0.0.1:0"]), &["another Gylebook", "--data"]);
    let backup = house.at("copy.db");
    assert_done(&house.run(["backup".as_ref(), backup.as_os_str()]));
    assert_done(&house.run(["check"]));
    assert_fails(&house.run(["restore".as_ref(), backup.as_os_str()]), &["another Gylebook"]);
    assert!(server.get("/healthz").starts_with("HTTP/1.1 200 "));
    assert_eq!(server.signal("TERM").0.code(), Some(0));
    assert_eq!(house.names_beside_copies(), ["book.db", "copy.db"]);
}

#[test]
fn a_taken_port_is_told_and_nothing_is_begun() {
    let house = House::new();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    assert_fails(&house.run(["serve", "--listen", &address]), &[&address, "taken", "--listen"]);
    assert_eq!(house.names(), [""; 0]);
}

#[test]
fn other_devices_are_not_let_in_unguarded() {
    let house = House::new();
    assert_fails(&house.run(["serve", "--listen", "0.0.0.0:0"]), &["--lan"]);
    assert_eq!(house.names(), [""; 0]);
}
