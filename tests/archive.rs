//! Folders of routes, as a user would see them.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use assert_cmd::Command;
use serde_json::Value;
use support::{hillwright, sample};
use tempfile::TempDir;

const DEMO: [&str; 4] = [
    "big-loop.gpx",
    "big-loop-watch.gpx",
    "harbour-hill.gpx",
    "lagoon-flat.gpx",
];

/// A folder of rides and the cache that goes with it.
struct Archive {
    folder: TempDir,
    cache: TempDir,
}

impl Archive {
    /// The demo's routes, files an hour old.
    fn of_demo() -> Archive {
        let archive = Archive {
            folder: tempfile::tempdir().unwrap(),
            cache: tempfile::tempdir().unwrap(),
        };
        for name in DEMO {
            archive.write(name, &fs::read(sample(name)).unwrap());
        }
        archive
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        fs::write(self.path(name), bytes).unwrap();
        let file = fs::File::options()
            .write(true)
            .open(self.path(name))
            .unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(3600))
            .unwrap();
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = hillwright();
        command
            .args(arguments)
            .arg(self.folder.path())
            .env("XDG_CACHE_HOME", self.cache.path())
            .env("HOME", self.cache.path());
        command
    }

    fn climbs(&self, more: &[&str]) -> Vec<u8> {
        let arguments = [&["climbs", "--format", "json"], more].concat();
        let run = self.command(&arguments).assert().success();
        run.get_output().stdout.clone()
    }

    /// The entries that were kept.
    fn entries(&self) -> Vec<PathBuf> {
        let folder = self.cache_folder();
        let mut paths: Vec<PathBuf> = fs::read_dir(folder)
            .map(|entries| entries.map(|e| e.unwrap().path()).collect())
            .unwrap_or_default();
        paths.sort();
        paths
    }

    fn cache_folder(&self) -> PathBuf {
        let run = hillwright()
            .arg("cache")
            .env("XDG_CACHE_HOME", self.cache.path())
            .env("HOME", self.cache.path())
            .assert()
            .success();
        let told = String::from_utf8(run.get_output().stdout.clone()).unwrap();
        let (_, folder) = told.trim_end().split_once(" in ").unwrap();
        PathBuf::from(folder)
    }
}

