//! Makes the schema database that `sqlx::query!` is checked against, so that
//! a fresh clone builds with no database and no environment.

use std::{env, path::PathBuf};

use sqlx::{
    ConnectOptions, Connection,
    migrate::Migrator,
    sqlite::{SqliteConnectOptions, SqliteJournalMode},
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!("cargo::rerun-if-changed=migrations");
    println!("cargo::rerun-if-changed=static");
    println!("cargo::rerun-if-changed=templates");
    let file = PathBuf::from(env::var("OUT_DIR")?).join("schema.db");
    let migrations = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("migrations");
    let runtime = tokio::runtime::Builder::new_current_thread().build()?;
    runtime.block_on(async {
        let _ = std::fs::remove_file(&file);
        let options =
            SqliteConnectOptions::new().filename(&file).create_if_missing(true).journal_mode(SqliteJournalMode::Delete);
        let mut connection = options.connect().await?;
        Migrator::new(migrations).await?.run(&mut connection).await?;
        connection.close().await?;
        Ok::<_, Box<dyn std::error::Error>>(())
    })?;
    // A hand-made URL would break on a checkout path with `?` or `#` in it.
    let url = SqliteConnectOptions::new().filename(&file).read_only(true).to_url_lossy();
    println!("cargo::rustc-env=DATABASE_URL={url}");
    println!("cargo::rustc-env=SQLX_OFFLINE=false");
    Ok(())
}
