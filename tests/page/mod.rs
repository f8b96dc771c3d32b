//! A page that is served for a test, and what it answers.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

/// The program, serving.
pub(crate) struct Served {
    program: Child,
    /// Host and port.
    pub(crate) at: String,
    /// What a change must carry.
    pub(crate) token: String,
}

/// An answer; status 0 where the connection was closed without one.
pub(crate) struct Answer {
    pub(crate) status: u16,
    head: String,
    pub(crate) body: Vec<u8>,
    text: String,
}

impl Served {
    pub(crate) fn start(arguments: &[&str]) -> Served {
        let mut program = Command::new(env!("CARGO_BIN_EXE_hillwright"))
            .args(["serve", "--no-open"])
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(program.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let at = line
            .trim()
            .trim_start_matches("http://")
            .trim_end_matches('/')
            .to_owned();
        let mut served = Served {
            program,
            at,
            token: String::new(),
        };
        let page = served.get("/");
        let token = page.text().split("?token=").nth(1).unwrap();
        served.token = token.split('"').next().unwrap().to_owned();
        served
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.at
        );
        self.raw(head.as_bytes())
    }

    pub(crate) fn post(&self, path: &str, media: &str, body: &[u8]) -> Answer {
        let mut request = format!(
            "POST {path}?token={} HTTP/1.1\r\nHost: {}\r\nContent-Type: {media}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.token,
            self.at,
            body.len()
        )
        .into_bytes();
        request.extend(body);
        self.raw(&request)
    }

    pub(crate) fn post_file(&self, path: &str, name: &str, bytes: &[u8]) -> Answer {
        let mut body = format!("--boundary\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n").into_bytes();
        body.extend(bytes);
        body.extend(b"\r\n--boundary--\r\n");
        self.post(path, "multipart/form-data; boundary=boundary", &body)
    }

    /// What is answered to some bytes until the connection is closed.
    pub(crate) fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(&self.at).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .unwrap();
        // Whoever is refused may be cut off before all is written.
        let _ = stream.write_all(bytes);
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        let end = answer
            .windows(4)
            .position(|four| four == b"\r\n\r\n")
            .unwrap_or(answer.len());
        let head = String::from_utf8_lossy(&answer[..end]).into_owned();
        let body = answer.get(end + 4..).unwrap_or(&[]).to_vec();
        Answer {
            status: head
                .split(' ')
                .nth(1)
                .and_then(|s| s.parse().ok())
                .unwrap_or(0),
            text: String::from_utf8_lossy(&body).into_owned(),
            head,
            body,
        }
    }

    /// Sends what Ctrl-C sends, and waits.
    #[cfg(unix)]
    pub(crate) fn interrupt(&mut self) -> ExitStatus {
        let id = self.program.id().to_string();
        Command::new("kill").args(["-INT", &id]).status().unwrap();
        self.program.wait().unwrap()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

impl Answer {
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        let line = self
            .head
            .lines()
            .find(|line| line.to_ascii_lowercase().starts_with(&format!("{name}:")));
        line.and_then(|line| line.split_once(':'))
            .map_or("", |(_, value)| value.trim())
    }
}
