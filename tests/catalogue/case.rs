//! One case: files, a command, and the answer that it must get.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::page::Served;
use serde_json::Value;

/// Longer than any case takes on a slow machine; a case that is stopped here hangs.
const LIMIT: Duration = Duration::from_secs(120);

/// Kibibytes of address space that a case may have, for what is no large file: a bomb that goes off runs into it.
const ADDRESS_SPACE_KIB: u64 = 4 << 20;

/// What a command must do with some files.
pub(crate) struct Case {
    name: String,
    files: Vec<(String, Vec<u8>)>,
    arguments: Vec<String>,
    stdin: Option<Vec<u8>>,
    statuses: Vec<i32>,
    says: Vec<String>,
    never: Vec<String>,
}

/// What a program did.
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) out: Vec<u8>,
    pub(crate) err: Vec<u8>,
}

/// A case of this name; by default it lists the climbs of `a.gpx` and must get an answer.
pub(crate) fn case(name: &str) -> Case {
    Case {
        name: name.to_owned(),
        files: Vec::new(),
        arguments: vec!["climbs".into(), "a.gpx".into()],
        stdin: None,
        statuses: vec![0],
        says: Vec::new(),
        never: Vec::new(),
    }
}

impl Case {
    /// The route file `a.gpx` (what it is, is told by its content).
    pub(crate) fn route(self, content: impl Into<Vec<u8>>) -> Self {
        self.file("a.gpx", content)
    }

    pub(crate) fn file(mut self, name: &str, content: impl Into<Vec<u8>>) -> Self {
        self.files.push((name.to_owned(), content.into()));
        self
    }

    /// The command line in place of `climbs a.gpx`, split at spaces.
    pub(crate) fn types(mut self, line: &str) -> Self {
        self.arguments = line.split_whitespace().map(str::to_owned).collect();
        self
    }

    pub(crate) fn stdin(mut self, bytes: impl Into<Vec<u8>>) -> Self {
        self.stdin = Some(bytes.into());
        self
    }

    pub(crate) fn status(mut self, status: i32) -> Self {
        self.statuses = vec![status];
        self
    }

    /// A word that the answer or the error must have.
    pub(crate) fn says(mut self, text: &str) -> Self {
        self.says.push(text.to_owned());
        self
    }

    /// A word that neither may have.
    pub(crate) fn never(mut self, text: &str) -> Self {
        self.never.push(text.to_owned());
        self
    }

    /// No answer, since the input is unusable for this reason.
    pub(crate) fn refused(self, why: &str) -> Self {
        self.status(3).says(why)
    }

    fn check(&self) -> Result<(), String> {
        let folder = tempfile::tempdir().unwrap();
        for (name, content) in &self.files {
            std::fs::write(folder.path().join(name), content).unwrap();
        }
        let run = run(
            folder.path(),
            &self.arguments,
            self.stdin.as_deref().unwrap_or_default(),
        );
        let (out, err) = (
            String::from_utf8_lossy(&run.out),
            String::from_utf8_lossy(&run.err),
        );
        let both = format!("{out}\n{err}");
        let shown: String = both.chars().take(3000).collect();
        let fault = |what: String| {
            Err(format!(
                "{}: {what}\n$ hillwright {}\n{shown}",
                self.name,
                self.arguments.join(" ")
            ))
        };
        if both.contains("panicked") || both.contains("overflowed its stack") {
            return fault("it panicked".into());
        }
        if !run.status.is_some_and(|s| self.statuses.contains(&s)) {
            return fault(format!(
                "status {:?}, expected {:?}",
                run.status, self.statuses
            ));
        }
        let unspaced = spaced(&both);
        if let Some(missing) = self.says.iter().find(|s| !unspaced.contains(&spaced(s))) {
            return fault(format!("does not say \"{missing}\""));
        }
        if let Some(wrong) = self.never.iter().find(|s| both.contains(s.as_str())) {
            return fault(format!("says {wrong:?}"));
        }
        if both.len() > 200_000 {
            return fault(format!("{} bytes of answer", both.len()));
        }
        if run.status == Some(3) && !out.is_empty() {
            return fault("an unusable input, and an answer".into());
        }
        let control = |c: char| c.is_control() && c != '\n';
        if let Some(c) = both.chars().find(|c| control(*c)) {
            return fault(format!("the control character {c:?}"));
        }
        sound(&run.out).or_else(fault)
    }

