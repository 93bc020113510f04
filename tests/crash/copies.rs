//! A copy of the book onto a disk that is full or gives up.

use std::fs;

use crate::house::House;
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
