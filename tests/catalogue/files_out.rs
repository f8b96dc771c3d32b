//! Files that are written appear whole or not at all, and never over an input.
#![cfg(unix)]

use crate::case::{Run, run};
use crate::hill;
use std::fs;
use std::path::Path;

fn typed(folder: &Path, line: &str) -> (Run, String) {
    let arguments: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
    let run = run(folder, &arguments, b"");
    let said = String::from_utf8_lossy(&run.err).into_owned();
    assert!(!said.contains("panicked"), "{said}");
    (run, said)
}

fn with_a_hill() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.geojson"), hill::whole()).unwrap();
    folder
}

/// The names in a folder, without what starts with a dot and is no part of a file.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n != ".cache")
        .collect();
    names.sort();
    names
}

#[test]
fn an_input_is_never_written_over() {
    let folder = with_a_hill();
    std::os::unix::fs::symlink("a.geojson", folder.path().join("b.geojson")).unwrap();
    for output in ["a.geojson", "./a.geojson", "b.geojson"] {
        let (run, said) = typed(folder.path(), &format!("climbs a.geojson -o {output}"));
        assert_eq!(run.status, Some(2), "{output}: {said}");
        assert!(said.contains("input"), "{output}: {said}");
    }
    assert_eq!(
        fs::read_to_string(folder.path().join("a.geojson")).unwrap(),
        hill::whole()
    );
}

#[test]
fn where_nothing_can_be_written_nothing_is() {
    let folder = with_a_hill();
    fs::create_dir(folder.path().join("taken.json")).unwrap();
    for output in [
        "none/a.json",
        "taken.json",
        "a.geojson/b.json",
        "/proc/none.json",
    ] {
        let (run, said) = typed(folder.path(), &format!("climbs a.geojson -o {output}"));
        assert_eq!(run.status, Some(4), "{output}: {said}");
        assert!(said.contains(output), "{output}: {said}");
    }
    assert_eq!(names(folder.path()), ["a.geojson", "taken.json"]);
}

#[test]
fn a_disk_that_is_full_is_told() {
    let folder = with_a_hill();
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    let full = fs::OpenOptions::new().write(true).open("/dev/full");
    let Ok(full) = full else { return };
    let run = std::process::Command::new(program)
        .args(["climbs", "a.geojson"])
        .current_dir(folder.path())
        .stdout(full)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(4), "{said}");
    assert!(said.contains("could not be written"), "{said}");
}

#[test]
fn endings_that_are_not_known_are_refused_before_any_work() {
    let folder = with_a_hill();
    for output in ["a.exe", "a", "a.geojson.", ".json", "a.JSON.txt"] {
        let (run, said) = typed(folder.path(), &format!("climbs a.geojson -o {output}"));
        assert_eq!(run.status, Some(2), "{output}: {said}");
    }
    assert_eq!(names(folder.path()), ["a.geojson"]);
}
