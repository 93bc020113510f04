//! A copy of the book onto a disk that is full or gives up.

use std::fs;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use time::OffsetDateTime;
use uuid::Uuid;

use crate::house::{House, Server, reading, recipe};
use crate::ledger::ids_in;
use crate::shim::{Disk, EIO, ENOSPC};
use crate::ways::furnish;

/// At every single operation on the copy, with a server on the book, and with a copy there before or none.
#[test]
fn a_copy_that_finds_no_room_is_told_plainly_and_harms_nothing() {
    let house = House::new();
    let server = house.serve();
    let mut client = furnish(&server);
    let folder = house.at("copies");
    fs::create_dir(&folder).expect("a folder");
    let (to, held) = (folder.canonicalize().expect("its path").join("copy.db"), ids_in(&house.book));
    let disk = Disk::under(&house, &to);
    let mut points = 0;
    for (errno, lasts, is_there) in [(ENOSPC, true, false), (ENOSPC, true, true), (EIO, false, true)] {
        let _ = fs::remove_file(&to);
        if is_there {
            disk.spare();
            assert!(house.back_up(&to, &disk).status.success());
        }
        let before = fs::read(&to).ok();
        for after in 0.. {
            disk.strike(after, errno, lasts);
            let done = house.back_up(&to, &disk);
            let struck = disk.struck();
            disk.spare();
            let said = String::from_utf8_lossy(&done.stderr).into_owned();
            let names: Vec<_> = fs::read_dir(&folder).expect("a folder").map(|file| file.expect("a file")).collect();
            assert!(names.iter().all(|file| file.file_name() == "copy.db"), "a part was left: {names:?}");
            if struck == 0 {
                assert!(done.status.success(), "{said}");
                assert!(after > 20, "{after} operations are too few to be a copy");
                break;
            }
            points += 1;
            if done.status.success() {
                // It struck where nothing depended on it.
                continue;
            }
            assert_eq!(done.status.code(), Some(1), "{said}");
            assert!(said.lines().count() == 1 && said.trim_end().ends_with('.'), "{said}");
            assert!(said.contains("could not be written") && said.contains("make room"), "{said}");
            // Until it takes its name, what had the name is as it was; from then on it is whole.
            let now = fs::read(&to).ok();
            assert!(now == before || ids_in(&to) == held, "{said}");
        }
        assert_eq!(client.get("/recipes").expect("an answer").status, 200);
    }
    drop(server);
    house.check();
    assert_eq!(ids_in(&house.book), held);
    println!("{points} failing operations of a copy, none kept by half");
}

/// The copy of the day, made by the server as it starts: at every single operation on it, with an older one
/// of the same day there or none. The server opens all the same, says what is the matter, and takes entries.
#[test]
fn a_copy_of_the_day_that_finds_no_room_is_told_and_harms_neither_book_nor_copy() {
    let house = House::new();
    let server = house.serve();
    drop(furnish(&server));
    drop(server);
    let folder = house.book.with_extension("db.copies");
    fs::create_dir(&folder).expect("there is none before there is something in the book");
    let day = OffsetDateTime::now_utc().date();
    let copy = folder.join(format!("0001-{day}.db"));
    // An older copy of the day, and a book that says more.
    drop(ended_trying(&house.serve(), &copy, None));
    let older = fs::read(&copy).expect("a copy");
    let mut server = house.serve();
    server.client().put("/api/v1/recipes/1", &recipe()).expect("an answer");
    server.kill();
    let disk = Disk::under(&house, &copy);
    let mut told = 0;
    for (errno, lasts, before) in [(ENOSPC, true, None), (ENOSPC, true, Some(&older)), (EIO, false, Some(&older))] {
        for after in 0.. {
            match before {
                Some(before) => fs::write(&copy, before).expect("room for it"),
                None => drop(fs::remove_file(&copy)),
            }
            disk.strike(after, errno, lasts);
            let mut server = house.serve_on(Some(&disk));
            let page = ended_trying(&server, &copy, before);
            let struck = disk.struck();
            disk.spare();
            let entry = reading(Uuid::new_v4(), 60.0);
            assert_eq!(server.client().append(1, &[entry]).expect("an answer").status, 200);
            server.kill();
            let left = names(&folder);
            assert!(left.iter().all(|name| folder.join(name) == copy), "a part was left: {left:?}");
            if struck == 0 {
                assert!(!page.contains(TROUBLE), "{page}");
                assert!(after > 20, "{after} operations are too few to be a copy");
                break;
            }
            told += u64::from(page.contains(TROUBLE));
            let now = fs::read(&copy).ok();
            assert!(now.as_ref() == before || !ids_in(&copy).is_empty(), "neither the one before nor a whole one");
        }
    }
    house.check();
    assert!(told > 60, "{told} is too few to be every operation");
    println!("{told} copies of the day failed and were told, none kept by half");
}

/// What the page of settings says when there is no copy of the day.
const TROUBLE: &str = "No copy of today.";

/// Waits until the server has done with its copy of the day; gives the page that tells of it.
fn ended_trying(server: &Server, copy: &Path, before: Option<&Vec<u8>>) -> String {
    let mut client = server.client();
    for _ in 0..600 {
        let page = client.get("/settings").expect("an answer").text;
        let parts = names(copy.parent().expect("a folder")).iter().any(|name| name.contains(".part-"));
        if page.contains(TROUBLE) || !parts && fs::read(copy).is_ok_and(|now| Some(&now) != before) {
            return page;
        }
        sleep(Duration::from_millis(50));
    }
    panic!("no copy was tried: {}", client.get("/settings").expect("an answer").text)
}

fn names(folder: &Path) -> Vec<String> {
    let files = fs::read_dir(folder).expect("a folder");
    files.map(|file| file.expect("a file").file_name().into_string().expect("plain text")).collect()
}
