//! Copies day after day, also where the clock, the disk or the data file misbehaves.

use super::*;
use crate::store::testing::{Book, NOON, book, recipe};

const DAY: time::Duration = time::Duration::DAY;

fn names(store: &Store) -> Vec<String> {
    let copies = store.daily_copies();
    copies.iter().map(|copy| copy.path.file_name().unwrap().to_str().unwrap().to_owned()).collect()
}

async fn write(store: &Store, name: &str) {
    store.add_recipe(&recipe(name), NOON).await.unwrap();
}

#[tokio::test]
async fn seven_days_are_kept_and_each_is_a_book() {
    let Book { store, folder: _folder } = book().await;
    assert_eq!(store.copy_of_the_day(NOON).await.outcome, DailyOutcome::Empty);
    for day in 0..10 {
        write(&store, &format!("Pale {day}")).await;
        assert_eq!(store.copy_of_the_day(NOON + DAY * day).await.outcome, DailyOutcome::Made);
    }
    let wanted: Vec<_> = (0..7).map(|back| format!("{:04}-2026-03-{:02}.db", 10 - back, 16 - back)).collect();
    assert_eq!(names(&store), wanted);
    for (copy, recipes) in store.daily_copies().iter().zip((4..=10).rev()) {
        let kept = Store::open_to_read(&copy.path).await.unwrap();
        assert_eq!(kept.recipes("", false).await.unwrap().len(), recipes);
        kept.close().await;
    }
}

#[tokio::test]
async fn a_second_copy_of_a_day_takes_the_place_of_the_first_and_an_unchanged_one_of_none() {
    let Book { store, folder: _folder } = book().await;
    write(&store, "Pale").await;
    store.copy_of_the_day(NOON).await;
    assert_eq!(store.copy_of_the_day(NOON + DAY).await.outcome, DailyOutcome::Unchanged);
    store.ready().await.unwrap();
    assert_eq!(store.copy_of_the_day(NOON + DAY * 2).await.outcome, DailyOutcome::Unchanged);
    assert_eq!(names(&store), ["0001-2026-03-07.db"]);
    write(&store, "Stout").await;
    let later = NOON + time::Duration::hours(3);
    assert_eq!(store.copy_of_the_day(later).await, DailyTry { at: later, outcome: DailyOutcome::Made });
    assert_eq!(names(&store), ["0001-2026-03-07.db"]);
    assert_eq!(store.last_daily_copy().unwrap().at, later);
}

#[tokio::test]
async fn a_clock_that_jumps_ahead_and_back_pushes_no_good_copy_out() {
    let Book { store, folder: _folder } = book().await;
    for (round, at) in [NOON, NOON + DAY * 9000, NOON + DAY, NOON - DAY * 9000, NOON + DAY * 2].into_iter().enumerate()
    {
        write(&store, &format!("Pale {round}")).await;
        store.copy_of_the_day(at).await;
    }
    let wanted =
        ["0005-2026-03-09.db", "0004-2001-07-16.db", "0003-2026-03-08.db", "0002-2050-10-27.db", "0001-2026-03-07.db"];
    assert_eq!(names(&store), wanted);
}

#[tokio::test]
async fn a_damaged_book_leaves_its_good_copies_alone() {
    let Book { store, folder: _folder } = book().await;
    for number in 0..200 {
        write(&store, &format!("Pale {number}")).await;
    }
    store.copy_of_the_day(NOON).await;
    let good = fs::read(&store.daily_copies()[0].path).unwrap();
    let path = store.path().to_owned();
    store.close().await;
    let mut bytes = fs::read(&path).unwrap();
    // A page of recipes: the book opens, and what is on that page can't be read.
    let at = bytes.windows(8).rposition(|eight| eight == b"Pale 100").unwrap() / 4096 * 4096;
    bytes[at..at + 4096].fill(0x5a);
    fs::write(&path, bytes).unwrap();
    let store = Store::open(&path).await.unwrap();
    let done = store.copy_of_the_day(NOON + DAY).await.outcome;
    assert!(matches!(done, DailyOutcome::Failed(_)), "{done:?}");
    assert_eq!(names(&store), ["0001-2026-03-07.db"]);
    assert_eq!(fs::read(&store.daily_copies()[0].path).unwrap(), good);
    assert_eq!(fs::read_dir(folder(&path)).unwrap().count(), 1, "nothing half made is left");
}

