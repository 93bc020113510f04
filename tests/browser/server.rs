//! The built binary, serving a book of its own on a port of its own; or the same
//! server within the test, where its clock is to be turned.

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::{SocketAddr, TcpStream},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
};

use anyhow::{Context, Result, bail, ensure};
use gylebook::{
    store::Store,
    web::{App, Options, Wall},
};
use serde_json::Value;
use tempfile::TempDir;
use tokio::{net::TcpListener, task::AbortHandle};

/// A name on the network, which the browser takes for this machine.
pub const NAME: &str = "brewery.lan";

/// A book, and the server that has it open unless it was stopped.
#[derive(Debug)]
pub struct Server {
    folder: TempDir,
    demo: bool,
    lan: bool,
    address: String,
    child: Option<Child>,
    within: Option<AbortHandle>,
}

impl Server {
    /// Serves an empty book.
    ///
    /// # Errors
    /// The binary is missing, or does not say that it is ready.
    pub fn start() -> Result<Self> {
        Self::serving(false, false)
    }

    /// Serves the demo brew house.
    ///
    /// # Errors
    /// As for [`Server::start`].
    pub fn demo() -> Result<Self> {
        Self::serving(true, false)
    }

    /// Serves an empty book to paired devices, under the name [`NAME`].
    ///
    /// # Errors
    /// As for [`Server::start`].
    pub fn lan() -> Result<Self> {
        Self::serving(false, true)
    }

    fn serving(demo: bool, lan: bool) -> Result<Self> {
        let address = "127.0.0.1:0".into();
        let mut server = Self { folder: TempDir::new()?, demo, lan, address, child: None, within: None };
        server.open()?;
        Ok(server)
    }

    /// Serves an empty book from within this program, by a clock that can be turned.
    ///
    /// # Errors
    /// The book or the port can't be opened.
    pub async fn by(wall: Wall) -> Result<Self> {
        let folder = TempDir::new()?;
        let store = Store::open(&folder.path().join("book.db")).await?;
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        let address = listener.local_addr()?.to_string();
        let app = App::new(store, Options::default()).by(wall);
        let serving = tokio::spawn(gylebook::web::serve_app(app, listener, std::future::pending()));
        Ok(Self { folder, demo: false, lan: false, address, child: None, within: Some(serving.abort_handle()) })
    }

    /// Starts it again on the port and the book it had.
    ///
    /// # Errors
    /// As for [`Server::start`].
    pub fn open(&mut self) -> Result<()> {
        let binary = binary()?;
        let log = std::fs::File::options().create(true).append(true).open(self.log())?;
        let mut command = Command::new(&binary);
        command.arg("serve").arg("--data").arg(self.folder.path().join("book.db")).args(["--listen", &self.address]);
        if self.demo {
            command.arg("--demo");
        }
        if self.lan {
            command.args(["--lan", "--host", NAME]);
        }
        let mut child = command.stdout(Stdio::piped()).stderr(log).spawn().context("the server")?;
        let mut lines = BufReader::new(child.stdout.take().context("a pipe")?);
        let mut ready = String::new();
        lines.read_line(&mut ready)?;
        let mut last = String::new();
        while self.lan && !last.starts_with("Good for") {
            last.clear();
            ensure!(lines.read_line(&mut last)? > 0, "no pairing link\n{}", self.said());
        }
        self.child = Some(child);
        let Some((_, address)) = ready.trim().split_once("http://") else {
            bail!("the server did not say where it is: {ready:?}\n{}", self.said());
        };
        self.address = address.replace(NAME, "127.0.0.1");
        Ok(())
    }

    /// Tells it to stop (SIGTERM) and waits until it has.
    ///
    /// # Errors
    /// It was not running, or did not end well.
    pub fn stop(&mut self) -> Result<()> {
        let mut child = self.child.take().context("the server is not running")?;
        ensure!(Command::new("kill").arg(child.id().to_string()).status()?.success(), "no signal was sent");
        let ended = child.wait()?;
        ensure!(ended.success(), "the server ended with {ended}\n{}", self.said());
        Ok(())
    }

    /// Ends it on the spot (SIGKILL), as a power cut does.
    ///
    /// # Errors
    /// It was not running.
    pub fn kill(&mut self) -> Result<()> {
        let mut child = self.child.take().context("the server is not running")?;
        child.kill()?;
        child.wait()?;
        Ok(())
    }

    /// Where it listens.
    ///
    /// # Errors
    /// It never said where.
    pub fn address(&self) -> Result<SocketAddr> {
        Ok(self.address.parse()?)
    }

