//! The commands as a person or a script meets them: the real binary, its
//! output, its exit status, and what it leaves on the disk.

mod keep;
mod lan;
mod refuse;
mod serve;

use std::ffi::OsStr;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, ExitStatus, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use gylebook::brewday::batch::NewBatch;
use gylebook::brewday::{Entry, Equipment, Recipe};
use gylebook::store::Store;
use serde_json::json;
use tempfile::TempDir;
use time::macros::datetime;

/// Only against hanging for ever; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with room for a book, gone at the end of the test.
struct House(TempDir);

impl House {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn at(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn book(&self) -> PathBuf {
        self.at("book.db")
    }

    /// Writes a book with one short brew day in it, batch 1.
    fn with_a_batch(self) -> Self {
        tokio::runtime::Runtime::new().unwrap().block_on(a_brew_day(&self.book()));
        self
    }

    /// The names in the folder, in order.
    fn names(&self) -> Vec<String> {
        let files = fs::read_dir(self.0.path()).unwrap();
        let mut names: Vec<_> = files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// The names in the folder, in order, without the book's own copies.
    fn names_beside_copies(&self) -> Vec<String> {
        self.names().into_iter().filter(|name| name != "book.db.copies").collect()
    }

    /// Runs a command on this house's book.
    fn run<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Output {
        output(gylebook().args(args).arg("--data").arg(self.book()))
    }
}

/// The binary, with nothing of the tester's own environment.
fn gylebook() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gylebook"));
    command.env_remove("GYLEBOOK_DATA").env_remove("GYLEBOOK_LISTEN").stdin(Stdio::null());
    command
}

/// Runs a command to its end. What it prints has to fit into a pipe.
fn output(command: &mut Command) -> Output {
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    ended(&mut child);
    child.wait_with_output().unwrap()
}

/// A server that said it was ready.
struct Server {
    child: Child,
    stdout: BufReader<ChildStdout>,
    address: String,
}

impl Server {
    fn start(book: &Path) -> Self {
        Self::from(gylebook().args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(book))
    }

    fn from(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut stdout = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        stdout.read_line(&mut line).unwrap();
        let told = line.trim_end().strip_prefix("Gylebook is open at ").and_then(|link| link.split_once("://"));
        let Some(address) = told.map(|(_, address)| address.to_owned()) else {
            let output = child.wait_with_output().unwrap();
            panic!("no ready line: {line:?}, {}", text(&output.stderr));
        };
        Self { child, stdout, address }
    }

    /// Status line and body of a GET.
    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.address).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    /// Sends a signal by its name and waits for the end; the rest of stdout comes with it.
    fn signal(mut self, name: &str) -> (ExitStatus, String) {
        let kill = format!("kill -{name} {}", self.child.id());
        assert!(Command::new("sh").args(["-c", &kill]).status().unwrap().success());
        let status = ended(&mut self.child);
        let mut rest = String::new();
        self.stdout.read_to_string(&mut rest).unwrap();
        (status, rest)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Only where a test failed half way: everybody else has waited for it.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn ended(child: &mut Child) -> ExitStatus {
    let started = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status;
        }
        if started.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("it does not end");
        }
        sleep(Duration::from_millis(10));
    }
}

/// Status 1, nothing on stdout, and on stderr one line with each of these words in it.
#[track_caller]
fn assert_fails(output: &Output, words: &[&str]) {
    let stderr = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{stderr}");
    assert_eq!(text(&output.stdout), "", "{stderr}");
    assert_eq!(stderr.trim_end().lines().count(), 1, "{stderr}");
    assert!(stderr.trim_end().ends_with('.'), "a sentence: {stderr}");
    for word in words {
        assert!(stderr.contains(word), "{word:?} is not in {stderr:?}");
    }
}

/// Status 0 and nothing on stderr; gives what is on stdout.
#[track_caller]
fn assert_done(output: &Output) -> String {
    assert_eq!((output.status.code(), text(&output.stderr).as_str()), (Some(0), ""));
    text(&output.stdout)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

async fn a_brew_day(book: &Path) {
    let noon = datetime!(2026-03-07 12:00 UTC);
    let store = Store::open(book).await.unwrap();
    let recipe = Recipe::from_body(&json!({
        "name": "Slate Roof Pale", "volume_l": 20, "boil_min": 60,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
    }));
    let recipe = store.add_recipe(&recipe.unwrap(), noon).await.unwrap();
    let coil = Equipment::from_body(&json!({"name": "Coil", "kind": "coil", "pass_min": 9.5})).unwrap();
    let coil = store.add_equipment(&coil, noon).await.unwrap();
    let new = NewBatch::from_body(&json!({"recipe": recipe, "equipment": [coil]})).unwrap();
    let batch = store.start_batch(&new, noon).await.unwrap().unwrap();
    let entries = [
        json!({"kind": "care", "equipment": coil, "act": "cleaned"}),
        json!({"kind": "flame_out", "note": "=1+1, \"quoted\""}),
        json!({"kind": "temperature", "place": "wort", "temperature_c": 97.1}),
        json!({"kind": "temperature", "place": "wort", "temperature_c": 54.3}),
    ];
    let entries = entries.into_iter().zip(1_u128..).map(|(mut body, number)| {
        body["id"] = json!(uuid::Uuid::from_u128(number));
        body["at"] = json!(format!("2026-03-07T11:{:02}:00Z", 10 * number));
        Entry::from_body(&body, noon, time::Duration::ZERO).unwrap()
    });
    let receipt = store.append(Some(batch), entries.collect(), None, noon).await.unwrap().unwrap();
    assert_eq!(receipt.accepted.len(), 4, "{receipt:?}");
    store.close().await;
}
