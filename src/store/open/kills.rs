//! A server killed while it brings a file up to date: the file is then of the
//! old version or of the new one, and never of anything between.
//!
//! The kills are real. This test program runs itself again, as a child that opens
//! the file and dies on the spot in the middle of the step: after so many
//! instructions of SQLite's machine, counted from the first statement on.

use std::process::Command;

use sqlx::sqlite::SqliteConnection;

use super::*;

/// Where the child finds its file, and after how many instructions it dies.
const FILE: &str = "GYLEBOOK_TEST_KILL_FILE";
const AFTER: &str = "GYLEBOOK_TEST_KILL_AFTER";
/// Kills for each earlier version, spread over the whole of the step.
const KILLS: u64 = 60;
/// What the child says when it was done before it had to die.
const DONE: i32 = 0;

/// Everything the schema says, and the records of the old book.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Stand {
    version: i64,
    schema: Vec<(String, Option<String>)>,
    recipes: i64,
}

async fn stand(path: &Path) -> Stand {
    let mut file = options(path).connect().await.unwrap();
    let ok: String = sqlx::query_scalar("pragma integrity_check").fetch_one(&mut file).await.unwrap();
    assert_eq!(ok, "ok");
    let stand = Stand {
        version: sqlx::query_scalar("select max(version) from _sqlx_migrations").fetch_one(&mut file).await.unwrap(),
        schema: sqlx::query_as("select name, sql from sqlite_schema order by name").fetch_all(&mut file).await.unwrap(),
        recipes: sqlx::query_scalar("select count(*) from recipe_revision").fetch_one(&mut file).await.unwrap(),
    };
    file.close().await.unwrap();
    stand
}

/// A book as the version that knew these steps left it, with something in it.
async fn old_book(path: &Path, version: i64) {
    let steps = MIGRATIONS.iter().filter(|step| step.version <= version).cloned().collect();
    let options = options(path).create_if_missing(true).journal_mode(SqliteJournalMode::Wal);
    let mut file: SqliteConnection = options.connect().await.unwrap();
    sqlx::query(SET_APPLICATION_ID).execute(&mut file).await.unwrap();
    Migrator::with_migrations(steps).run(&mut file).await.unwrap();
    for number in 1..=50 {
        sqlx::query("insert into recipe (recipe_id, created_ms) values (?, 0)")
            .bind(number)
            .execute(&mut file)
            .await
            .unwrap();
        sqlx::query("insert into recipe_revision values (?, 1, 'Pale', '{}', 0)")
            .bind(number)
            .execute(&mut file)
            .await
            .unwrap();
    }
    file.close().await.unwrap();
}

/// Copies a file with all that lies beside it.
fn copied(from: &Path, to: &Path) {
    for ending in ["", "-wal", "-shm"] {
        let (from, to) = (super::super::lock::beside(from, ending), super::super::lock::beside(to, ending));
        let _ = fs::remove_file(&to);
        if from.exists() {
            fs::copy(from, to).unwrap();
        }
    }
}

/// Runs the child; tells whether it lived to the end.
fn run_child(path: &Path, after: u64) -> bool {
    let status = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "store::open::kills::child", "--ignored", "--quiet"])
        .env(FILE, path)
        .env(AFTER, after.to_string())
        .output()
        .unwrap()
        .status;
    status.code() == Some(DONE)
}

#[tokio::test]
#[ignore = "it is the child that is killed"]
async fn child() {
    let (Ok(path), Ok(after)) = (std::env::var(FILE), std::env::var(AFTER)) else { return };
    let after: u64 = after.parse().unwrap();
    let path = PathBuf::from(path);
    let store = Store::connect(path, None, true).await.unwrap();
    let mut counted = 0;
    let mut writer = store.0.writer.acquire().await.unwrap();
    writer.lock_handle().await.unwrap().set_progress_handler(1, move || {
        counted += 1;
        if counted >= after {
            // No unwinding, no closing, no farewell.
            std::process::abort();
        }
        true
    });
    drop(writer);
    store.migrate().await.unwrap();
}

#[tokio::test]
async fn a_step_killed_anywhere_is_done_or_not_begun() {
    let folder = tempfile::tempdir().unwrap();
    let versions: Vec<i64> = MIGRATIONS.iter().map(|step| step.version).collect();
    let (newest, earlier) = versions.split_last().unwrap();
    assert!(!earlier.is_empty());
    for version in earlier {
        let (old, file) = (folder.path().join(format!("old-{version}.db")), folder.path().join("book.db"));
        old_book(&old, *version).await;
        let before = stand(&old).await;
        assert_eq!((before.version, before.recipes), (*version, 50));

        // How many instructions there are: the child doubles them until it lives.
        let mut most = 512;
        loop {
            copied(&old, &file);
            if run_child(&file, most) {
                break;
            }
            most *= 2;
        }
        let after = stand(&file).await;
        assert_eq!((after.version, after.recipes), (*newest, 50));

        let mut died = 0;
        for kill in 0..KILLS {
            copied(&old, &file);
            let lived = run_child(&file, 1 + kill * most / KILLS);
            let now = stand(&file).await;
            died += u64::from(now == before);
            // A kill behind the commit comes too late; one that the child lived through never came.
            assert!(now == after || (now == before && !lived), "killed at {kill} of {KILLS}: {now:?}");
        }
        assert!(died >= KILLS / 3, "the kills hit the step: {died} of {KILLS}");

        // And what was killed goes on as if nothing had been.
        copied(&old, &file);
        assert!(!run_child(&file, most / 8));
        Store::connect(file.clone(), None, true).await.unwrap().migrate().await.unwrap();
        assert_eq!(stand(&file).await, after);
    }
}