    /// A page's whole address.
    #[must_use]
    pub fn page(&self, path: &str) -> String {
        let address = if self.lan { self.address.replace("127.0.0.1", NAME) } else { self.address.clone() };
        format!("http://{address}{path}")
    }

    /// A new one-time link, as the command makes it.
    ///
    /// # Errors
    /// The command fails.
    pub fn pair(&self) -> Result<String> {
        let mut command = Command::new(binary()?);
        let done = command.arg("pair").arg("--data").arg(self.folder.path().join("book.db")).output()?;
        let said = String::from_utf8(done.stdout)?;
        let link = said.lines().find_map(|line| line.strip_prefix("Pair a device: "));
        Ok(link.with_context(|| format!("no link: {said}{}", String::from_utf8_lossy(&done.stderr)))?.to_owned())
    }

    /// Ends all devices, as the person at the machine does on the page.
    ///
    /// # Errors
    /// They are not ended.
    pub fn end_devices(&self) -> Result<()> {
        self.form("/settings/devices", "/settings/devices/end", "")
    }

    /// Sends a form as a page of the machine's own does, with these fields.
    ///
    /// # Errors
    /// It is not taken.
    pub fn form(&self, page: &str, action: &str, fields: &str) -> Result<()> {
        let page = self.get(page)?;
        let token = page.split_once("name=\"form_token\" value=\"").context("a form")?.1;
        let form = format!("form_token={}&{fields}", token.split('"').next().unwrap_or_default());
        let mut stream = TcpStream::connect(&self.address)?;
        let head = format!("POST {action} HTTP/1.0\r\nContent-Type: application/x-www-form-urlencoded");
        let (at, length) = (&self.address, form.len());
        write!(stream, "{head}\r\nHost: {at}\r\nOrigin: http://{at}\r\nContent-Length: {length}\r\n\r\n{form}")?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        ensure!(answer.split_whitespace().nth(1) == Some("303"), "{answer}");
        Ok(())
    }

    /// The log of a batch, as the server has it.
    ///
    /// # Errors
    /// The server does not answer with a list.
    pub fn entries(&self, batch: u32) -> Result<Vec<Value>> {
        let answer = self.get(&format!("/api/v1/batches/{batch}/entries"))?;
        Ok(serde_json::from_str(&answer)?)
    }

    /// Sends JSON, as a script does, and gives back the answer's body.
    ///
    /// # Errors
    /// The server does not take it.
    pub fn post(&self, path: &str, body: &Value) -> Result<String> {
        let body = body.to_string();
        let head = format!("Content-Type: application/json\r\nContent-Length: {}\r\n", body.len());
        self.ask(&format!("POST {path}"), &format!("{head}\r\n{body}"))
    }

    /// The body of an answer to a plain GET.
    ///
    /// # Errors
    /// The server does not answer with 200.
    pub fn get(&self, path: &str) -> Result<String> {
        self.ask(&format!("GET {path}"), "\r\n")
    }

    fn ask(&self, what: &str, rest: &str) -> Result<String> {
        let mut stream = TcpStream::connect(&self.address)?;
        // HTTP/1.0: the body ends with the connection.
        write!(stream, "{what} HTTP/1.0\r\nHost: {}\r\n{rest}", self.address)?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        let (head, body) = answer.split_once("\r\n\r\n").context("no answer")?;
        let status = head.split_whitespace().nth(1).unwrap_or_default();
        ensure!(status.starts_with('2'), "{what}: {head}\n{body}");
        Ok(body.to_owned())
    }

    fn log(&self) -> PathBuf {
        self.folder.path().join("server.log")
    }

    /// What it wrote to its own log.
    #[must_use]
    pub fn said(&self) -> String {
        std::fs::read_to_string(self.log()).unwrap_or_default()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let Some(within) = self.within.take() {
            within.abort();
        }
        if let Some(mut child) = self.child.take() {
            // Nothing more can be done about a process that will not end.
            let _ = child.kill();
            let _ = child.wait();
        }
        if std::thread::panicking() {
            eprintln!("{}", self.said());
        }
    }
}

/// The binary under test, where cargo put it: beside this test's own folder.
fn binary() -> Result<PathBuf> {
    let target = std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target"), PathBuf::from);
    let binary = target.join("debug/gylebook");
    ensure!(binary.is_file(), "{} is missing: `cargo build` makes it", binary.display());
    Ok(binary)
}
