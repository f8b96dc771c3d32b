//! `hillwright tiles`, and climbs and plans from tiles, as a person would run them.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod loopback;

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use loopback::{Answer, Server, gzip, level_tile};
use serde_json::Value;

/// The program, away from this machine's settings.
fn hillwright(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hillwright"));
    command
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(arguments)
        .env("COLUMNS", "200")
        .env_remove("HILLWRIGHT_TILE_SOURCE");
    for proxy in [
        "HTTP_PROXY",
        "http_proxy",
        "HTTPS_PROXY",
        "https_proxy",
        "ALL_PROXY",
        "all_proxy",
    ] {
        command.env_remove(proxy);
    }
    command
}

/// Runs it and tells the exit status, standard output and standard error.
fn run(command: &mut Command) -> (i32, String, String) {
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap(),
        text(output.stdout),
        text(output.stderr),
    )
}

/// A straight road from 44.98 to 45.02 degrees north, over a border of tiles; with or without elevations.
fn route(folder: &Path, elevations: bool) -> String {
    let point = |i: i32| {
        let elevation = if elevations {
            format!("<ele>{}</ele>", 100 + i)
        } else {
            String::new()
        };
        format!(
            "<trkpt lat=\"{}\" lon=\"7.5\">{elevation}</trkpt>",
            44.98 + 0.001 * f64::from(i)
        )
    };
    let points: String = (0..=40).map(point).collect();
    let path = folder.join("road.gpx");
    fs::write(
        &path,
        format!("<gpx><trk><trkseg>{points}</trkseg></trk></gpx>"),
    )
    .unwrap();
    path.to_str().unwrap().to_owned()
}

/// A tile that climbs northwards by 5 m in 3 arc seconds of 92.6 m: 5.4 %.
fn rising_tile(from_m: i16) -> Vec<u8> {
    (0..1201_i16)
        .flat_map(|row| (from_m + 5 * (1200 - row)).to_be_bytes().repeat(1201))
        .collect()
}

/// Whether the table has a row that starts with a tile and its state.
fn has_row(out: &str, tile: &str, state: &str) -> bool {
    out.lines()
        .any(|line| line.split_whitespace().take(2).eq([tile, state]))
}

#[test]
fn the_demo_routes_need_the_demo_tile_and_it_is_here() {
    let (status, out, err) = run(&mut hillwright(&[
        "tiles",
        "sample-routes",
        "--format",
        "json",
    ]));
    assert_eq!((status, err.as_str()), (0, ""));
    let document: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(document["schema"], "hillwright.tiles/1");
    assert_eq!(document["missing"], 0);
    assert_eq!(document["tiles"].as_array().unwrap().len(), 1);
    let tile = &document["tiles"][0];
    assert_eq!(
        (tile["name"].as_str(), tile["state"].as_str()),
        (Some("S45W130"), Some("here"))
    );
    assert_eq!(
        (tile["spacing_arcsec"].as_u64(), tile["voids"].as_u64()),
        (Some(3), Some(0))
    );
    assert!(
        document["routes"]
            .as_array()
            .unwrap()
            .iter()
            .all(|route| route["tiles"][0] == "S45W130")
    );
}

#[test]
fn missing_and_damaged_tiles_are_told_with_status_1() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    fs::write(folder.path().join("N45E007.hgt"), [0; 10]).unwrap();
    let tiles = folder.path().to_str().unwrap();
    let (status, out, _) = run(&mut hillwright(&["tiles", &route, "--tiles", tiles]));
    assert_eq!(status, 1);
    assert!(
        has_row(&out, "N44E007", "missing") && has_row(&out, "N45E007", "damaged"),
        "{out}"
    );
    assert!(
        out.contains("it holds 10 bytes") && out.contains("2 of 2 tiles missing or damaged"),
        "{out}"
    );
    assert!(out.contains("--fetch --tile-source URL"), "{out}");
}

