//! HTTP as plain as it goes, so that a test sees when a connection breaks.

use std::io::{self, BufRead, BufReader, Error, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::{Value, json};

/// Only against hanging for ever; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(60);

/// A phone: one connection, kept open while it lasts.
#[derive(Debug)]
pub(crate) struct Client {
    address: String,
    stream: Option<BufReader<TcpStream>>,
}

/// An answer, read whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) headers: Vec<(String, String)>,
    pub(crate) text: String,
}

impl Client {
    pub(crate) fn of(address: &str) -> Self {
        Self { address: address.to_owned(), stream: None }
    }

    pub(crate) fn get(&mut self, path: &str) -> io::Result<Answer> {
        self.ask("GET", path, "", "")
    }

    pub(crate) fn post(&mut self, path: &str, body: &Value) -> io::Result<Answer> {
        self.ask("POST", path, "application/json", &body.to_string())
    }

    pub(crate) fn put(&mut self, path: &str, body: &Value) -> io::Result<Answer> {
        self.ask("PUT", path, "application/json", &body.to_string())
    }

    pub(crate) fn append(&mut self, batch: i64, entries: &[Value]) -> io::Result<Answer> {
        self.post(&format!("/api/v1/batches/{batch}/entries"), &json!({ "entries": entries }))
    }

    pub(crate) fn form(&mut self, path: &str, fields: &[(&str, &str)]) -> io::Result<Answer> {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        self.ask("POST", path, "application/x-www-form-urlencoded", &body)
    }

    pub(crate) fn ask(&mut self, method: &str, path: &str, kind: &str, body: &str) -> io::Result<Answer> {
        let answer = self.begin(method, path, kind, body).and_then(|()| self.answer());
        if answer.is_err() {
            self.stream = None;
        }
        answer
    }

    /// Sends a request and never reads the answer: the connection breaks when this client is dropped.
    pub(crate) fn begin(&mut self, method: &str, path: &str, kind: &str, body: &str) -> io::Result<()> {
        let address = &self.address;
        if self.stream.is_none() {
            let stream = TcpStream::connect(address)?;
            stream.set_nodelay(true)?;
            stream.set_read_timeout(Some(PATIENCE))?;
            self.stream = Some(BufReader::new(stream));
        }
        let mut head = format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\n");
        if !kind.is_empty() {
            head += &format!("Content-Type: {kind}\r\nContent-Length: {}\r\n", body.len());
        }
        if kind.contains("form") {
            head += &format!("Origin: http://{address}\r\n");
        }
        let stream = self.stream.as_mut().expect("connected above");
        stream.get_mut().write_all(format!("{head}\r\n{body}").as_bytes())
    }

    fn answer(&mut self) -> io::Result<Answer> {
        let stream = self.stream.as_mut().ok_or(ErrorKind::NotConnected)?;
        let status = line(stream)?;
        let status = status.split(' ').nth(1).and_then(|status| status.parse().ok()).ok_or(ErrorKind::InvalidData)?;
        let mut headers = Vec::new();
        loop {
            let line = line(stream)?;
            if line.is_empty() {
                break;
            }
            let (name, value) = line.split_once(": ").ok_or(ErrorKind::InvalidData)?;
            headers.push((name.to_lowercase(), value.to_owned()));
        }
        let mut answer = Answer { status, headers, text: String::new() };
        let mut body = Vec::new();
        if answer.header("transfer-encoding").is_some() {
            loop {
                let length = usize::from_str_radix(&line(stream)?, 16).map_err(Error::other)?;
                let start = body.len();
                body.resize(start + length, 0);
                stream.read_exact(&mut body[start..])?;
                line(stream)?;
                if length == 0 {
                    break;
                }
            }
        } else {
            let length = answer.header("content-length").and_then(|length| length.parse().ok()).unwrap_or(0);
            body.resize(length, 0);
            stream.read_exact(&mut body)?;
        }
        answer.text = String::from_utf8(body).map_err(Error::other)?;
        if answer.header("connection") == Some("close") {
            self.stream = None;
        }
        Ok(answer)
    }
}

fn line(stream: &mut BufReader<TcpStream>) -> io::Result<String> {
    let mut line = String::new();
    match stream.read_line(&mut line)? {
        0 => Err(ErrorKind::UnexpectedEof.into()),
        _ => Ok(line.trim_end().to_owned()),
    }
}

impl Answer {
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str())
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|why| panic!("{why}: {} {}", self.status, self.text))
    }

    /// The id of the record a POST added.
    #[track_caller]
    pub(crate) fn id(&self) -> i64 {
        assert_eq!(self.status, 201, "{}", self.text);
        self.json()["id"].as_i64().expect("an id")
    }
}
