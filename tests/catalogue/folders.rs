//! Folders with strange things in them.
#![cfg(unix)]

use crate::case::{Run, run};
use crate::hill;
use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::path::Path;

fn climbs(folder: &Path, more: &[&str]) -> (Run, String) {
    let arguments: Vec<String> = ["climbs"]
        .iter()
        .chain(more)
        .map(|s| (*s).to_owned())
        .collect();
    let run = run(folder, &arguments, b"");
    let said = format!(
        "{}{}",
        String::from_utf8_lossy(&run.out),
        String::from_utf8_lossy(&run.err)
    );
    assert!(!said.contains("panicked"), "{said}");
    (run, said)
}

fn with_a_hill() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("in")).unwrap();
    fs::write(folder.path().join("in/hill.gpx"), hill::named("Good hill")).unwrap();
    folder
}

#[test]
fn links_in_a_circle_are_followed_once() {
    let folder = with_a_hill();
    symlink("..", folder.path().join("in/up")).unwrap();
    symlink("self", folder.path().join("in/self")).unwrap();
    symlink("nowhere.gpx", folder.path().join("in/lost.gpx")).unwrap();
    let (run, said) = climbs(folder.path(), &["in", "--format", "json"]);
    assert_eq!(run.status, Some(0), "{said}");
    assert_eq!(
        said.matches("\"source\": \"in")
            .count()
            .max(said.matches("\"source\":\"in").count()),
        1,
        "{said}"
    );
}

#[test]
fn a_folder_of_good_and_bad_gives_the_good_and_tells_the_bad() {
    let folder = with_a_hill();
    fs::write(folder.path().join("in/bad.gpx"), "<gpx").unwrap();
    fs::write(folder.path().join("in/empty.kml"), "").unwrap();
    let (run, said) = climbs(folder.path(), &["in"]);
    assert_eq!(run.status, Some(0), "{said}");
    for word in ["Good hill", "bad.gpx", "empty.kml", "it is empty"] {
        assert!(said.contains(word), "{word}: {said}");
    }
}

#[test]
fn an_empty_folder_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let (run, said) = climbs(folder.path(), &["."]);
    assert_eq!(run.status, Some(3), "{said}");
}

#[test]
fn names_that_are_strange_are_shown_tame() {
    let folder = tempfile::tempdir().unwrap();
    let inside = folder.path().join("in");
    fs::create_dir(&inside).unwrap();
    for name in [
        &b"new\nline.gpx"[..],
        b"\x1b[31mred.gpx",
        b"not-utf8-\xff.gpx",
        b" .gpx",
        b"-o.gpx",
    ] {
        fs::write(inside.join(OsStr::from_bytes(name)), hill::named("Hill")).unwrap();
    }
    fs::write(inside.join(OsStr::from_bytes(b"\x1b[31mbad.gpx")), "x").unwrap();
    let (run, said) = climbs(folder.path(), &["in"]);
    assert_eq!(run.status, Some(0), "{said}");
    assert_eq!(said.matches("Hill (").count(), 5, "{said}");
    assert!(!said.contains('\u{1b}'), "{said:?}");
    assert!(!said.contains("new\nline"), "{said:?}");
}

#[test]
fn a_pipe_by_name_is_read_and_one_in_a_folder_is_passed_over() {
    let folder = with_a_hill();
    let made = |name: &str| {
        assert!(
            std::process::Command::new("mkfifo")
                .arg(folder.path().join(name))
                .status()
                .unwrap()
                .success()
        );
    };
    made("in/pipe.gpx");
    let (run, said) = climbs(folder.path(), &["in"]);
    assert_eq!(run.status, Some(0), "{said}");
    made("pipe.gpx");
    let path = folder.path().join("pipe.gpx");
    let writer = std::thread::spawn(move || fs::write(path, hill::named("Piped hill")).unwrap());
    let (run, said) = climbs(folder.path(), &["pipe.gpx"]);
    writer.join().unwrap();
    assert_eq!(run.status, Some(0), "{said}");
    assert!(said.contains("Piped hill"), "{said}");
}

#[test]
fn what_can_not_be_read_is_told_with_its_name() {
    let folder = with_a_hill();
    for (name, status) in [("none.gpx", 3), ("/dev/null", 3), ("in/hill.gpx/deeper", 3)] {
        let (run, said) = climbs(folder.path(), &[name]);
        assert_eq!(run.status, Some(status), "{said}");
        assert!(said.contains(name), "{said}");
    }
    let (run, said) = climbs(folder.path(), &["/dev/zero", "--max-input", "5"]);
    assert_eq!(run.status, Some(3), "{said}");
    assert!(said.contains("larger than 5 MiB"), "{said}");
    let (run, said) = climbs(folder.path(), &["in/hill.gpx", "--rider", "in"]);
    assert_eq!(run.status, Some(3), "{said}");
    assert!(said.contains("folder"), "{said}");
}
