//! A server on this machine that answers as it is told, well or badly.
#![allow(dead_code, reason = "each test program uses a part of it")]
#![allow(clippy::expect_used, reason = "a test that panics has failed")]

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

use flate2::{Compression, write::GzEncoder};

/// How one request is answered.
#[derive(Debug, Clone)]
pub(crate) enum Answer {
    /// As a good server does.
    Good(Vec<u8>),
    /// With a status and nothing else.
    Status(u16),
    /// With the whole body, after announcing another length.
    Announcing(usize, Vec<u8>),
    /// With half of what was announced.
    Half(Vec<u8>),
    /// A few bytes, then nothing for a long time.
    Stalling,
    /// Nothing at all for a long time.
    Silent,
    /// More than any tile, without an announced length.
    Endless,
    /// Status 302 to another address.
    Elsewhere(String),
}

/// Longer than any test waits.
const LONG: Duration = Duration::from_secs(20);

/// A running server.
pub(crate) struct Server {
    /// Its address, without a path.
    pub(crate) address: String,
    requests: Arc<AtomicUsize>,
    paths: Arc<Mutex<Vec<String>>>,
}

impl Server {
    /// Starts one that gives the answers in turn, the last one again and again.
    pub(crate) fn start(answers: Vec<Answer>) -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = format!("http://{}", listener.local_addr().expect("it is bound"));
        let (requests, paths) = (
            Arc::new(AtomicUsize::new(0)),
            Arc::new(Mutex::new(Vec::new())),
        );
        let (counted, noted) = (Arc::clone(&requests), Arc::clone(&paths));
        thread::spawn(move || {
            for connection in listener.incoming().flatten() {
                let turn = counted.fetch_add(1, Ordering::SeqCst);
                let answer = answers[turn.min(answers.len() - 1)].clone();
                let noted = Arc::clone(&noted);
                thread::spawn(move || respond(connection, &answer, &noted));
            }
        });
        Server {
            address,
            requests,
            paths,
        }
    }

    pub(crate) fn source(&self) -> String {
        format!("{}/{{lat}}/{{name}}.hgt.gz", self.address)
    }

    pub(crate) fn requests(&self) -> usize {
        self.requests.load(Ordering::SeqCst)
    }

    pub(crate) fn paths(&self) -> Vec<String> {
        self.paths
            .lock()
            .expect("no test panics while it holds it")
            .clone()
    }
}

/// A client that has seen enough may hang up at any moment, so failed writes are no failure.
fn respond(mut connection: TcpStream, answer: &Answer, paths: &Mutex<Vec<String>>) {
    let mut request = Vec::new();
    let mut byte = [0];
    while !request.ends_with(b"\r\n\r\n") && connection.read(&mut byte).is_ok_and(|read| read == 1)
    {
        request.push(byte[0]);
    }
    let line = String::from_utf8_lossy(&request)
        .lines()
        .next()
        .unwrap_or_default()
        .to_owned();
    paths
        .lock()
        .expect("no test panics while it holds it")
        .push(line.split(' ').nth(1).unwrap_or_default().to_owned());
    let mut head = |status: u16, rest: &str| {
        let _ = write!(
            connection,
            "HTTP/1.1 {status} said\r\nConnection: close\r\n{rest}\r\n"
        );
    };
    let length = |bytes: usize| format!("Content-Length: {bytes}\r\n");
    match answer {
        Answer::Good(body) => {
            head(200, &length(body.len()));
            let _ = connection.write_all(body);
        }
        Answer::Status(status) => head(*status, &length(0)),
        Answer::Announcing(bytes, body) => {
            head(200, &length(*bytes));
            let _ = connection.write_all(body);
        }
        Answer::Half(body) => {
            head(200, &length(body.len()));
            let _ = connection.write_all(&body[..body.len() / 2]);
        }
        Answer::Stalling => {
            head(200, &length(5000));
            let _ = connection.write_all(&[0x1f, 0x8b, 8]);
            thread::sleep(LONG);
        }
        Answer::Silent => thread::sleep(LONG),
        Answer::Endless => {
            head(200, "");
            while connection.write_all(&[7; 1 << 16]).is_ok() {}
        }
        Answer::Elsewhere(address) => head(302, &format!("Location: {address}\r\n{}", length(0))),
    }
    // What was sent is read before the connection is torn down.
    let _ = connection.shutdown(std::net::Shutdown::Write);
    let _ = connection.set_read_timeout(Some(Duration::from_millis(200)));
    let _ = connection.read(&mut byte);
}

/// A level tile at 3 arc seconds, in whole metres.
pub(crate) fn level_tile(metres: i16) -> Vec<u8> {
    metres.to_be_bytes().repeat(1201 * 1201)
}

pub(crate) fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(bytes).expect("memory takes all");
    encoder.finish().expect("memory takes all")
}
