//! Halts that several recordings share, in the plan.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

#[path = "page/mod.rs"]
#[allow(dead_code, reason = "the page's own tests use the rest")]
mod page;
mod support;

use std::fs;
use std::path::Path;

use page::Served;
use serde_json::Value;
use support::{hillwright, sample};

const HALT_S: i64 = 40;

/// The loop as another rider's recording: a halt after so many metres (none: never), elevations a little off.
fn recording(halt_at_point: Option<usize>, higher_m: f64) -> String {
    let text = fs::read_to_string(sample("big-loop.gpx")).unwrap();
    let mut point = 0;
    let lines = text.split_inclusive("</trkpt>").map(|piece| {
        point += 1;
        let piece = replaced(piece, "<ele>", |ele| {
            let wobble_m = if point % 7 == 0 { 0.1 } else { 0.0 };
            format!(
                "{:.1}",
                ele.parse::<f64>().unwrap() + higher_m + wobble_m * higher_m
            )
        });
        replaced(&piece, "<time>", |time| {
            let time: jiff::Timestamp = time.parse().unwrap();
            let late_s = if halt_at_point.is_some_and(|halt| point > halt + 1) {
                HALT_S
            } else {
                0
            };
            jiff::Timestamp::from_second(time.as_second() + late_s)
                .unwrap()
                .to_string()
        })
    });
    lines.collect()
}

/// A piece of a file with the text of its last element of a kind made anew.
fn replaced(piece: &str, tag: &str, new: impl FnOnce(&str) -> String) -> String {
    let Some((before, rest)) = piece.rsplit_once(tag) else {
        return piece.to_owned();
    };
    let (text, after) = rest.split_once('<').unwrap();
    format!("{before}{tag}{}<{after}", new(text))
}

fn plan(folder: &Path) -> Value {
    let run = hillwright()
        .arg("plan")
        .arg(folder)
        .args("--rider sample-routes/rider.toml --set sample-routes/six-by-four.toml --format json --no-cache".split(' '))
        .assert()
        .success();
    serde_json::from_slice(&run.get_output().stdout).unwrap()
}

fn metres(place: &Value) -> f64 {
    place["distance_m"].as_f64().unwrap()
}

#[test]
fn a_rep_is_moved_off_a_place_where_rides_halt_and_the_climb_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: String| fs::write(folder.path().join(name), text).unwrap();
    write("one.gpx", recording(None, 0.0));
    write("two.gpx", recording(None, 1.0));
    let before = plan(folder.path());
    let rep = before["routes"][0]["reps"][1].clone();
    assert_eq!(rep["cost_parts_s"]["halts"], 0.0);
    let (start_m, end_m) = (metres(&rep["start"]), metres(&rep["end"]));
    // The loop is recorded second by second, so the place in the file is found by its distance.
    let routes = hillwright::route::read(recording(None, 0.0).as_bytes(), "one").unwrap();
    let middle_m = start_m.midpoint(end_m);
    let point = routes[0]
        .points
        .iter()
        .position(|p| p.distance_m >= middle_m)
        .unwrap();
    write("one.gpx", recording(Some(point), 0.0));
    write("two.gpx", recording(Some(point), 1.0));
    moved_off(&plan(folder.path())["routes"][0], start_m, middle_m);
    // The page with the same recordings says the same.
    let page = Served::start(&[folder.path().to_str().unwrap()]);
    for one in ["one.gpx", "two.gpx"] {
        let taken = page.get(&format!("/take/plan.json?route={one}"));
        let document: Value = serde_json::from_slice(&taken.body).unwrap();
        moved_off(&document["routes"][0], start_m, middle_m);
    }
}

/// No rep of the route lies over the middle, the second begins elsewhere than at the start, and the climb says why.
fn moved_off(route: &Value, start_m: f64, middle_m: f64) {
    for rep in route["reps"].as_array().unwrap() {
        let over = (metres(&rep["start"])..=metres(&rep["end"])).contains(&middle_m);
        // 10 s and a run-in of 15 s, on each of two rides.
        let expected = if over { 25.0 } else { 0.0 };
        assert_eq!(rep["cost_parts_s"]["halts"], expected, "{rep:#}");
    }
    let moved = &route["reps"][1];
    assert!(
        (metres(&moved["start"]) - start_m).abs() > 50.0,
        "{moved:#}"
    );
    let told: Vec<&str> = route["climbs"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|climb| climb["why"].as_str())
        .filter(|why| why.contains("halted at"))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("on 2 of 2 rides"), "{told:?}");
}
