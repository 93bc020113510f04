//! A data file of its own, and the server on it.

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Output, Stdio};

use serde_json::{Value, json};
use tempfile::TempDir;
use time::{OffsetDateTime, format_description::well_known::Rfc3339};
use uuid::Uuid;

use crate::client::Client;
use crate::shim::Disk;

/// A folder with a book in it, gone at the end of the test.
pub(crate) struct House {
    folder: TempDir,
    /// The data file.
    pub(crate) book: PathBuf,
}

/// A server child. Dropping it kills it.
pub(crate) struct Server {
    child: Child,
    stdout: BufReader<ChildStdout>,
    pub(crate) address: String,
}

impl House {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let book = folder.path().canonicalize().expect("its own path").join("book.db");
        Self { folder, book }
    }

    pub(crate) fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Starts a server and does not wait for it.
    pub(crate) fn spawn(&self, disk: Option<&Disk>) -> Server {
        let mut command = gylebook();
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(&self.book);
        if let Some(disk) = disk {
            disk.put_under(&mut command);
        }
        let log = File::options().create(true).append(true).open(self.at("log")).expect("a log");
        let mut child = command.stdout(Stdio::piped()).stderr(log).spawn().expect("the server starts");
        let stdout = BufReader::new(child.stdout.take().expect("piped above"));
        Server { child, stdout, address: String::new() }
    }

    pub(crate) fn serve(&self) -> Server {
        self.serve_on(None)
    }

    pub(crate) fn serve_on(&self, disk: Option<&Disk>) -> Server {
        let mut server = self.spawn(disk);
        assert!(server.is_ready(), "no ready line: {}", self.log());
        server
    }

    /// What the servers have said so far.
    pub(crate) fn log(&self) -> String {
        fs::read_to_string(self.at("log")).unwrap_or_default()
    }

    /// Looks the whole book through: pages, indexes, references, summaries.
    #[track_caller]
    pub(crate) fn check(&self) {
        let checked = self.run("check");
        let text = String::from_utf8_lossy(&checked.stdout).into_owned();
        assert!(checked.status.success(), "{text}{}", String::from_utf8_lossy(&checked.stderr));
        assert!(text.contains("all as kept"), "{text}");
    }

    /// `gylebook backup`, with this disk under the copy.
    pub(crate) fn back_up(&self, to: &Path, disk: &Disk) -> Output {
        let mut command = gylebook();
        command.arg("backup").arg(to).arg("--data").arg(&self.book);
        disk.put_under(&mut command);
        command.output().expect("a command")
    }

    fn run(&self, name: &str) -> Output {
        gylebook().arg(name).arg("--data").arg(&self.book).output().expect("a command")
    }
}

impl Server {
    /// Waits until it answers; false where it has ended instead.
    pub(crate) fn is_ready(&mut self) -> bool {
        let mut line = String::new();
        self.stdout.read_line(&mut line).expect("a line of text");
        let address = line.trim_end().strip_prefix("Gylebook is open at http://");
        self.address = address.unwrap_or_default().to_owned();
        address.is_some()
    }

    pub(crate) fn client(&self) -> Client {
        Client::of(&self.address)
    }

    /// SIGKILL.
    pub(crate) fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Whether it has ended by itself.
    pub(crate) fn has_ended(&mut self) -> bool {
        self.child.try_wait().expect("a child of ours").is_some()
    }

    /// SIGTERM, and waits for the end.
    pub(crate) fn stop(mut self) {
        let kill = format!("kill -TERM {}", self.child.id());
        assert!(Command::new("sh").args(["-c", &kill]).status().expect("a shell").success());
        assert!(self.child.wait().expect("a child of ours").success());
    }

    /// Resident memory in bytes.
    pub(crate) fn memory(&self) -> u64 {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).expect("it is running");
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).expect("resident memory");
        line.trim().trim_end_matches(" kB").parse::<u64>().expect("a number") * 1024
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
    }
}

/// The binary, with nothing of the tester's own environment. A long run may name another build of it.
fn gylebook() -> Command {
    let binary = std::env::var_os("GYLEBOOK_BINARY").unwrap_or_else(|| env!("CARGO_BIN_EXE_gylebook").into());
    let mut command = Command::new(binary);
    command.env_remove("GYLEBOOK_DATA").env_remove("GYLEBOOK_LISTEN").stdin(Stdio::null());
    command
}

/// Adds a recipe and starts a batch of it.
pub(crate) fn begin_batch(client: &mut Client) -> i64 {
    let recipe = client.post("/api/v1/recipes", &recipe()).expect("an answer").id();
    another_batch(client, recipe)
}

pub(crate) fn another_batch(client: &mut Client, recipe: i64) -> i64 {
    client.post("/api/v1/batches", &json!({ "recipe": recipe })).expect("an answer").id()
}

pub(crate) fn recipe() -> Value {
    json!({
        "name": "Slate Roof Pale", "volume_l": 20.0, "boil_min": 60.0,
        "target_pitch_c": 19.0, "pitch_low_c": 17.0, "pitch_high_c": 21.0,
        "fermentables": [{"name": "Pale malt", "mass_kg": 4.5, "yield_pct": 81.0, "moisture_pct": 4.5,
            "colour_ebc": 6.0, "use": "mash"}],
        "hops": [{"name": "Bittering hop", "mass_kg": 0.04, "alpha_pct": 5.0, "form": "pellet", "use": "boil",
            "min": 60.0}],
    })
}

/// A reading of the wort, just now.
pub(crate) fn reading(id: Uuid, celsius: f64) -> Value {
    let at = OffsetDateTime::now_utc().replace_nanosecond(0).expect("a whole second");
    json!({
        "id": id, "at": at.format(&Rfc3339).expect("a time"),
        "kind": "temperature", "place": "wort", "temperature_c": celsius,
    })
}
