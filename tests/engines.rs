//! What is handed on to programs: lines of JSON route by route, tables, lines for maps.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::fs;
use std::path::Path;

use serde_json::Value;
use support::{hillwright, root};

const FOLDER: &str = "sample-routes";

fn printed(arguments: &[&str]) -> String {
    let run = hillwright().args(arguments).assert().success();
    String::from_utf8(run.get_output().stdout.clone()).unwrap()
}

fn documents(lines: &str) -> Vec<Value> {
    assert!(lines.ends_with('\n'));
    lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

/// The routes of `hillwright.climbs/1`.
fn routes(more: &[&str]) -> Vec<Value> {
    let arguments = [&["climbs", FOLDER, "--format", "json"], more].concat();
    let document: Value = serde_json::from_str(&printed(&arguments)).unwrap();
    document["routes"].as_array().unwrap().clone()
}

#[test]
fn each_line_is_a_route_of_the_whole_document_in_its_order() {
    for more in [&["--no-cache"][..], &["--power", "200"]] {
        let whole = routes(more);
        for threads in ["1", "2", "5"] {
            let mut command = hillwright();
            command.args(["climbs", FOLDER, "--format", "ndjson"]);
            let run = command
                .args(more)
                .env("RAYON_NUM_THREADS", threads)
                .assert();
            let lines = String::from_utf8(run.success().get_output().stdout.clone()).unwrap();
            let mut found = documents(&lines);
            for document in &mut found {
                let schema = document.as_object_mut().unwrap().remove("schema");
                assert_eq!(schema.unwrap(), "hillwright.route/1");
            }
            assert_eq!(found, whole, "{threads} threads");
        }
    }
}

#[test]
fn a_line_holds_against_its_schema() {
    let path = root().join("docs/schema/route.schema.json");
    let schema: Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for document in documents(&printed(&[
        "climbs", FOLDER, "--format", "ndjson", "--power", "200",
    ])) {
        let faults: Vec<String> = validator
            .iter_errors(&document)
            .map(|e| e.to_string())
            .collect();
        assert!(faults.is_empty(), "{faults:?}");
    }
}

#[test]
fn a_file_of_lines_is_what_is_printed_beside_text_too() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("climbs.ndjson");
    let name = path.to_str().unwrap();
    let lines = printed(&["climbs", FOLDER, "--format", "ndjson", "-o", name]);
    assert_eq!(fs::read_to_string(&path).unwrap(), lines);
    fs::remove_file(&path).unwrap();
    let text = printed(&["climbs", FOLDER, "-o", name]);
    assert!(text.contains("climb"));
    assert_eq!(fs::read_to_string(&path).unwrap(), lines);
}

#[test]
fn what_needs_all_routes_at_once_is_not_handed_on_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("climbs.html");
    let run = hillwright()
        .args(["climbs", FOLDER, "--format", "ndjson", "-o"])
        .arg(&page)
        .assert()
        .code(2);
    let told = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(told.contains("in a run of their own"), "{told}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    let run = hillwright()
        .args(["tiles", FOLDER, "--format", "ndjson"])
        .assert()
        .code(2);
    assert!(run.get_output().stdout.is_empty());
}

#[test]
fn nothing_usable_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let broken = folder.path().join("broken.gpx");
    fs::write(&broken, "<gpx><trk>").unwrap();
    hillwright()
        .args(["climbs", "--format", "ndjson", "-o"])
        .args([folder.path().join("out.ndjson"), broken])
        .assert()
        .code(3);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[cfg(not(feature = "parquet"))]
#[test]
fn without_the_feature_parquet_is_refused_with_the_way_to_get_it() {
    let run = hillwright()
        .args(["climbs", FOLDER, "-o", "climbs.parquet"])
        .assert()
        .code(2);
    let told = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(told.contains("--features parquet"), "{told}");
    assert!(!root().join("climbs.parquet").exists());
}

/// What is in the file is read by other libraries in `tests/reference/check_engines.py`.
#[cfg(feature = "parquet")]
#[test]
fn with_the_feature_a_parquet_file_is_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("climbs.parquet");
    printed(&["climbs", FOLDER, "-o", path.to_str().unwrap()]);
    let bytes = fs::read(&path).unwrap();
    assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

fn near(more: &[&str]) -> String {
    let arguments = [
        "near",
        "-44.7,-129.75",
        FOLDER,
        "--within",
        "200km",
        "--power",
        "200",
    ];
    printed(&[&arguments, more].concat())
}

#[test]
fn climbs_around_a_place_come_as_a_table_and_as_lines() {
    let document: Value = serde_json::from_str(&near(&["--format", "json"])).unwrap();
    let climbs = document["climbs"].as_array().unwrap();
    let table = near(&["--format", "csv"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let head = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), climbs.len());
    let column = |name: &str| head.iter().position(|h| h == name).unwrap();
    let lines: Value = serde_json::from_str(&near(&["--format", "geojson"])).unwrap();
    let features = lines["features"].as_array().unwrap();
    assert_eq!(features.len(), climbs.len());
    for ((climb, row), feature) in climbs.iter().zip(&rows).zip(features) {
        for name in ["away_m", "length_m", "gain_m", "grade_pct", "rides"] {
            let cell: f64 = row[column(name)].parse().unwrap();
            assert_eq!(Some(cell), climb[name].as_f64(), "{name}");
        }
        let duration: f64 = row[column("duration_s")].parse().unwrap();
        assert_eq!(Some(duration), climb["ride"]["duration_s"].as_f64());
        assert_eq!(feature["properties"]["hillwright"], "climb");
        assert_eq!(feature["properties"]["grade_pct"], climb["grade_pct"]);
        let first = &feature["geometry"]["coordinates"][0];
        assert!(
            (first[1].as_f64().unwrap() - climb["start"]["lat"].as_f64().unwrap()).abs() < 1e-4
        );
    }
    assert!(table.contains("physiotherapist"), "the cautions are on it");
}

#[test]
fn files_of_climbs_around_a_place_are_written_by_their_endings() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    near(&[
        "-o",
        &file("near.csv"),
        "-o",
        &file("near.geojson"),
        "-o",
        &file("near.json"),
    ]);
    let is_there = |name: &str| Path::new(&file(name)).exists();
    assert!(
        ["near.csv", "near.geojson", "near.json"]
            .iter()
            .all(|n| is_there(n))
    );
}