#[tokio::test]
async fn a_copy_that_can_not_be_written_says_so_and_writing_goes_on() {
    let Book { store, folder: _folder } = book().await;
    write(&store, "Pale").await;
    // A file where the folder should be stands for any disk that refuses.
    fs::write(folder(store.path()), "in the way").unwrap();
    let DailyOutcome::Failed(why) = store.copy_of_the_day(NOON).await.outcome else { panic!("it failed") };
    assert!(why.contains("book.db.copies could not be written"), "{why}");
    write(&store, "Stout").await;
}

#[tokio::test]
async fn what_a_killed_copy_left_is_swept_up_and_nothing_else() {
    let Book { store, folder: home } = book().await;
    write(&store, "Pale").await;
    store.copy_of_the_day(NOON).await;
    let path = store.path().to_owned();
    store.close().await;
    let mine = [part_of(&path), part_of(&folder(&path).join("0002-2026-03-08.db"))];
    let others = [home.path().join("copy.db.part-1"), home.path().join("letter.txt"), folder(&path).join("note.txt")];
    mine.iter().chain(&others).for_each(|file| fs::write(file, "x").unwrap());
    Store::open(&path).await.unwrap().close().await;
    assert!(mine.iter().all(|file| !file.exists()));
    assert!(others.iter().all(|file| file.exists()));
    assert_eq!(kept(&folder(&path)).len(), 1);
}

#[tokio::test]
async fn a_copy_to_send_is_whole_and_leaves_nothing_behind() {
    use std::io::Read;
    let Book { store, folder } = book().await;
    write(&store, "Pale").await;
    let before = fs::read_dir(&folder).unwrap().count();
    let (mut file, bytes) = store.copy_to_send().await.unwrap();
    assert_eq!(fs::read_dir(&folder).unwrap().count(), before);
    let mut sent = Vec::new();
    file.read_to_end(&mut sent).unwrap();
    assert_eq!(sent.len() as u64, bytes);
    let got = folder.path().join("got.db");
    fs::write(&got, sent).unwrap();
    let got = Store::open(&got).await.unwrap();
    assert_eq!(got.recipes("", false).await.unwrap().len(), 1);
}

#[test]
fn a_day_is_never_missed_and_a_jumping_clock_gets_no_copy_for_each_jump() {
    let hours = |hours: u64| Duration::from_secs(hours * 3600);
    for (since, another_day, wanted) in [
        (0, false, false),
        // The clock was set right a minute after the start.
        (0, true, false),
        (5, true, false),
        // Begun in the evening: the new day gets its copy in the night.
        (7, true, true),
        (22, false, false),
        // A clock that stands still, as on a board without a battery.
        (23, false, true),
    ] {
        assert_eq!(is_due(hours(since), another_day), wanted, "{since} h, another day: {another_day}");
    }
}

#[test]
fn two_files_are_the_same_to_the_last_byte_or_not() {
    let folder = tempfile::tempdir().unwrap();
    let (one, other) = (folder.path().join("one"), folder.path().join("other"));
    for size in [0, 1, PIECE_BYTES, PIECE_BYTES + 1, PIECE_BYTES * 2 + 17] {
        let mut bytes = vec![7; size];
        fs::write(&one, &bytes).unwrap();
        fs::write(&other, &bytes).unwrap();
        assert!(is_same(&one, &other).unwrap(), "{size}");
        if let Some(last) = bytes.last_mut() {
            *last = 8;
            fs::write(&other, &bytes).unwrap();
            assert!(!is_same(&one, &other).unwrap(), "{size}");
            fs::write(&other, &bytes[..size - 1]).unwrap();
            assert!(!is_same(&one, &other).unwrap(), "{size}");
        }
    }
    assert!(is_same(&one, &folder.path().join("none")).is_err());
}