fn json(bytes: &[u8]) -> Value {
    serde_json::from_slice(bytes).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[test]
fn a_folder_says_what_its_files_say_one_by_one() {
    let archive = Archive::of_demo();
    let folder = json(&archive.climbs(&[]));
    let routes = folder["routes"].as_array().unwrap();
    assert_eq!(routes.len(), DEMO.len());
    for route in routes {
        let run = hillwright()
            .args([
                "climbs",
                "--format",
                "json",
                route["source"].as_str().unwrap(),
            ])
            .assert();
        let alone = json(&run.get_output().stdout);
        assert_eq!(&alone["routes"][0], route);
    }
}

#[test]
fn what_wider_limits_let_through_is_not_remembered_as_refused() {
    let archive = Archive::of_demo();
    let point = |i| {
        let lat_deg = 45.0 + 1e-6 * f64::from(i);
        format!("<trkpt lat=\"{lat_deg:.6}\" lon=\"7\"><ele>1</ele></trkpt>")
    };
    // 32,768 go with two mebibytes.
    let points: String = (0..33_000).map(point).collect();
    let text = format!("<gpx><trk><trkseg>{points}</trkseg></trk></gpx>");
    archive.write("fine.gpx", text.as_bytes());
    let routes = |more: &[&str]| {
        json(&archive.climbs(more))["routes"]
            .as_array()
            .map(Vec::len)
    };
    assert_eq!(routes(&["--max-input", "2"]), Some(DEMO.len()));
    assert_eq!(routes(&[]), Some(DEMO.len() + 1));
}

#[test]
fn any_number_of_threads_and_any_state_of_the_cache_give_the_same_answer() {
    let archive = Archive::of_demo();
    let fresh = archive.climbs(&["--no-cache"]);
    assert!(archive.entries().is_empty());
    for threads in ["1", "2", "5"] {
        let mut command = archive.command(&["climbs", "--format", "json"]);
        let run = command.env("RAYON_NUM_THREADS", threads).assert().success();
        assert_eq!(run.get_output().stdout, fresh, "{threads} threads");
    }
    assert_eq!(archive.entries().len(), DEMO.len() + 1);
}

#[test]
fn damaged_entries_are_worked_out_again() {
    let archive = Archive::of_demo();
    let first = archive.climbs(&[]);
    let whole: Vec<Vec<u8>> = archive
        .entries()
        .iter()
        .map(|p| fs::read(p).unwrap())
        .collect();
    type Damage = fn(&[u8]) -> Vec<u8>;
    let damages: [Damage; 4] = [
        |bytes| bytes[..bytes.len() / 2].to_vec(),
        |_| Vec::new(),
        |bytes| {
            let mut bytes = bytes.to_vec();
            let last = bytes.len() - 1;
            bytes[last] ^= 1;
            bytes
        },
        // An entry of a layout that is not known yet.
        |bytes| {
            let mut bytes = bytes.to_vec();
            bytes[16] = bytes[16].wrapping_add(1);
            bytes
        },
    ];
    for damage in damages {
        for (path, bytes) in archive.entries().iter().zip(&whole) {
            fs::write(path, damage(bytes)).unwrap();
        }
        assert_eq!(archive.climbs(&[]), first);
        let again: Vec<Vec<u8>> = archive
            .entries()
            .iter()
            .map(|p| fs::read(p).unwrap())
            .collect();
        assert_eq!(again.len(), whole.len());
    }
}

#[test]
fn a_file_that_changes_is_read_again() {
    let archive = Archive::of_demo();
    let before = json(&archive.climbs(&[]));
    archive.write(
        "harbour-hill.gpx",
        &fs::read(sample("lagoon-flat.gpx")).unwrap(),
    );
    let after = json(&archive.climbs(&[]));
    assert_ne!(
        before["routes"][2]["length_m"],
        after["routes"][2]["length_m"]
    );
    assert_eq!(
        after["routes"][2]["length_m"],
        after["routes"][3]["length_m"]
    );
    // Another rule is another question.
    let stricter = json(&archive.climbs(&["--min-length", "1000"]));
    let count = |d: &Value| d["routes"][1]["climbs"].as_array().unwrap().len();
    assert!(count(&stricter) < count(&after));
}

#[test]
fn a_cache_that_can_not_be_written_is_no_error() {
    let archive = Archive::of_demo();
    let fresh = archive.climbs(&["--no-cache"]);
    let file = archive.cache.path().join("file");
    fs::write(&file, "x").unwrap();
    let mut command = archive.command(&["climbs", "--format", "json"]);
    let run = command.env("XDG_CACHE_HOME", &file).assert().success();
    assert_eq!(run.get_output().stdout, fresh);
    assert!(run.get_output().stderr.is_empty());
}

#[test]
fn the_cache_tells_where_it_is_and_goes_when_told() {
    let archive = Archive::of_demo();
    archive.climbs(&[]);
    assert_eq!(archive.entries().len(), DEMO.len() + 1);
    let run = hillwright()
        .args(["cache", "--clear"])
        .env("XDG_CACHE_HOME", archive.cache.path())
        .env("HOME", archive.cache.path())
        .assert()
        .success();
    let told = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    assert!(told.starts_with("5 files, "), "{told}");
    assert!(archive.entries().is_empty());
}

#[test]
fn two_scans_at_once_and_one_that_is_stopped_do_no_harm() {
    let archive = Archive::of_demo();
    for i in 0..12 {
        let copy = fs::read_to_string(sample("harbour-hill.gpx")).unwrap();
        archive.write(
            &format!("copy-{i:02}.gpx"),
            format!("{copy}<!-- {i} -->").as_bytes(),
        );
    }
    let fresh = archive.climbs(&["--no-cache"]);
    let start = || {
        std::process::Command::new(assert_cmd::cargo::cargo_bin!("hillwright"))
            .args(["climbs", "--format", "json"])
            .arg(archive.folder.path())
            .env("XDG_CACHE_HOME", archive.cache.path())
            .env("HOME", archive.cache.path())
            .current_dir(support::root())
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap()
    };
    for after_ms in [20, 60, 150] {
        let mut stopped = start();
        std::thread::sleep(Duration::from_millis(after_ms));
        stopped.kill().unwrap();
        stopped.wait().unwrap();
    }
    let (one, two) = (start(), start());
    assert_eq!(one.wait_with_output().unwrap().stdout, fresh);
    assert_eq!(two.wait_with_output().unwrap().stdout, fresh);
    assert_eq!(archive.climbs(&[]), fresh);
}

#[test]
fn files_that_are_no_routes_are_told_and_the_rest_is_used() {
    let archive = Archive::of_demo();
    archive.write("broken.gpx", b"<gpx><trk>");
    archive.write("notes.xml", b"<notes/>");
    for _ in 0..2 {
        let run = archive
            .command(&["climbs", "--format", "json"])
            .assert()
            .success();
        let told = String::from_utf8(run.get_output().stderr.clone()).unwrap();
        let (broken, notes) = (
            told.find("broken.gpx").unwrap(),
            told.find("notes.xml").unwrap(),
        );
        assert!(broken < notes, "{told}");
        assert_eq!(
            json(&run.get_output().stdout)["routes"]
                .as_array()
                .unwrap()
                .len(),
            4
        );
    }
}

#[test]
fn elevations_from_tiles_that_change_are_worked_out_again() {
    let archive = Archive::of_demo();
    let tiles = tempfile::tempdir().unwrap();
    let folder = tiles.path().to_str().unwrap();
    let arguments = [
        "climbs",
        "--elevation",
        "tiles",
        "--tiles",
        folder,
        "--format",
        "json",
    ];
    archive.command(&arguments).assert().code(3);
    let tile = "S45W130.hgt.gz";
    fs::copy(
        support::root().join("elevation-cache").join(tile),
        tiles.path().join(tile),
    )
    .unwrap();
    let run = archive.command(&arguments).assert().success();
    let document = json(&run.get_output().stdout);
    assert_eq!(document["routes"][0]["elevation"]["source"], "tiles");
    fs::remove_file(tiles.path().join(tile)).unwrap();
    archive.command(&arguments).assert().code(3);
}

#[test]
fn the_loop_and_its_watch_recording_share_their_climbs() {
    let archive = Archive::of_demo();
    let document = json(&archive.climbs(&[]));
    let shared = document["shared"].as_array().unwrap();
    let on_both = |climb: &&Value| {
        let seen = climb["seen"].as_array().unwrap();
        let on = |name: &str| {
            seen.iter()
                .any(|s| s["source"].as_str().unwrap().ends_with(name))
        };
        on("big-loop.gpx") && on("big-loop-watch.gpx")
    };
    assert!(shared.iter().filter(on_both).count() >= 5, "{shared:#?}");
}

#[test]
fn climbs_near_a_place_are_told_each_once_the_nearest_first() {
    let archive = Archive::of_demo();
    let all = json(&archive.climbs(&[]));
    let foot = &all["routes"][1]["climbs"][0]["start"];
    let place = format!("{},{}", foot["lat"], foot["lon"]);
    let near = |more: &[&str]| {
        let arguments = [&["near", "--format", "json", &place], more].concat();
        let run = archive.command(&arguments).assert();
        json(&run.get_output().stdout)
    };
    let document = near(&["--within", "200km"]);
    let climbs = document["climbs"].as_array().unwrap();
    let away: Vec<f64> = climbs
        .iter()
        .map(|c| c["away_m"].as_f64().unwrap())
        .collect();
    assert!(away.is_sorted() && away[0] < 100.0, "{away:?}");
    let seen: usize = climbs
        .iter()
        .map(|c| c["seen"].as_array().unwrap().len())
        .sum();
    let routes = all["routes"].as_array().unwrap();
    let found: usize = routes
        .iter()
        .map(|r| r["climbs"].as_array().unwrap().len())
        .sum();
    assert_eq!(seen, found);
    let close = near(&["--within", "5km"]);
    let within = away.iter().filter(|m| **m <= 5000.0).count();
    assert_eq!(close["climbs"].as_array().unwrap().len(), within);
    let long = near(&[
        "--within",
        "200km",
        "--longer-than",
        "4:00",
        "--power",
        "210",
    ]);
    let long = long["climbs"].as_array().unwrap();
    assert!(!long.is_empty() && long.len() < climbs.len());
    for climb in long {
        assert!(climb["ride"]["duration_s"].as_f64().unwrap() >= 240.0);
    }
}

#[test]
fn near_fits_the_page_and_says_so_where_there_is_nothing() {
    let archive = Archive::of_demo();
    for columns in ["80", "120"] {
        let mut command = archive.command(&["near", "-44.7,-129.75", "--power", "200"]);
        let run = command.env("COLUMNS", columns).assert().success();
        let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
        let widest = text.lines().map(|l| l.chars().count()).max().unwrap();
        assert!(widest <= columns.parse().unwrap(), "{text}");
    }
    archive.command(&["near", "10,10"]).assert().code(1);
    archive.command(&["near", "95,10"]).assert().code(2);
    archive
        .command(&["near", "10,10", "--longer-than", "4:00"])
        .assert()
        .code(2);
    assert!(names(archive.folder.path()).len() == DEMO.len());
}
