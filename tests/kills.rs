//! The program is killed at any moment while it writes answers, its cache and tiles: nothing half-written is ever used, or stands
//! under a name that says it is whole; the run after it gives what a run that nothing disturbed gives.
//!
//! A few kills by default. A thousand: `cargo test --release --test kills -- --ignored --nocapture`, from another sequence of
//! moments with `HILLWRIGHT_SEED=7`.
#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]
#![allow(
    clippy::print_stderr,
    reason = "how many kills hit what is told when asked"
)]

mod loopback;
mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant, SystemTime};

use loopback::{Answer, Server, gzip};
use support::{root, sample};
use tempfile::TempDir;

/// Forms of the plan's answer.
const FORMS: [&str; 7] = ["json", "html", "gpx", "geojson", "kml", "csv", "svg"];

/// A sequence of moments that is the same on every run (xorshift).
struct Moments(u64);

impl Moments {
    fn from(number: u64) -> Moments {
        let seed = std::env::var("HILLWRIGHT_SEED").ok();
        let seed: u64 = seed.map_or(1, |text| text.parse().unwrap());
        Moments((seed << 8 | number).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// From nought up to a duration.
    fn within(&mut self, longest: Duration) -> Duration {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        longest.mul_f64((self.0 >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

/// Every file of a folder by its name.
type Held = BTreeMap<String, Vec<u8>>;

fn held(folder: &Path) -> Held {
    let Ok(entries) = fs::read_dir(folder) else {
        return Held::new();
    };
    entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
        .map(|path| {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect()
}

/// What a stopped write leaves: a hidden name, which nothing is ever read under.
fn is_left_over(name: &str) -> bool {
    name.starts_with('.') && name.ends_with(".part")
}

/// Something that writes, and how it is known whether what it wrote is whole.
struct Trial {
    arguments: Vec<String>,
    cache: PathBuf,
    /// Where it writes.
    folder: PathBuf,
}

#[derive(Debug, Default)]
struct Counts {
    kills: u32,
    /// Kills after something was written and before the end.
    midway: u32,
    /// Kills that left an unfinished file.
    left: u32,
}

impl Trial {
    fn start(&self) -> Child {
        Command::new(assert_cmd::cargo::cargo_bin!("hillwright"))
            .args(&self.arguments)
            .current_dir(root())
            .env("XDG_CACHE_HOME", &self.cache)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    }

    fn whole(&self) -> Vec<u8> {
        let run = self.start().wait_with_output().unwrap();
        assert_eq!(run.status.code(), Some(0), "{:?}", self.arguments);
        run.stdout
    }

    /// Kills one run: half of the times at any moment of it, half just after it began to write.
    fn kill_one(&self, moments: &mut Moments, lasts: Duration, on_writing: bool) {
        let before = names(&self.folder);
        let mut child = self.start();
        let mut out = child.stdout.take().unwrap();
        let reader = std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        let start = Instant::now();
        if on_writing {
            while names(&self.folder) == before && child.try_wait().unwrap().is_none() {
                std::hint::spin_loop();
            }
            std::thread::sleep(moments.within(lasts / 8));
        } else {
            let moment = moments.within(lasts.mul_f64(1.1));
            std::thread::sleep(moment.saturating_sub(start.elapsed()));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        reader.join().unwrap().unwrap();
    }

    /// How long a run takes, once what it reads is in memory.
    fn lasts(&self) -> Duration {
        self.whole();
        let start = Instant::now();
        self.whole();
        start.elapsed()
    }
}

fn names(folder: &Path) -> Vec<std::ffi::OsString> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    names
}

fn clear(folder: &Path) {
    for name in names(folder) {
        fs::remove_file(folder.join(name)).unwrap();
    }
}

/// Answers in every form, into a folder that holds those of another set, or nothing.
fn answers(kills: u32) -> Counts {
    let (folder, cache) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let trial = |reps: u32| {
        let mut line: Vec<String> = format!(
            "plan sample-routes/big-loop.gpx --rider sample-routes/rider.toml --reps {reps} --work 4:00 --rest 4:00..9:00 \
             --power 190..225 --cadence 50..60 --warm-up 20:00"
        )
        .split_whitespace()
        .map(str::to_owned)
        .collect();
        for form in FORMS {
            line.push("-o".to_owned());
            let path = folder.path().join(format!("plan.{form}"));
            line.push(path.to_str().unwrap().to_owned());
        }
        Trial {
            arguments: line,
            cache: cache.path().to_owned(),
            folder: folder.path().to_owned(),
        }
    };
    let (other, this) = (trial(3), trial(4));
    other.whole();
    let old = held(folder.path());
    let lasts = this.lasts();
    this.whole();
    let new = held(folder.path());
    assert_eq!(new.len(), FORMS.len());
    assert!(new.iter().all(|(name, bytes)| old[name] != *bytes));
    let mut moments = Moments::from(1);
    let mut counts = Counts::default();
    for kill in 0..kills {
        clear(folder.path());
        let before = if kill % 4 < 2 { &old } else { &Held::new() };
        for (name, bytes) in before {
            fs::write(folder.path().join(name), bytes).unwrap();
        }
        this.kill_one(&mut moments, lasts, kill % 2 == 0);
        let after = held(folder.path());
        let mut made = 0;
        for (name, bytes) in &after {
            if is_left_over(name) {
                counts.left += 1;
            } else if *bytes == new[name] {
                made += 1;
            } else {
                assert_eq!(before.get(name), Some(bytes), "kill {kill}: {name}");
            }
        }
        assert!(before.keys().all(|name| after.contains_key(name)));
        counts.kills += 1;
        counts.midway += u32::from((1..FORMS.len()).contains(&made));
        this.whole();
        let mut last = held(folder.path());
        last.retain(|name, _| !is_left_over(name));
        assert!(last == new, "the run after kill {kill}");
    }
    counts
}

/// Routes that are looked through with a cache.
fn routes() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(sample("harbour-hill.gpx")).unwrap();
    for number in 0..12 {
        let path = folder.path().join(format!("copy-{number:02}.gpx"));
        fs::write(&path, format!("{text}<!-- {number} -->")).unwrap();
        let file = fs::File::options().write(true).open(&path).unwrap();
        // What was changed just now is not remembered.
        file.set_modified(SystemTime::now() - Duration::from_secs(3600))
            .unwrap();
    }
    folder
}

/// An entry's last field before its payload says how long that is (`docs/performance.md` says what an entry carries).
fn is_whole_entry(bytes: &[u8]) -> bool {
    let Some((head, payload)) = bytes.split_at_checked(60) else {
        return false;
    };
    head.starts_with(b"hillwright entry") && head[52..60] == (payload.len() as u64).to_le_bytes()
}

/// The cache, empty or half full.
fn caches(kills: u32) -> Counts {
    let (routes, cache) = (routes(), tempfile::tempdir().unwrap());
    let trial = Trial {
        arguments: [
            "climbs",
            "--format",
            "json",
            routes.path().to_str().unwrap(),
        ]
        .map(str::to_owned)
        .to_vec(),
        cache: cache.path().to_owned(),
        folder: cache.path().join("hillwright"),
    };
    let answer = trial.whole();
    clear(&trial.folder);
    let start = Instant::now();
    assert_eq!(trial.whole(), answer);
    let lasts = start.elapsed();
    let entries = names(&trial.folder).len();
    assert_eq!(entries, 13);
    let mut moments = Moments::from(2);
    let mut counts = Counts::default();
    for kill in 0..kills {
        // Every fourth time it goes on where the last one was stopped.
        if kill % 4 != 3 {
            clear(&trial.folder);
        }
        trial.kill_one(&mut moments, lasts, kill % 2 == 0);
        let after = held(&trial.folder);
        for (name, bytes) in &after {
            if is_left_over(name) {
                counts.left += 1;
            } else {
                assert!(is_whole_entry(bytes), "kill {kill}: {name}");
            }
        }
        counts.kills += 1;
        counts.midway += u32::from((1..entries).contains(&after.len()));
        assert!(trial.whole() == answer, "the run after kill {kill}");
        // What that run remembers is as good as what it worked out.
        if kill % 8 == 0 {
            assert!(trial.whole() == answer, "from the cache after kill {kill}");
        }
    }
    counts
}

/// A tile that takes a while: heights that don't pack well.
fn rough_tile() -> Vec<u8> {
    let mut moments = Moments::from(9);
    let mut height =
        || (moments.within(Duration::from_micros(500)).as_micros() as i16).to_be_bytes();
    (0..1201 * 1201).flat_map(|_| height()).collect()
}

/// Tiles that are fetched.
fn tiles(kills: u32) -> Counts {
    let (folder, cache) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let packed = gzip(&rough_tile());
    let server = Server::start(vec![Answer::Good(packed.clone())]);
    let line = format!(
        "tiles sample-routes/harbour-hill.gpx --fetch --format json --tile-source {} --tiles {}",
        server.source(),
        folder.path().display()
    );
    let trial = Trial {
        arguments: line.split_whitespace().map(str::to_owned).collect(),
        cache: cache.path().to_owned(),
        folder: folder.path().to_owned(),
    };
    trial.whole();
    let whole = held(folder.path());
    assert_eq!(whole.len(), 1);
    assert!(whole.values().all(|bytes| *bytes == packed));
    clear(folder.path());
    let start = Instant::now();
    trial.whole();
    let lasts = start.elapsed();
    let mut moments = Moments::from(3);
    let mut counts = Counts::default();
    for kill in 0..kills {
        clear(folder.path());
        trial.kill_one(&mut moments, lasts, kill % 2 == 0);
        let after = held(folder.path());
        for (name, bytes) in &after {
            if is_left_over(name) {
                counts.left += 1;
                counts.midway += 1;
            } else {
                assert!(*bytes == packed, "kill {kill}: {name}");
            }
        }
        counts.kills += 1;
        trial.whole();
        let mut last = held(folder.path());
        last.retain(|name, _| !is_left_over(name));
        assert!(last == whole, "the run after kill {kill}");
    }
    counts
}

#[test]
fn answers_are_whole_or_not_there_however_their_making_ends() {
    assert_eq!(answers(12).kills, 12);
}

#[test]
fn what_is_remembered_is_whole_however_its_making_ends() {
    assert_eq!(caches(10).kills, 10);
}

#[test]
fn tiles_are_whole_or_not_there_however_fetching_ends() {
    assert_eq!(tiles(8).kills, 8);
}

#[test]
#[ignore = "minutes: a thousand kills"]
fn a_thousand_kills_lose_nothing() {
    for (what, counts) in [
        ("answers", answers(400)),
        ("cache", caches(300)),
        ("tiles", tiles(300)),
    ] {
        eprintln!("{what}: {counts:?}");
        assert!(counts.midway > 0, "{what}: no kill hit it while it wrote");
    }
}