    /// The same files, sent to the local page: each is taken or refused in words, and the page goes on.
    fn send(&self, page: &Served, own_scripts: usize) -> Result<(), String> {
        for (name, content) in &self.files {
            let fault =
                |what: String| Err(format!("{}: {name} sent to the page: {what}", self.name));
            let sent = page.post_file("/routes", "sent.gpx", content);
            let shown = match sent.status {
                303 => page.get(sent.header("location")),
                400..=499 if sent.status != 408 => sent,
                status => return fault(format!("status {status}: {}", sent.text())),
            };
            // A plan may not fit, or the rider not climb it: the page still says so.
            if !(200..500).contains(&shown.status) || shown.text().len() < 20 {
                return fault(format!("then status {}", shown.status));
            }
            let scripts = shown.text().matches("<script").count();
            if scripts > own_scripts {
                return fault(format!(
                    "{scripts} scripts, of which {own_scripts} are the page's"
                ));
            }
            let control = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t');
            if let Some(c) = shown.text().chars().find(|c| control(*c)) {
                return fault(format!("the control character {c:?}"));
            }
        }
        Ok(())
    }
}

/// Text on one line: a sentence may be wrapped anywhere.
fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs the program in a folder, within bounds of time and memory.
pub(crate) fn run(folder: &Path, arguments: &[String], stdin: &[u8]) -> Run {
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    let mut command = if cfg!(target_os = "linux") {
        let mut shell = Command::new("sh");
        shell
            .arg("-c")
            .arg(format!("ulimit -v {ADDRESS_SPACE_KIB}; exec \"$0\" \"$@\""))
            .arg(program);
        shell
    } else {
        Command::new(program)
    };
    command
        .args(arguments)
        .current_dir(folder)
        .env_remove("COLUMNS")
        .env("NO_COLOR", "1")
        .env("XDG_CACHE_HOME", folder.join(".cache"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut input = child.stdin.take().unwrap();
    let stdin = stdin.to_vec();
    // A program that doesn't read its input closes it; that is its right.
    let writer = std::thread::spawn(move || {
        let _ = std::io::Write::write_all(&mut input, &stdin);
    });
    let out = collect(child.stdout.take().unwrap());
    let err = collect(child.stderr.take().unwrap());
    let start = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status.code();
        }
        if start.elapsed() > LIMIT {
            child.kill().unwrap();
            break None;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    writer.join().unwrap();
    Run {
        status,
        out: out.join().unwrap(),
        err: err.join().unwrap(),
    }
}

fn collect(mut from: impl Read + Send + 'static) -> std::thread::JoinHandle<Vec<u8>> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        from.read_to_end(&mut bytes).unwrap();
        bytes
    })
}

/// A document's climbs lie inside the route in order, and its reps one after the other; text is sound as it is.
fn sound(out: &[u8]) -> Result<(), String> {
    let Ok(document) = serde_json::from_slice::<Value>(out) else {
        return Ok(());
    };
    for route in document["routes"].as_array().into_iter().flatten() {
        let end_m = route["length_m"].as_f64().ok_or("a route without length")?;
        let mut last_m = 0.0;
        for climb in route["climbs"].as_array().into_iter().flatten() {
            let start = climb["start"]["distance_m"].as_f64().ok_or("no start")?;
            let end = climb["end"]["distance_m"].as_f64().ok_or("no end")?;
            // Places are told along the route as given, which jitter makes longer than the road.
            if start < last_m - 0.5 || end <= start || end > 1.2 * end_m + 1.0 {
                return Err(format!("a climb from {start} to {end} m of {end_m} m"));
            }
            last_m = end;
        }
    }
    Ok(())
}

/// Checks all cases, a few at once, and tells every one that fails.
pub(crate) fn check_all(cases: Vec<Case>) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    let page = Served::start(&[]);
    let own_scripts = page.get("/").text().matches("<script").count();
    let faults = std::sync::Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some(case) =
                    cases.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed))
                {
                    if let Err(fault) = case.check().and_then(|()| case.send(&page, own_scripts)) {
                        faults.lock().unwrap().push(fault);
                    }
                }
            });
        }
    });
    let mut faults = faults.into_inner().unwrap();
    let last = page.get("/").status;
    if last != 200 {
        faults.push(format!("the page at last: status {last}"));
    }
    assert!(
        faults.is_empty(),
        "{} of {} cases:\n\n{}",
        faults.len(),
        cases.len(),
        faults.join("\n\n")
    );
}
