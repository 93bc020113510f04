//! One keep-alive connection that asks and waits for the answer, as a phone's does.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};

/// A question that can be asked again and again.
#[derive(Clone, Debug)]
pub(crate) struct Ask {
    bytes: Vec<u8>,
}

/// What stands before and after the parts that each answer has of its own.
const OWN: [(&[u8], u8); 2] = [(b"<html ", b'>'), (b"name=\"form_token\" value=\"", b'"')];

fn find(body: &[u8], words: &[u8]) -> Option<usize> {
    body.windows(words.len()).position(|some| some == words)
}

/// What came back.
#[derive(Clone, Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) body: Vec<u8>,
}

impl Answer {
    /// Two bodies with one hash are taken for the same. The moment a page was made
    /// stands in its `<html>` tag, and each form has a token of its own: both are
    /// passed over.
    pub(crate) fn hash(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        let mut rest = self.body.as_slice();
        let next =
            |rest: &[u8]| OWN.iter().filter_map(|(before, end)| Some((find(rest, before)?, before.len(), *end))).min();
        while let Some((at, before, end)) = next(rest) {
            rest[..at].hash(&mut hasher);
            let after = &rest[at + before..];
            let own = after.iter().position(|byte| *byte == end).unwrap_or(after.len());
            rest = &after[own..];
        }
        rest.hash(&mut hasher);
        hasher.finish()
    }

    pub(crate) fn holds(&self, words: &str) -> bool {
        String::from_utf8_lossy(&self.body).contains(words)
    }
}

impl Ask {
    pub(crate) fn get(server: SocketAddr, path: &str) -> Self {
        Self { bytes: format!("GET {path} HTTP/1.1\r\nHost: {server}\r\n\r\n").into_bytes() }
    }

    /// As a browser asks: it takes its answer compressed.
    pub(crate) fn get_gzip(server: SocketAddr, path: &str) -> Self {
        Self { bytes: format!("GET {path} HTTP/1.1\r\nHost: {server}\r\nAccept-Encoding: gzip\r\n\r\n").into_bytes() }
    }

    pub(crate) fn post_json(server: SocketAddr, path: &str, body: &str) -> Self {
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {server}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        Self { bytes: (head + body).into_bytes() }
    }
}

/// One connection.
#[derive(Debug)]
pub(crate) struct Client {
    stream: BufReader<TcpStream>,
    answer: Answer,
}

impl Client {
    pub(crate) fn to(server: SocketAddr) -> Self {
        let stream = TcpStream::connect(server).expect("the server listens");
        stream.set_nodelay(true).expect("a socket");
        Self { stream: BufReader::with_capacity(64 * 1024, stream), answer: Answer { status: 0, body: Vec::new() } }
    }

    /// Asks, and reads the whole answer.
    pub(crate) fn ask(&mut self, ask: &Ask) -> &Answer {
        self.stream.get_mut().write_all(&ask.bytes).expect("asked");
        let (status, length) = self.head();
        self.answer.status = status;
        self.answer.body.clear();
        match length {
            Some(length) => self.take(length),
            None => while self.chunk() {},
        }
        &self.answer
    }

    /// Asks for a stream of events and gives the socket it comes in by.
    pub(crate) fn follow(mut self, ask: &Ask) -> BufReader<TcpStream> {
        self.stream.get_mut().write_all(&ask.bytes).expect("asked");
        assert_eq!(self.head().0, 200, "a stream of events");
        self.stream
    }

    /// Status and length; no length where the body comes in chunks.
    fn head(&mut self) -> (u16, Option<usize>) {
        let mut line = String::new();
        let (mut status, mut length, mut chunked) = (0, None, false);
        loop {
            line.clear();
            self.stream.read_line(&mut line).expect("an answer");
            if line == "\r\n" {
                return (status, if chunked { None } else { Some(length.unwrap_or(0)) });
            }
            if status == 0 {
                status = line.get(9..12).and_then(|code| code.parse().ok()).expect("a status line");
            } else if let Some((name, value)) = line.split_once(':') {
                if name.eq_ignore_ascii_case("content-length") {
                    length = value.trim().parse().ok();
                }
                chunked |= name.eq_ignore_ascii_case("transfer-encoding");
            }
        }
    }

    fn take(&mut self, length: usize) {
        let from = self.answer.body.len();
        self.answer.body.resize(from + length, 0);
        self.stream.read_exact(&mut self.answer.body[from..]).expect("the whole answer");
    }

    fn chunk(&mut self) -> bool {
        let mut line = String::new();
        self.stream.read_line(&mut line).expect("a chunk");
        let length = usize::from_str_radix(line.trim(), 16).expect("a chunk's length");
        self.take(length);
        line.clear();
        self.stream.read_line(&mut line).expect("a chunk's end");
        length > 0
    }
}
