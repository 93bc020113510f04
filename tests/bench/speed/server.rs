//! A server in a process of its own, on a core of its own.

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

/// The core servers run on; the load comes from the other one.
const SERVERS: &str = "0";
const LOAD: &str = "1";
/// What `/proc` counts time in: `USER_HZ` is 100 on every Linux.
const TICK_MS: u64 = 10;
/// A server that has not run for so long waits for somebody.
const QUIET: Duration = Duration::from_millis(700);

/// A server, stopped when it is let go of.
#[derive(Debug)]
pub(crate) struct Server {
    child: Child,
    _out: BufReader<ChildStdout>,
    pub(crate) address: SocketAddr,
    /// From the start of the process to its first answer.
    pub(crate) start: Duration,
}

impl Server {
    /// The book as anybody serves it, by the build that `GYLEBOOK_BINARY` names or by this one.
    pub(crate) fn of_the_book(book: &Path) -> Self {
        let mut command = pinned(program());
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(book);
        Self::start(command)
    }

    /// The bare handlers of the same stack, over the same book.
    pub(crate) fn bare(book: &Path, own: &Path) -> Self {
        let mut command = pinned(std::env::current_exe().expect("this program"));
        command.arg("serve-bare").arg(book).arg(own);
        Self::start(command)
    }

    fn start(mut command: Command) -> Self {
        let began = Instant::now();
        let mut child = command.stdout(Stdio::piped()).spawn().expect("taskset and the server can be run");
        let mut out = BufReader::new(child.stdout.take().expect("piped"));
        let mut line = String::new();
        out.read_line(&mut line).expect("a line");
        let address = line.trim().rsplit('/').next().and_then(|address| address.parse().ok());
        let address = address.unwrap_or_else(|| panic!("the server says where it is, not {line:?}"));
        Self { child, _out: out, address, start: began.elapsed() }
    }

    /// Time it has run since it began, threads that have ended included.
    pub(crate) fn cpu(&self) -> Duration {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.child.id())).expect("a process on Linux");
        // The name, the second field, may hold anything; `utime` and `stime` are the 14th and 15th.
        let (_, after_name) = stat.rsplit_once(')').expect("a name in brackets");
        let ticks = after_name.split_whitespace().skip(11).take(2).map(|ticks| ticks.parse::<u64>().expect("ticks"));
        Duration::from_millis(ticks.sum::<u64>() * TICK_MS)
    }

    /// Waits until it has nothing left to do: the copy of the day is made when the book is opened.
    pub(crate) fn at_rest(self) -> Self {
        let mut before = self.cpu();
        loop {
            std::thread::sleep(QUIET);
            let now = self.cpu();
            if now == before {
                return self;
            }
            before = now;
        }
    }

    /// Memory that is in use now, and the most that ever was, MB.
    pub(crate) fn resident_mb(&self) -> (f64, f64) {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).expect("a process on Linux");
        let of = |name: &str| {
            let line = status.lines().find_map(|line| line.strip_prefix(name)).expect("a line of the status");
            line.trim().trim_end_matches(" kB").trim().parse::<f64>().expect("a number") / 1000.0
        };
        (of("VmRSS:"), of("VmHWM:"))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // As a supervisor stops it, so that the book is closed properly.
        let _ = Command::new("kill").arg(self.child.id().to_string()).status();
        let _ = self.child.wait();
    }
}

/// Moves this process to the core the load comes from.
pub(crate) fn move_to_the_load_core() {
    let id = std::process::id().to_string();
    let moved = Command::new("taskset").args(["-a", "-c", "-p", LOAD, &id]).stdout(Stdio::null()).status();
    assert!(moved.is_ok_and(|moved| moved.success()), "taskset moves this process to core {LOAD}");
}

/// The server that is measured.
pub(crate) fn program() -> PathBuf {
    std::env::var_os("GYLEBOOK_BINARY").map_or_else(|| env!("CARGO_BIN_EXE_gylebook").into(), PathBuf::from)
}

fn pinned(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new("taskset");
    command.args(["-c", SERVERS]).arg(program);
    command
}
