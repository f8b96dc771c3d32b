//! What a machine does to a program: a clock that is wrong, folders that can't be written to, a disk that is full, files
//! that only others may read.
#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, SystemTime};

use support::sample;
use tempfile::TempDir;

/// Who owns nothing, on every Linux.
const NOBODY: u32 = 65_534;
const HOUR: Duration = Duration::from_secs(3600);

/// A folder with a route, and room for a cache.
struct Machine {
    folder: TempDir,
}

impl Machine {
    fn new() -> Machine {
        let machine = Machine {
            folder: tempfile::tempdir().unwrap(),
        };
        fs::set_permissions(machine.folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
        fs::create_dir(machine.path("in")).unwrap();
        machine.put("harbour-hill.gpx");
        machine
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The route is now this one of the demo.
    fn put(&self, name: &str) {
        fs::write(self.path("in/route.gpx"), fs::read(sample(name)).unwrap()).unwrap();
    }

    /// The route's file was last changed then.
    fn dated(&self, time: SystemTime) {
        let file = fs::File::options()
            .write(true)
            .open(self.path("in/route.gpx"))
            .unwrap();
        file.set_modified(time).unwrap();
    }

    fn command(&self, program: &Path) -> Command {
        let mut command = Command::new(program);
        command
            .current_dir(self.folder.path())
            .env("XDG_CACHE_HOME", self.path("cache"))
            .env("HOME", self.folder.path())
            .env("NO_COLOR", "1")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, line: &str) -> Output {
        let program = assert_cmd::cargo::cargo_bin!("hillwright");
        let mut command = self.command(program);
        command.args(line.split_whitespace()).output().unwrap()
    }

    fn climbs(&self, more: &str) -> Vec<u8> {
        let run = self.run(&format!("climbs in --format json {more}"));
        assert_eq!(run.status.code(), Some(0), "{}", said(&run));
        assert!(run.stderr.is_empty(), "{}", said(&run));
        run.stdout
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(folder)).into_iter().flatten();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

fn said(run: &Output) -> String {
    let text = [run.stdout.as_slice(), &run.stderr].concat();
    let text = String::from_utf8_lossy(&text).into_owned();
    assert!(!text.contains("panicked"), "{text}");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn files_from_the_future_are_read_each_time() {
    // To the program a clock that was set back looks the same: files are younger than now.
    let machine = Machine::new();
    let tomorrow = SystemTime::now() + 24 * HOUR;
    machine.dated(tomorrow);
    let first = machine.climbs("");
    assert_eq!(first, machine.climbs("--no-cache"));
    assert_eq!(first, machine.climbs(""));
    machine.put("big-loop.gpx");
    machine.dated(tomorrow);
    let second = machine.climbs("");
    assert_ne!(first, second);
    assert_eq!(second, machine.climbs("--no-cache"));
}

#[test]
fn a_cache_from_the_future_and_one_from_long_ago_are_as_good() {
    let machine = Machine::new();
    machine.dated(SystemTime::now() - HOUR);
    let first = machine.climbs("");
    let entries = machine.names("cache/hillwright");
    assert_eq!(entries.len(), 2);
    for time in [SystemTime::now() + 24 * HOUR, SystemTime::UNIX_EPOCH] {
        for name in &entries {
            let path = machine.path("cache/hillwright").join(name);
            let file = fs::File::options().write(true).open(path).unwrap();
            file.set_modified(time).unwrap();
        }
        assert_eq!(machine.climbs(""), first);
        // The route's time and the clock may both have jumped.
        machine.dated(time);
        assert_eq!(machine.climbs(""), first);
        machine.dated(SystemTime::now() - HOUR);
    }
}

#[test]
fn a_cache_of_a_later_version_is_left_alone() {
    let machine = Machine::new();
    machine.dated(SystemTime::now() - HOUR);
    let first = machine.climbs("");
    let folder = machine.path("cache/hillwright");
    // Entries of another layout under our names, and files that this version knows nothing of.
    for name in machine.names("cache/hillwright") {
        let mut bytes = fs::read(folder.join(&name)).unwrap();
        bytes[16..20].copy_from_slice(&u32::MAX.to_le_bytes());
        fs::write(folder.join(&name), bytes).unwrap();
    }
    fs::write(folder.join("index-of-version-9"), "later").unwrap();
    fs::create_dir(folder.join("shards")).unwrap();
    assert_eq!(machine.climbs(""), first);
    assert_eq!(machine.climbs(""), first);
    assert_eq!(
        fs::read_to_string(folder.join("index-of-version-9")).unwrap(),
        "later"
    );
    let run = machine.run("cache --clear");
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    assert_eq!(
        machine.names("cache/hillwright"),
        ["index-of-version-9", "shards"]
    );
}

#[test]
fn a_cache_whose_entries_are_folders_is_no_error() {
    let machine = Machine::new();
    machine.dated(SystemTime::now() - HOUR);
    let first = machine.climbs("");
    for name in machine.names("cache/hillwright") {
        let path = machine.path("cache/hillwright").join(name);
        fs::remove_file(&path).unwrap();
        fs::create_dir(&path).unwrap();
    }
    assert_eq!(machine.climbs(""), first);
}

#[test]
fn without_a_folder_of_tiles_it_is_said_where_they_were_looked_for() {
    let machine = Machine::new();
    machine.climbs("--tiles none");
    let run = machine.run("climbs in --elevation tiles --tiles none");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(3), "{text}");
    assert!(
        text.contains("S45W130") && text.contains("none") && text.contains("--fetch"),
        "{text}"
    );
    let run = machine.run("tiles in --tiles none");
    assert_eq!(run.status.code(), Some(1), "{}", said(&run));
    assert!(!machine.path("none").exists());
}

/// Runs with room on the disk for no file larger than some kibibytes: a longer write fails in its middle, as on a full disk.
fn with_little_room(machine: &Machine, kibibytes: u32, line: &str) -> Output {
    let shell = format!("ulimit -f {kibibytes}; exec \"$0\" \"$@\"");
    let mut command = machine.command(Path::new("bash"));
    command
        .args(["-c", &shell])
        .arg(assert_cmd::cargo::cargo_bin!("hillwright"))
        .args(line.split_whitespace());
    command.output().unwrap()
}

#[test]
fn a_disk_that_fills_up_keeps_the_old_file_and_nothing_half_written() {
    let machine = Machine::new();
    fs::create_dir(machine.path("out")).unwrap();
    for ending in ["json", "html", "gpx", "geojson", "kml", "csv", "svg"] {
        let path = machine.path(&format!("out/climbs.{ending}"));
        fs::write(&path, "as it was").unwrap();
        let line = format!("climbs in -o out/climbs.{ending}");
        // Half a kibibyte is less than any of them.
        let run = with_little_room(&machine, 0, &line);
        let text = said(&run);
        assert_eq!(run.status.code(), Some(4), "{text}");
        assert!(text.contains(&format!("out/climbs.{ending}")), "{text}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "as it was");
        assert_eq!(machine.names("out"), [format!("climbs.{ending}")]);
        fs::remove_file(path).unwrap();
    }
}

#[test]
fn a_full_disk_under_the_cache_is_no_error() {
    let machine = Machine::new();
    machine.dated(SystemTime::now() - HOUR);
    let run = with_little_room(&machine, 0, "climbs in --format json");
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    assert!(run.stderr.is_empty(), "{}", said(&run));
    assert!(machine.names("cache/hillwright").is_empty());
    assert_eq!(run.stdout, machine.climbs(""));
}

/// The program as somebody who owns nothing: whoever owns everything may read and write everywhere.
fn as_a_stranger(machine: &Machine, line: &str) -> Output {
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    if fs::metadata(machine.folder.path()).unwrap().uid() != 0 {
        let mut command = machine.command(program);
        return command.args(line.split_whitespace()).output().unwrap();
    }
    // Where it was built may lie within what a stranger can't enter.
    let copy = machine.path("hillwright");
    if !copy.exists() {
        fs::copy(program, &copy).unwrap();
    }
    let mut command = machine.command(&copy);
    command
        .args(line.split_whitespace())
        .uid(NOBODY)
        .gid(NOBODY);
    command.output().unwrap()
}

#[test]
fn what_only_others_may_read_is_told_with_its_name() {
    let machine = Machine::new();
    let secret = machine.path("in/secret.gpx");
    fs::copy(sample("lagoon-flat.gpx"), &secret).unwrap();
    fs::set_permissions(&secret, fs::Permissions::from_mode(0o000)).unwrap();
    let run = as_a_stranger(&machine, "climbs in");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(0), "{text}");
    assert!(text.contains("in/secret.gpx: it can't be read"), "{text}");
    let run = as_a_stranger(&machine, "climbs in/secret.gpx");
    assert_eq!(run.status.code(), Some(3), "{}", said(&run));
    let closed = machine.path("closed");
    fs::create_dir(&closed).unwrap();
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o000)).unwrap();
    let run = as_a_stranger(&machine, "climbs closed");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(3), "{text}");
    assert!(text.contains("closed can't be listed"), "{text}");
    // In another folder it stops nothing.
    fs::rename(&closed, machine.path("in/closed")).unwrap();
    let closed = machine.path("in/closed");
    let run = as_a_stranger(&machine, "climbs in");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(0), "{text}");
    assert!(text.contains("in/closed can't be listed"), "{text}");
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_cache_that_may_only_be_read_is_read_and_no_error() {
    let machine = Machine::new();
    machine.dated(SystemTime::now() - HOUR);
    let fresh = machine.climbs("--no-cache");
    let folder = machine.path("cache/hillwright");
    fs::create_dir_all(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let run = as_a_stranger(&machine, "climbs in --format json");
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    assert!(run.stderr.is_empty(), "{}", said(&run));
    assert!(run.stdout == fresh);
    assert!(machine.names("cache/hillwright").is_empty());
    // What can't be removed is told.
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    machine.climbs("");
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let run = as_a_stranger(&machine, "cache --clear");
    assert_eq!(run.status.code(), Some(4), "{}", said(&run));
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_folder_that_may_only_be_read_gets_no_answer_and_says_so() {
    let machine = Machine::new();
    let folder = machine.path("out");
    fs::create_dir(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let run = as_a_stranger(&machine, "climbs in -o out/climbs.html");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(4), "{text}");
    assert!(
        text.contains("out/climbs.html: it can't be written"),
        "{text}"
    );
    assert!(machine.names("out").is_empty());
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn an_answer_that_nobody_reads_to_its_end_is_no_failure() {
    let machine = Machine::new();
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    for line in [
        "climbs in --format json",
        "climbs in --format csv",
        "climbs in",
        "example rider",
        "completions bash",
        "--help",
    ] {
        let mut command = machine.command(Path::new("bash"));
        let shell = "set -o pipefail; \"$0\" \"$@\" | head -c 1 >/dev/null";
        command.args(["-c", shell]).arg(program);
        let run = command.args(line.split_whitespace()).output().unwrap();
        assert_eq!(run.status.code(), Some(0), "{line}: {}", said(&run));
        assert!(run.stderr.is_empty(), "{line}: {}", said(&run));
    }
}

#[test]
fn a_working_folder_that_is_gone_is_no_panic() {
    let machine = Machine::new();
    let gone = machine.path("gone");
    fs::create_dir(&gone).unwrap();
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    for (line, status) in [
        (format!("climbs {}", machine.path("in").display()), 0),
        ("climbs .".to_owned(), 3),
        ("climbs none.gpx".to_owned(), 3),
    ] {
        fs::create_dir_all(&gone).unwrap();
        let mut command = machine.command(Path::new("bash"));
        let shell = "rmdir \"$PWD\"; exec \"$0\" \"$@\"";
        command.args(["-c", shell]).arg(program).current_dir(&gone);
        let run = command.args(line.split_whitespace()).output().unwrap();
        assert_eq!(run.status.code(), Some(status), "{line}: {}", said(&run));
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_machine_that_starts_no_threads_is_worked_on_without_or_told() {
    let machine = Machine::new();
    let limited = |line: &str| {
        let copy = machine.path("limited");
        if !copy.exists() {
            fs::copy(assert_cmd::cargo::cargo_bin!("hillwright"), &copy).unwrap();
        }
        let mut command = machine.command(Path::new("sh"));
        // Shells differ in the letter.
        command.arg("-c").arg(format!(
            "ulimit -u 1 2>/dev/null || ulimit -p 1; exec ./limited {line}"
        ));
        // The limit does not bind who owns everything; an account of its own, so that nobody else's processes count.
        if fs::metadata(machine.folder.path()).unwrap().uid() == 0 {
            command.uid(NOBODY - 7).gid(NOBODY);
        }
        command.output().unwrap()
    };
    for line in ["climbs in --no-cache", "climbs in in/route.gpx --no-cache"] {
        let run = limited(line);
        assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    }
    let run = limited("serve --no-open");
    let text = said(&run);
    assert_eq!(run.status.code(), Some(4), "{text}");
    assert!(text.contains("no more threads can be started"), "{text}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_whose_name_is_no_text_is_read_by_its_name() {
    let machine = Machine::new();
    let name = std::ffi::OsStr::from_bytes(b"in/h\xfcgel.gpx");
    fs::rename(
        machine.path("in/route.gpx"),
        machine.folder.path().join(name),
    )
    .unwrap();
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    let mut command = machine.command(program);
    let run = command.arg("climbs").arg(name).output().unwrap();
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    assert!(said(&run).contains("in/h\u{fffd}gel.gpx"), "{}", said(&run));
}