#[test]
fn the_document_is_as_its_schema_says() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    let tiles = folder.path().to_str().unwrap();
    let (_, out, _) = run(&mut hillwright(&[
        "tiles", &route, "--tiles", tiles, "--format", "json",
    ]));
    let schema: Value =
        serde_json::from_str(include_str!("../docs/schema/tiles.schema.json")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let document: Value = serde_json::from_str(&out).unwrap();
    let faults: Vec<String> = validator
        .iter_errors(&document)
        .map(|e| e.to_string())
        .collect();
    assert!(faults.is_empty(), "{faults:?}");
}

#[test]
fn fetch_gets_what_is_missing_once_and_nothing_again() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    let tiles = folder.path().join("tiles");
    let server = Server::start(vec![
        Answer::Status(503),
        Answer::Good(gzip(&level_tile(300))),
    ]);
    let arguments = [
        "tiles",
        &route,
        "--tiles",
        tiles.to_str().unwrap(),
        "--fetch",
    ];
    let (status, out, err) = run(hillwright(&arguments).args(["--tile-source", &server.source()]));
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    assert!(
        has_row(&out, "N44E007", "fetched") && has_row(&out, "N45E007", "fetched"),
        "{out}"
    );
    assert_eq!(
        server.paths(),
        [
            "/N44/N44E007.hgt.gz",
            "/N44/N44E007.hgt.gz",
            "/N45/N45E007.hgt.gz"
        ]
    );
    // The source may be named once and for all; nothing is missing now, so that nothing is asked for.
    let (status, out, _) =
        run(hillwright(&arguments).env("HILLWRIGHT_TILE_SOURCE", server.source()));
    assert_eq!((status, server.requests()), (0, 3));
    assert!(out.contains("All needed here: 2 tiles"), "{out}");
}

#[test]
fn what_can_not_be_fetched_is_told_and_the_rest_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    let tiles = folder.path().to_str().unwrap();
    let server = Server::start(vec![Answer::Status(404), Answer::Good(level_tile(300))]);
    let (status, out, err) = run(&mut hillwright(&[
        "tiles",
        &route,
        "--tiles",
        tiles,
        "--fetch",
        "--tile-source",
        &server.source(),
    ]));
    assert_eq!(status, 1);
    assert!(
        err.contains("error:")
            && err.contains("N44E007.hgt.gz: the source has no such tile (status 404)"),
        "{err}"
    );
    assert!(
        out.contains("1 of 2 tiles missing") && has_row(&out, "N45E007", "fetched"),
        "{out}"
    );
}

#[test]
fn a_fetch_without_a_source_or_with_a_wrong_one_is_a_wrong_command_line() {
    let (status, _, err) = run(&mut hillwright(&["tiles", "sample-routes", "--fetch"]));
    assert_eq!(status, 2);
    assert!(
        err.contains("--fetch needs a source") && err.contains("HILLWRIGHT_TILE_SOURCE"),
        "{err}"
    );
    let (status, _, err) = run(&mut hillwright(&[
        "tiles",
        "sample-routes",
        "--fetch",
        "--tile-source",
        "https://a/b.hgt",
    ]));
    assert_eq!(status, 2);
    assert!(err.contains("all tiles would be the same"), "{err}");
    let (status, _, err) = run(hillwright(&["tiles", "sample-routes", "--fetch"])
        .env("HILLWRIGHT_TILE_SOURCE", "ftp://a/{name}"));
    assert_eq!(status, 2);
    assert!(err.contains("HILLWRIGHT_TILE_SOURCE: "), "{err}");
}

#[test]
fn a_route_without_elevations_is_graded_from_tiles() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    fs::write(folder.path().join("N44E007.hgt"), rising_tile(-5000)).unwrap();
    fs::write(
        folder.path().join("N45E007.hgt.gz"),
        gzip(&rising_tile(1000)),
    )
    .unwrap();
    let tiles = folder.path().to_str().unwrap();
    let (status, out, err) = run(&mut hillwright(&[
        "climbs", &route, "--tiles", tiles, "--format", "json",
    ]));
    assert_eq!((status, err.as_str()), (0, ""));
    let document: Value = serde_json::from_str(&out).unwrap();
    let entry = &document["routes"][0];
    assert_eq!(entry["elevation"]["source"], "tiles");
    assert_eq!(entry["points"], 41);
    let climbs = entry["climbs"].as_array().unwrap();
    assert_eq!(climbs.len(), 1, "{out}");
    // 5 m in 3 arc seconds; one degree of latitude is 111 131.7 m at 45 degrees (Snyder, USGS 1395, 1987).
    let grade_pct = climbs[0]["grade_pct"].as_f64().unwrap();
    assert!(
        (grade_pct - 100.0 * 5.0 * 1200.0 / 111_131.7).abs() < 0.02,
        "{grade_pct}"
    );
    assert!(
        entry["warnings"]
            .to_string()
            .contains("elevations are the ground's"),
        "{out}"
    );
}

#[test]
fn without_elevations_and_tiles_the_needed_ones_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let route = route(folder.path(), false);
    let tiles = folder.path().to_str().unwrap();
    for elevation in ["auto", "tiles"] {
        let (status, _, err) = run(&mut hillwright(&[
            "climbs",
            &route,
            "--tiles",
            tiles,
            "--elevation",
            elevation,
        ]));
        assert_eq!(status, 3);
        assert!(
            err.contains("the elevation tiles N44E007, N45E007 are not in"),
            "{err}"
        );
        assert!(
            err.contains("hillwright tiles ROUTE --fetch --tile-source URL"),
            "{err}"
        );
    }
    let (status, _, err) = run(&mut hillwright(&[
        "climbs",
        &route,
        "--tiles",
        tiles,
        "--elevation",
        "recorded",
    ]));
    assert_eq!(status, 3);
    assert!(
        err.contains("the route has no elevations") && !err.contains("N44E007"),
        "{err}"
    );
}

#[test]
fn recorded_elevations_are_used_unless_tiles_are_asked_for() {
    let demo = "sample-routes/harbour-hill.gpx";
    let source = |arguments: &[&str]| {
        let (status, out, err) = run(hillwright(arguments).args(["--format", "json"]));
        assert!(status <= 1, "{err}");
        let document: Value = serde_json::from_str(&out).unwrap();
        document["routes"][0]["elevation"]["source"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert_eq!(source(&["climbs", demo]), "recorded");
    assert_eq!(source(&["climbs", demo, "--elevation", "tiles"]), "tiles");
    let plan = [
        "plan",
        demo,
        "--rider",
        "sample-routes/rider.toml",
        "--set",
        "sample-routes/six-by-four.toml",
    ];
    assert_eq!(source(&plan), "recorded");
    assert_eq!(
        source(&[plan.as_slice(), &["--elevation", "tiles"]].concat()),
        "tiles"
    );
}

#[test]
fn elevations_from_tiles_are_stated_no_surer_than_tiles_are() {
    let arguments = "climbs sample-routes/big-loop.gpx --elevation tiles --format json";
    let run = hillwright(&arguments.split(' ').collect::<Vec<_>>())
        .assert()
        .code(0);
    let document: serde_json::Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    let route = &document["routes"][0];
    assert!(route["elevation"]["noise_m"].as_f64().unwrap() >= 2.0);
    for climb in route["climbs"].as_array().unwrap() {
        // Two ends that are each 2 m off make a mean grade over this length that uncertain; less only if what lies between
        // the ends tells much more than they do.
        let length_m = climb["length_m"].as_f64().unwrap();
        let by_ends_pct = 100.0 * 2.0 * 2f64.sqrt() / length_m;
        assert!(
            climb["grade_se_pct"].as_f64().unwrap() >= 0.5 * by_ends_pct,
            "{climb}"
        );
    }
}
